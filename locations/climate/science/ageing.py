"""Chemical ageing of organic things: how many times as long they last as at 20 °C and 50 %.

A ratio to compare stores by, never years, neither of an object nor of a room. No meaning for metals, glass and ceramics.
Red-rotted leather, nitrate and rubber decay faster: a conservator's matter. Source: Michalski 2002, ICOM-CC Rio, 66-72 (exponent 1.3 and
activation energies from memory); the law of rh is disputed (Knight 2014, e-Preservation Science 11, 1-5).
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from locations.climate.science.psychrometrics import POSSIBLE_T
from locations.climate.science.values import Flags, Floats, NoValue, Value, lift, like, only, within

#: kJ/mol: cellulose (paper, cotton), varnish
CELLULOSE, VARNISH = 100.0, 70.0
GAS_CONSTANT: Final = 8.314
REFERENCE_T: Final = 293.15
#: rh is held to these, else dry air would last for ever (house rule)
CLIPPED: Final = (10.0, 95.0)
#: where the formula is trusted: t °C, rh %
TRUSTED_T, TRUSTED_RH = (-5.0, 35.0), (20.0, 70.0)
#: a gap of so many hours is a season (house rule)
SEASON: Final = 30 * 24
STEPS: Final = ((4.0, "much slower"), (1.5, "slower"), (1 / 1.5, "alike"), (0.25, "faster"))


def lifetime_multiplier(t: Value, rh: Value, energy: float = CELLULOSE) -> Value:
    """How many times as long at t °C and rh % as at 20 °C and 50 %: (50/rh)^1.3 exp(E/R (1/T - 1/293.15)).

    energy 50..150 kJ/mol, else NoValue (joules are the usual slip). rh is held to 10..95 %; NaN for t outside -40..60 °C or no rh
    above 0. Trusted only in -5..35 °C and 20..70 %. Error: a factor, not per cent; use it to compare.
    """
    temperature, humidity = lift(t), lift(rh)
    possible = (temperature >= POSSIBLE_T[0]) & (temperature <= POSSIBLE_T[1]) & (humidity > 0)
    kelvin = only(temperature, possible) + 273.15
    arrhenius = np.exp(within("energy", energy, 50, 150) * 1000 / GAS_CONSTANT * (1 / kelvin - 1 / REFERENCE_T))
    return like(t, (50 / np.clip(humidity, *CLIPPED)) ** 1.3 * arrhenius)


def trusted(t: Floats, rh: Floats) -> Flags:
    """Where the formula is trusted: -5..35 °C, 20..70 %."""
    return (t >= TRUSTED_T[0]) & (t <= TRUSTED_T[1]) & (rh >= TRUSTED_RH[0]) & (rh <= TRUSTED_RH[1])


@dataclass(frozen=True, slots=True)
class Ageing:
    """`multiplier` against 20 °C and 50 % of the `hours` known; `outside` % of them lie where the formula is not trusted."""

    multiplier: float
    hours: float
    outside: float

    @property
    def word(self) -> str:
        return ageing_word(self.multiplier)


def ageing(t: Floats, rh: Floats, weight: Floats, energy: float = CELLULOSE) -> Ageing:
    """The multiplier of a record: the harmonic mean, for rates add and lifetimes do not. weight: hours of each reading.

    Missing readings are left out of both sums. Raises NoValue `no_readings`.
    """
    multipliers = lifetime_multiplier(t, rh, energy)
    known = ~np.isnan(multipliers)
    hours = float(weight[known].sum())
    if not hours:
        raise NoValue("no_readings")
    outside = float(weight[known & ~trusted(t, rh)].sum())
    return Ageing(hours / float((weight[known] / multipliers[known]).sum()), hours, 100 * outside / hours)


def yearly_ageing(t: Floats, rh: Floats, weight: Floats, longest_gap: float, energy: float = CELLULOSE) -> Ageing:
    """The multiplier of a whole year. Raises NoValue `not_a_year` under 90 % of one, `season_missing` for a gap over 30 days (h): hot months rule."""
    result = ageing(t, rh, weight, energy)
    if longest_gap > SEASON:
        raise NoValue("season_missing", hours=longest_gap)
    if result.hours < 0.9 * 8760:
        raise NoValue("not_a_year", hours=result.hours)
    return result


def ageing_word(multiplier: float) -> str:
    """One of five steps: much slower (from 4), slower (from 1.5), alike, faster (under 2/3), much faster (under 1/4). House rule."""
    within("multiplier", multiplier, 0)
    return next((word for least, word in STEPS if multiplier >= least), "much faster")
