"""Swings about the season: the 30-day mean and the historic-climate band of EN 15757:2010.

For organic hygroscopic things (leather, textile, wood, cork, paint on them); metal does not mind swings, but condensation.
Values hour after hour, NaN where unknown. Steps 2 to 5 of the standard are from memory.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from locations.climate.science.series import ENOUGH
from locations.climate.science.tables import limit
from locations.climate.science.values import Flags, Floats, NoValue

HALF_WINDOW: Final = 15 * 24
QUANTILES: Final = (7, 93)
NARROWEST: Final = 10.0
#: a reading equal to a limit is inside
SLACK: Final = 1e-9


def thirty_day_mean(values: Floats) -> Floats:
    """Mean of the 15 days either side (721 hours, the two ends half), in the unit given; NaN within 15 days of either end of the
    record and where under 75 % of the hours are there (house rule). Source: EN 15757:2010."""
    n = len(values)
    result = np.full(n, np.nan)
    if n <= 2 * HALF_WINDOW:
        return result
    there = ~np.isnan(values)
    centre = float(values[there].mean()) if there.any() else 0.0
    weight = _windows(there.astype(np.float64))
    total = _windows(np.where(there, values - centre, 0.0))
    enough = weight >= ENOUGH * 2 * HALF_WINDOW
    result[HALF_WINDOW : n - HALF_WINDOW][enough] = centre + total[enough] / weight[enough]
    return result


def fluctuations(values: Floats) -> Floats:
    """Reading less 30-day mean, in the unit given; NaN where either is missing."""
    return values - thirty_day_mean(values)


@dataclass(frozen=True, slots=True)
class Band:
    """Of the fluctuations: percentiles 7 and 93, the band applied about the 30-day mean, what share of the `hours` was inside (%)."""

    p7: float
    p93: float
    low: float
    high: float
    inside: float
    hours: int


def fluctuation_percentiles(values: Floats) -> tuple[float, float]:
    """Percentiles 7 and 93 of the fluctuations (linear), in the unit given. Indicative only of under 13 months. NoValue `too_short`."""
    swings = fluctuations(values)
    known = swings[~np.isnan(swings)]
    if not len(known):
        raise NoValue("too_short", days=len(values) / 24, need=31)
    low, high = np.percentile(known, QUANTILES)
    return float(low), float(high)


def historic_band(rh: Floats) -> Band:
    """The band of a reference record of at least 13 months (395 days) in which the things did not suffer: P7 and P93 of the
    fluctuations, widened to 10 %RH either way where narrower. Raises NoValue `too_short`.

    Some 86 % of the reference record lie inside by construction: no achievement; judge later years by it. Start anew when the
    sensor moves. Source: EN 15757:2010; error as the sensors' and their drift, which looks like a season.
    """
    need = limit("band_record").low or 0.0
    if len(rh) < need * 24:
        raise NoValue("too_short", days=len(rh) / 24, need=need)
    p7, p93 = fluctuation_percentiles(rh)
    low, high = min(p7, -NARROWEST), max(p93, NARROWEST)
    swings = fluctuations(rh)
    known = ~np.isnan(swings)
    inside = within_band(swings, low, high)
    return Band(p7, p93, low, high, 100 * float(inside.sum()) / float(known.sum()), int(known.sum()))


def within_band(swings: Floats, low: float, high: float) -> Flags:
    """Which fluctuations lie inside a band; equal to a limit is inside, unknown is not."""
    return (swings >= low - SLACK) & (swings <= high + SLACK)


def _windows(values: Floats) -> Floats:
    """Weighted sums over each whole window, the two ends half."""
    sums = np.concatenate(([0.0], np.cumsum(values)))
    width = 2 * HALF_WINDOW + 1
    whole: Floats = sums[width:] - sums[:-width]
    return whole - (values[: len(values) - width + 1] + values[width - 1 :]) / 2
