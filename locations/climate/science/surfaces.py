"""Cold walls and cold things: what the air of the room is at a surface, and when dew falls on it.

t and rh are the air's (°C, %), t_s the surface's (°C). Range and NaN as in `psychrometrics`; t_s -45..60 °C.
"""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from locations.climate.science.psychrometrics import dew_point, relative_humidity, vapour_pressure
from locations.climate.science.saturation import WATER
from locations.climate.science.tables import highest
from locations.climate.science.values import Floats, NoValue, Value, lift, like, within

#: K that a room must be warmer than outdoors for three readings to tell a wall's quality: under it the thermometers' own errors tell more (house rule)
LEAST_APART: Final = 5.0


def surface_rh(t: Value, rh: Value, t_s: Value) -> Value:
    """Relative humidity at the surface, %; not capped: from 100 on it condenses. Error about 0.1 % of itself for 10 K."""
    return relative_humidity(vapour_pressure(t, rh), t_s)


def air_at(t: Floats, rh: Floats, colder: float) -> tuple[Floats, Floats]:
    """Hours of t (°C) and rh (%) at a surface `colder` K below the air, for counting: rh at most 100, which is dew. colder 0..15, else NoValue.

    NaN where the air is unknown or outside the range. Error: that of `colder`, about 5 % of rh for each K; a wall measured once is taken as always so.
    """
    return _counted(t, rh, t - within("colder", colder, 0, 15))


def air_by_quality(t: Floats, rh: Floats, t_out: Floats, quality: float) -> tuple[Floats, Floats]:
    """Hours of t (°C) and rh (%) at the inner face of a wall of `quality` f_Rsi, with t_out (°C) outdoors: warmer than the room where it is warmer outdoors.

    For counting: rh at most 100, which is dew. NaN where one of the three is unknown. quality 0..1, else NoValue. Error: that of quality, about
    5 % of rh for each K; a wall answers the weather later than the hour and with less.
    """
    return _counted(t, rh, lift(wall_temperature(t, t_out, quality)))


def _counted(t: Floats, rh: Floats, t_s: Floats) -> tuple[Floats, Floats]:
    return t_s, np.minimum(lift(surface_rh(t, np.minimum(rh, 100.0), t_s)), 100.0)


def condensation_margin(t: Value, rh: Value, t_s: Value) -> Value:
    """Surface less dew point, K; below 0 dew falls. Error 0.04 K and the sensors' own (`dew_point_uncertainty`)."""
    return like(t, lift(t_s) - lift(dew_point(t, rh)))


def condenses(t: float, rh: float, t_s: float) -> bool:
    """Whether dew falls on the surface: t_s below the dew point. Raises NoValue where the air is outside the range."""
    return within("margin", condensation_margin(t, rh, t_s), -math.inf) < 0


def coldest_surface(t: Value, rh: Value, at_most: float | None = None) -> Value:
    """Lowest surface temperature, °C, that keeps surface humidity at or below `at_most` % (that of ISO 13788 where not given)."""
    return like(t, WATER.temperature(lift(vapour_pressure(t, rh)) * 100 / _humidity(at_most)))


def wall_temperature(t_in: Value, t_out: Value, quality: float) -> Value:
    """Inner face of a wall, °C: t_out + f_Rsi (t_in - t_out). quality f_Rsi 0..1, else NoValue; a steady state, which weather is not."""
    inside, outside = lift(t_in), lift(t_out)
    return like(t_in, outside + within("quality", quality, 0, 1) * (inside - outside))


def thermal_quality(t_in: float, t_s: float, t_out: float) -> float:
    """f_Rsi = (t_s - t_out) / (t_in - t_out), of three readings of one time: room, inner face of the wall, outdoors, all °C; between 0 and 1.

    Raises NoValue: `too_alike` where the room is not LEAST_APART K warmer than outdoors, `not_between` where the wall is not between the two.
    Error with thermometers good to 0.5 K: 0.13 at 5 K apart, 0.04 at 15 K. Source: the temperature factor of EN ISO 13788 (environment 1.2).
    """
    apart = t_in - t_out
    if apart < LEAST_APART:
        raise NoValue("too_alike", apart=apart, need=LEAST_APART)
    if not t_out < t_s < t_in:
        raise NoValue("not_between", t_s=t_s, t_in=t_in, t_out=t_out)
    return (t_s - t_out) / apart


def heated_to(t: Value, rh: Value, target: float) -> Value:
    """Air temperature, °C, at which rh is `target` % with nothing dried (conservation heating). Target 1..100, else NoValue."""
    return like(t, WATER.temperature(lift(vapour_pressure(t, rh)) * 100 / _humidity(target)))


def time_constant(mass: float, heat: float, area: float, transfer: float) -> float:
    """Seconds in which a thin thing comes 63 % nearer to the air: m c/(alpha A). kg, J/kg K, m² (both sides), W/m² K; all above 0."""
    values = {"mass": mass, "heat": heat, "area": area, "transfer": transfer}
    m, c, a, alpha = (within(what, value, 1e-9) for what, value in values.items())
    return m * c / (alpha * a)


def warming(t: float, t_0: float, tau: float, seconds: Value) -> Value:
    """Temperature, °C, of a thing brought at t_0 into air of t, after seconds (from 0). Lumped model: shells, not thick things."""
    return like(seconds, t - (t - t_0) * np.exp(-lift(seconds) / within("tau", tau, 1e-9)))


def seconds_wet(t: float, rh: float, t_0: float, tau: float) -> float:
    """How long dew falls on a thing brought at t_0 °C into the air, tau in s; 0 where none does. Raises NoValue outside the range.

    A boxed or padded thing takes an hour or more: open the box when it is as warm as the room.
    """
    dew = within("dew_point", dew_point(t, rh), -math.inf)
    if t_0 >= dew:
        return 0.0
    if dew >= t:
        return math.inf
    return within("tau", tau, 1e-9) * math.log((t - t_0) / (t - dew))


@dataclass(frozen=True, slots=True)
class Condensation:
    """`events` separate spells of dew in `readings` wet readings; `unknown` readings say nothing and end a spell."""

    events: int
    readings: int
    unknown: int


def condensation_events(t_s: Floats, t_d: Floats) -> Condensation:
    """Spells of dew (at least one reading with t_s below the dew point t_d, °C both), from readings in order of time."""
    wet = t_s < t_d
    begun = wet & ~np.concatenate(([False], wet[:-1]))
    return Condensation(int(begun.sum()), int(wet.sum()), int((np.isnan(t_s) | np.isnan(t_d)).sum()))


def _humidity(given: float | None) -> float:
    return within("humidity", highest("surface_mould") if given is None else given, 1, 100)
