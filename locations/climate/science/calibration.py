"""Saturated salts and the correction of a hygrometer by them.

Practice (Padfield): a damp slurry, not a solution; 20 min for a small sensor, 1 h for a bulky one; the point near 98 % only at steady
temperature. A splash kills the sensor. Every 12 months, two salts that bracket the use (house rule).
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from locations.climate.science.tables import row, rows
from locations.climate.science.values import NoValue, Value, lift, like, only, within

#: %RH beyond the points a correction still holds for (house rule)
REACH: Final = 15.0
#: %RH a usual sensor may be off (from memory)
USUAL_ERROR: Final = 3.0


def salts() -> tuple[str, ...]:
    """Codes of the salts known here, driest first."""
    return ("LiCl", "MgCl2", "K2CO3", "MgNO32", "NaBr", "NaCl", "KCl", "K2SO4")


def salt_rh(salt: str, t: float) -> float:
    """Humidity over a saturated salt, %, at t °C. Error 0.3 % (K2SO4 0.5). Range 0..50 °C (K2CO3 0..30, NaBr 5..25), else NoValue.

    Source: Greenspan 1977, J. Res. NBS 81A, 89-96 (the linear term of LiCl is plus); NaBr between the readings of Padfield's table.
    """
    read = [(float(one["t"]), float(one["rh"])) for one in rows("salts_read") if one["code"] == salt]
    if read:
        points, values = zip(*read, strict=True)
        return float(np.interp(within("t", t, points[0], points[-1]), points, values))
    one = row("salts", salt)
    x = within("t", t, float(one["low"]), float(one["high"]))
    return float(one["a0"]) + x * (float(one["a1"]) + x * (float(one["a2"]) + x * float(one["a3"])))


@dataclass(frozen=True, slots=True)
class Correction:
    """Corrected = (raw - offset) / slope, for corrected values low..high %."""

    slope: float
    offset: float
    low: float
    high: float


def two_point_correction(first: tuple[float, float], second: tuple[float, float]) -> Correction:
    """From two checks, each (raw, true) in %, at least 20 % apart. Raises NoValue `points_too_near`, `points_contradict` (slope not 0.5..2)."""
    (raw_1, true_1), (raw_2, true_2) = sorted((first, second), key=lambda point: point[1])
    if true_2 - true_1 < 20:
        raise NoValue("points_too_near", apart=true_2 - true_1, need=20)
    slope = (raw_2 - raw_1) / (true_2 - true_1)
    if not 0.5 <= slope <= 2:
        raise NoValue("points_contradict", slope=slope)
    return Correction(slope, raw_1 - slope * true_1, true_1 - REACH, true_2 + REACH)


def one_point_correction(raw: float, true: float) -> Correction:
    """From one check: an offset, that holds for 15 % either side."""
    return Correction(1.0, within("raw", raw, 0, 103) - within("true", true, 0, 100), true - REACH, true + REACH)


def corrected(raw: Value, correction: Correction) -> Value:
    """Corrected humidity, %; NaN beyond the reach of the correction and outside 0..103. Error at least that of the salts, 0.3 to 0.5 %."""
    value = (lift(raw) - correction.offset) / correction.slope
    low, high = max(correction.low, 0.0), min(correction.high, 103.0)
    return like(raw, only(value, (value >= low) & (value <= high)))


def off_by(raw: float, salt: str, t: float) -> float:
    """What a sensor reads too much over a salt, % (below 0 too little). Range as `salt_rh`; up to 3 % is what such sensors do."""
    return within("raw", raw, 0, 103) - salt_rh(salt, t)
