"""Moist air: from temperature and relative humidity to what rooms, outdoors and cold surfaces can be compared by.

Everywhere t is air temperature in °C, rh relative humidity in % over liquid water (as sensors and weather stations report
it, below 0 °C too), e vapour pressure in Pa, p air pressure in Pa. Range: t -20..50 °C, rh 1..100 %; outside it, and where
a reading is missing, the answer is NaN and `air_doubt` says why.
"""

from enum import IntEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from locations.climate.science.saturation import ICE, WATER
from locations.climate.science.values import Flags, Floats, Value, lift, like, only, within

SEA_LEVEL: Final = 101_325.0
#: g K/J: 1000 times the molar mass of water by the gas constant
GRAMS_OF_VAPOUR: Final = 2.16679
#: molar mass of water by that of dry air
WATER_TO_AIR: Final = 0.621945
LOWEST_T, HIGHEST_T = -20.0, 50.0
LOWEST_RH, HIGHEST_RH = 1.0, 100.0
#: a reading outside these is a fault, not air
POSSIBLE_T: Final = (-40.0, 60.0)
HIGHEST_POSSIBLE_RH: Final = 103.0


class Doubt(IntEnum):
    """Why nothing is derived from a reading. NONE: something is."""

    NONE = 0
    MISSING = 1
    T_FAULTY = 2
    RH_FAULTY = 3
    RH_WET = 4
    """Above 100 up to 103 %: a wet or drifted sensor. Kept raw and flagged; counts as 100 for the mould index alone."""
    T_OUTSIDE = 5
    RH_OUTSIDE = 6


def air_doubts(t: Floats, rh: Floats) -> NDArray[np.uint8]:
    """The `Doubt` of every reading, as small integers. t °C, rh %. Source: house rule on sensor faults."""
    cases: list[tuple[Doubt, Flags]] = [
        (Doubt.MISSING, np.isnan(t) | np.isnan(rh)),
        (Doubt.T_FAULTY, (t < POSSIBLE_T[0]) | (t > POSSIBLE_T[1])),
        (Doubt.RH_FAULTY, (rh <= 0) | (rh > HIGHEST_POSSIBLE_RH)),
        (Doubt.RH_WET, rh > HIGHEST_RH),
        (Doubt.T_OUTSIDE, (t < LOWEST_T) | (t > HIGHEST_T)),
        (Doubt.RH_OUTSIDE, rh < LOWEST_RH),
    ]
    return np.select([where for _, where in cases], [np.uint8(doubt) for doubt, _ in cases], np.uint8(0))


def air_doubt(t: float, rh: float) -> Doubt:
    """The `Doubt` of one reading. t °C, rh %."""
    return Doubt(int(air_doubts(lift(t), lift(rh))))


def vapour_pressure(t: Value, rh: Value) -> Value:
    """Vapour pressure e, Pa: rh/100 of saturation over water. Range and NaN as the module; error up to 0.31 % (Magnus)."""
    temperature, humidity = air(t, rh)
    return like(t, humidity / 100 * WATER.pressure(temperature))


def relative_humidity(e: Value, t: Value) -> Value:
    """Relative humidity over water, %, of air at t °C holding e Pa; not capped, above 100 it condenses. NaN outside -45..60 °C."""
    temperature = lift(t)
    return like(t, 100 * lift(e) / WATER.pressure(only(temperature, (temperature >= WATER.low) & (temperature <= WATER.high))))


def dew_point(t: Value, rh: Value) -> Value:
    """Dew point over liquid water, °C; at or below t. NaN outside the range or for a dew point below -45 °C.

    Error against real-gas values up to 0.043 K above 0 °C. Source: Magnus of WMO-No. 8 turned round.
    """
    return like(t, WATER.temperature(lift(vapour_pressure(t, rh))))


def frost_point(t: Value, rh: Value) -> Value:
    """Frost point, °C: where hoar forms; NaN where dew forms instead (above 0 °C). Error up to 0.05 K. Source: as `dew_point`, over ice."""
    return like(t, ICE.temperature(lift(vapour_pressure(t, rh))))


def dew_point_of_vapour(e: Value) -> Value:
    """Dew point over water, °C, of a vapour pressure e in Pa (above 0). NaN outside -45..60 °C."""
    pressure = lift(e)
    return like(e, WATER.temperature(only(pressure, pressure > 0)))


def absolute_humidity(t: Value, rh: Value) -> Value:
    """Vapour in the air, g/m³ (ideal gas). Low by 0.5 to 0.8 % against real-gas values. NaN outside the range."""
    return like(t, GRAMS_OF_VAPOUR * lift(vapour_pressure(t, rh)) / (lift(t) + 273.15))


def humidity_ratio(t: Value, rh: Value, p: float = SEA_LEVEL) -> Value:
    """Mixing ratio W, kg of vapour per kg of dry air. Low by up to 0.8 % against real-gas values.

    p 60 000..110 000 Pa, else NoValue; NaN outside the range of the air.
    """
    e = lift(vapour_pressure(t, rh))
    return like(t, WATER_TO_AIR * e / (pressure(p) - e))


def enthalpy(t: Value, rh: Value, p: float = SEA_LEVEL) -> Value:
    """Enthalpy h, kJ per kg of dry air, from 0 °C. Error up to 0.4 kJ/kg. Range as `humidity_ratio`. Source: ASHRAE Fundamentals ch. 1."""
    return enthalpy_of(t, humidity_ratio(t, rh, p))


def enthalpy_of(t: Value, w: Value) -> Value:
    """Enthalpy, kJ per kg of dry air, of air at t °C with mixing ratio w kg/kg. No range of its own."""
    return like(t, 1.006 * lift(t) + lift(w) * (2501 + 1.86 * lift(t)))


def specific_volume_of(t: Value, w: Value, p: float = SEA_LEVEL) -> Value:
    """m³ of moist air per kg of dry air at t °C with mixing ratio w kg/kg. Error under 0.1 %. Source: ASHRAE Fundamentals ch. 1."""
    return like(t, 287.042 * (lift(t) + 273.15) * (1 + 1.607858 * lift(w)) / pressure(p))


def vapour_pressure_of(w: Value, p: float = SEA_LEVEL) -> Value:
    """Vapour pressure, Pa, of a mixing ratio w kg/kg: `humidity_ratio` turned round."""
    return like(w, pressure(p) * lift(w) / (WATER_TO_AIR + lift(w)))


def humidity_ratio_by_wet_bulb(t: Value, wet: Value, p: float = SEA_LEVEL) -> Value:
    """Mixing ratio, kg/kg, from a psychrometer: dry bulb t and wet bulb, °C; below 0 °C the bulb carries ice.

    Range of t -20..50 °C and wet <= t, else NaN, also where the result would be below 0. Error as the two bulbs
    (0.1 K is about 0.000 07). Source: ASHRAE Fundamentals ch. 1.
    """
    dry, bulb = lift(t), lift(wet)
    w = _ratio_at_bulb(dry, bulb, pressure(p))
    return like(t, only(w, (dry >= LOWEST_T) & (dry <= HIGHEST_T) & (bulb <= dry) & (bulb >= ICE.low) & (w >= 0)))


def wet_bulb(t: Value, rh: Value, p: float = SEA_LEVEL) -> Value:
    """Wet bulb temperature, °C, by bisection on t-40..t: t itself for frozen air that holds more than ice would let it. NaN outside the range.

    Error up to 0.05 K above 1 °C; where the bulb crosses 0 °C water or ice is a convention (ice here) worth 0.4 K.
    """
    w = lift(humidity_ratio(t, rh, p))
    dry = only(lift(t), ~np.isnan(w))
    low, high = dry - 40, dry
    for _ in range(46):
        middle = (low + high) / 2
        wetter = _ratio_at_bulb(dry, middle, p) > w
        low, high = np.where(wetter, low, middle), np.where(wetter, middle, high)
    return like(t, (low + high) / 2)


def standard_pressure(height: float) -> float:
    """Air pressure, Pa, at a height in m above the sea; weather moves it by 3 %. Range -500..5000 m, else NoValue. Source: ASHRAE ch. 1."""
    return float(SEA_LEVEL * (1 - 2.25577e-5 * within("height", height, -500, 5000)) ** 5.2559)


def dew_point_uncertainty(t: Value, rh: Value, of_t: float, of_rh: float) -> Value:
    """Standard uncertainty of the dew point, K, from those of t (K) and rh (%), taken as independent. Range as `dew_point`."""
    by_t, by_rh = dew_point_sensitivities(t, rh)
    return like(t, np.hypot(lift(by_t) * of_t, lift(by_rh) * of_rh))


def dew_point_sensitivities(t: Value, rh: Value) -> tuple[Value, Value]:
    """How the dew point moves: K per K of t, K per % of rh. Derivatives of the Magnus formula; range as `dew_point`."""
    dew = lift(dew_point(t, rh))
    slope = WATER.b * WATER.c / (WATER.c + lift(t)) ** 2
    at_dew = WATER.b * WATER.c / (WATER.c + dew) ** 2
    return like(t, slope / at_dew), like(t, 1 / (lift(rh) * at_dew))


def rh_error_by_t(t: Value, rh: Value, error: float) -> Value:
    """Change of rh, %, shown when the thermometer reads `error` K high and the vapour is the same. Range as `vapour_pressure`."""
    e = lift(vapour_pressure(t, rh))
    return like(t, 100 * e / WATER.pressure(lift(t) + error) - lift(rh))


def air(t: float | Floats, rh: float | Floats) -> tuple[Floats, Floats]:
    """Both as arrays, NaN where nothing may be derived from them."""
    temperature, humidity = np.broadcast_arrays(lift(t), lift(rh))
    good = (temperature >= LOWEST_T) & (temperature <= HIGHEST_T) & (humidity >= LOWEST_RH) & (humidity <= HIGHEST_RH)
    return only(temperature, good), only(humidity, good)


def pressure(p: float) -> float:
    """An air pressure, Pa, that can be: 60 000..110 000. Raises NoValue."""
    return within("pressure", p, 60_000, 110_000)


def _ratio_at_bulb(dry: Floats, bulb: Floats, p: float) -> Floats:
    frozen = bulb < 0
    saturated = np.where(frozen, ICE.pressure(bulb), WATER.pressure(bulb))
    w = WATER_TO_AIR * saturated / (p - saturated)
    over_water = ((2501 - 2.326 * bulb) * w - 1.006 * (dry - bulb)) / (2501 + 1.86 * dry - 4.186 * bulb)
    over_ice = ((2830 - 0.24 * bulb) * w - 1.006 * (dry - bulb)) / (2830 + 1.86 * dry - 2.1 * bulb)
    return np.where(frozen, over_ice, over_water)
