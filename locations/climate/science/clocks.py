"""Is a logger's clock wrong, and have two loggers been swapped? By comparison with another record of the same air.

Hour after hour (or interval after interval), NaN where unknown. A suspicion is for a person to look into; nothing is moved by it.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from locations.climate.science.drift import daily_means
from locations.climate.science.values import Floats, NoValue

LEAST_PAIRS: Final = 100
#: correlation of changes below which two records have nothing in common
LEAST_CORRELATION: Final = 0.2
#: standard errors by which the best lag must beat none
CLEARLY: Final = 3.0
#: how far apart two rooms must lie, in squared spreads summed over what is compared
LEAST_APART: Final = 9.0


@dataclass(frozen=True, slots=True)
class ClockError:
    """The record is `late` intervals behind the other (below 0: ahead), to a fraction, with `correlation` there and `at_none` without a lag;
    `certain` if the two differ clearly and the lag is at least half an interval."""

    late: float
    correlation: float
    at_none: float
    certain: bool


def clock_error(values: Floats, other: Floats, most: int = 12) -> ClockError:
    """Lag of a record against another of the same air, from -most to most intervals, by the correlation of their changes.

    Give temperatures, or vapour pressures; two weeks to a month of hours. Raises NoValue: `too_short` under 100 common changes,
    `nothing_in_common`. Error: about a tenth of an interval between loggers of one room; rooms that answer the weather late show that too, so
    compare with what the lag was before.
    """
    a, b = np.diff(values), np.diff(other)
    lags = range(-most, most + 1)
    found = [_correlation(a, b, lag) for lag in lags]
    correlations = [correlation for correlation, _ in found]
    best = int(np.argmax(correlations))
    peak, pairs = found[best]
    if peak < LEAST_CORRELATION:
        raise NoValue("nothing_in_common", correlation=peak)
    late = lags[best] + _vertex(correlations, best)
    apart = (np.arctanh(min(peak, 0.9999)) - np.arctanh(min(correlations[most], 0.9999))) * (pairs - 3) ** 0.5
    return ClockError(late, peak, correlations[most], bool(apart > CLEARLY and abs(late) >= 0.5))


@dataclass(frozen=True, slots=True)
class Swap:
    """Evidence: squared distance, in spreads, of the days after from the days before, as they are and with the two exchanged."""

    as_they_are: float
    exchanged: float

    @property
    def suspected(self) -> bool:
        return self.as_they_are - self.exchanged > LEAST_APART


def swapped(before: tuple[Floats, Floats], after: tuple[Floats, Floats]) -> Swap:
    """Whether two loggers were exchanged between two spans of hours: each a pair of records (rows: t, vapour pressure; columns: hours).

    Days before and after are compared by their mean differences of every quantity and of its daily range. A week or more each side. Raises
    NoValue: `too_short` under 5 days, `rooms_alike` where the rooms do not differ enough to tell.
    """
    first, second = (_features(*pair) for pair in (before, after))
    usual, then = first.mean(axis=0), second.mean(axis=0)
    spread = np.sqrt((first.var(axis=0, ddof=1) + second.var(axis=0, ddof=1)) / 2) + 1e-6
    if float(((2 * usual / spread) ** 2).sum()) < LEAST_APART:
        raise NoValue("rooms_alike")
    distances = (float((((then - sign * usual) / spread) ** 2).sum()) for sign in (1, -1))
    return Swap(*distances)


def _features(one: Floats, two: Floats) -> Floats:
    """For every whole day: differences of the means and of the ranges of every quantity; only days that both know."""
    columns = []
    for a, b in zip(np.atleast_2d(one), np.atleast_2d(two), strict=True):
        columns += [daily_means(a) - daily_means(b), _daily_ranges(a) - _daily_ranges(b)]
    days = np.column_stack(columns)
    known: Floats = days[~np.isnan(days).any(axis=1)]
    if len(known) < 5:
        raise NoValue("too_short", days=len(known), need=5)
    return known


def _daily_ranges(values: Floats) -> Floats:
    days = values[: len(values) // 24 * 24].reshape(-1, 24)
    ranges = np.where(np.isnan(days), -np.inf, days).max(axis=1) - np.where(np.isnan(days), np.inf, days).min(axis=1)
    return np.where(np.isfinite(ranges), ranges, np.nan)


def _correlation(a: Floats, b: Floats, lag: int) -> tuple[float, int]:
    """Of a later by `lag` with b, and the number of pairs."""
    n = min(len(a), len(b))
    x, y = (a[lag:n], b[: n - lag]) if lag >= 0 else (a[: n + lag], b[-lag:n])
    known = ~np.isnan(x) & ~np.isnan(y)
    x, y = x[known], y[known]
    if len(x) < LEAST_PAIRS:
        raise NoValue("too_short", pairs=len(x), need=LEAST_PAIRS)
    if not x.std() or not y.std():
        raise NoValue("nothing_in_common", correlation=0.0)
    return float(((x - x.mean()) @ (y - y.mean())) / len(x) / x.std() / y.std()), len(x)


def _vertex(values: list[float], best: int) -> float:
    """Where the parabola through the best and its neighbours is highest, as a fraction of a step."""
    if not 0 < best < len(values) - 1:
        return 0.0
    left, middle, right = values[best - 1 : best + 2]
    bend = left - 2 * middle + right
    return 0.5 * (left - right) / bend if bend < 0 else 0.0
