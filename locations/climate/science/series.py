"""Readings through time: what each stands for, what is missing, plain statistics, and the hours made of them.

Instants are whole seconds since 1970 in UTC, in order and without doubles. `interval` is the nominal one in seconds. A reading
represents half the way to each neighbour, never more than 1.5 intervals (house rule), so that gaps do not grow.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from locations.climate.science.saturation import WATER
from locations.climate.science.values import Flags, Floats, Ints, NoValue, lift

HOUR: Final = 3600
#: most that one reading stands for, in nominal intervals
WIDEST: Final = 1.5
#: a gap up to this is filled for indices; a longer one stays open
FILLED: Final = 3 * HOUR
#: share of its readings an hour, a day or a month must have. By analogy with UK SI 2007/64, Sched. 12 Part 2
ENOUGH: Final = 0.75
#: share of a year, for time shares, time of wetness and percentiles (house rule)
ENOUGH_OF_YEAR: Final = 0.90
#: no share of time is told of less (house rule)
LEAST_FOR_SHARES: Final = 30 * 24 * HOUR


@dataclass(frozen=True, slots=True)
class Gap:
    """Between the two readings that bound it, instants in s."""

    begin: int
    end: int

    @property
    def hours(self) -> float:
        return (self.end - self.begin) / HOUR


@dataclass(frozen=True, slots=True)
class Statistics:
    """Of the readings that are there; low and high are the recorded extremes. Coverage in %, longest gap in h."""

    n: int
    mean: float
    low: float
    high: float
    coverage: float
    longest_gap: float


def in_order(at: Ints) -> Ints:
    """The instants, if there are any and each is later than the one before. Raises NoValue: `no_readings`, `out_of_order`."""
    if not len(at):
        raise NoValue("no_readings")
    if (wrong := np.flatnonzero(np.diff(at) <= 0)).size:
        raise NoValue("out_of_order", at=int(at[wrong[0] + 1]))
    return at


def weights(at: Ints, interval: int) -> Floats:
    """Hours each reading stands for: half the way to its neighbours, half an interval outward at both ends, at most 1.5 intervals."""
    half: Floats = np.diff(in_order(at)) / 2
    ends = np.array([interval / 2])
    whole: Floats = np.concatenate((ends, half)) + np.concatenate((half, ends))
    return np.minimum(whole, WIDEST * interval) / HOUR


def gaps(at: Ints, longer_than: float) -> list[Gap]:
    """The gaps longer than so many seconds."""
    steps = np.diff(in_order(at))
    return [Gap(int(at[i]), int(at[i + 1])) for i in np.flatnonzero(steps > longer_than)]


def longest_gap(at: Ints) -> float:
    """Hours between the two readings farthest apart; 0 of one reading."""
    return float(np.diff(in_order(at)).max(initial=0)) / HOUR


def coverage(at: Ints, interval: int, begin: int | None = None, end: int | None = None) -> float:
    """Readings there of those there should be from begin to before end, %; from the first to the last reading where not given.

    Never above 100. Raises NoValue: `no_time`.
    """
    first = int(in_order(at)[0]) if begin is None else begin
    last = int(at[-1]) + interval if end is None else end
    if last <= first:
        raise NoValue("no_time", begin=first, end=last)
    there = int(((at >= first) & (at < last)).sum())
    return min(100.0, 100 * there * interval / (last - first))


def share(there: int, expected: int) -> float:
    """Coverage of a hour, a day or a month by counts, %. Raises NoValue for none expected."""
    if expected <= 0:
        raise NoValue("no_time", expected=expected)
    return 100 * there / expected


def usable(coverage_percent: float) -> bool:
    """Whether an hour, 8 hours or a day may be judged: from 75 % on. Source: UK SI 2007/64 Sched. 12 Part 2, by analogy."""
    return coverage_percent >= 100 * ENOUGH


def month_usable(missing_days: list[int]) -> bool:
    """Whether a month may be: not with more than 5 days or more than 3 in a row missing (numbers of the days). Source: older WMO 3/5 rule."""
    days = sorted(set(missing_days))
    in_a_row = any(days[i + 3] - days[i] == 3 for i in range(len(days) - 3))
    return len(days) <= 5 and not in_a_row


def year_usable(months: list[float]) -> bool:
    """Whether shares and percentiles of a year may be told: twelve months, each covered 75 % (given in %) and 90 % in all. House rule."""
    return len(months) == 12 and min(months) >= 100 * ENOUGH and sum(months) / 12 >= 100 * ENOUGH_OF_YEAR


def statistics(at: Ints, values: Floats, interval: int) -> Statistics:
    """Weighted statistics of one quantity; a NaN is a reading that is not there. The mean's error is at least the sensor's own.

    Mean of rh over mixed temperatures is a description only: average vapour pressure for anything else.
    Raises NoValue: `no_readings`, `out_of_order`.
    """
    there = ~np.isnan(values)
    known, numbers = at[there], values[there]
    weight = weights(known, interval)
    mean = float(weight @ numbers / weight.sum())
    whole = coverage(known, interval, int(at[0]), int(at[-1]) + interval)
    return Statistics(len(known), mean, float(numbers.min()), float(numbers.max()), whole, longest_gap(known))


def hours_where(condition: Flags, weight: Floats) -> float:
    """Hours in which something held: the weights of those readings."""
    return float(weight[condition].sum())


def share_where(condition: Flags, at: Ints, weight: Floats) -> float:
    """Share of the known time, %, in which something held. Of under 30 days: NoValue `too_short`, for hours hang together."""
    if at[-1] - at[0] < LEAST_FOR_SHARES - HOUR:
        raise NoValue("too_short", days=float(at[-1] - at[0]) / 86400, need=30)
    return 100 * hours_where(condition, weight) / float(weight.sum())


def percentile(values: Floats, weight: Floats, q: float) -> float:
    """Weighted percentile, q 0..100: the value up to which q % of the time lies, linear between the middles of the weights."""
    order = np.argsort(values)
    sorted_weight = weight[order]
    middles = np.cumsum(sorted_weight) - sorted_weight / 2
    low, high = middles[0], middles[-1]
    return float(np.interp(low + (high - low) * q / 100, middles, values[order]))


@dataclass(frozen=True, slots=True)
class Hours:
    """Hour after hour from `begin` (s, on the hour): t °C and rh %, NaN where unknown; `filled` marks what was put between readings."""

    begin: int
    t: Floats
    rh: Floats
    filled: Flags

    def __len__(self) -> int:
        return len(self.t)

    def instant(self, hour: int) -> int:
        return self.begin + hour * HOUR

    @property
    def read_rh(self) -> Floats:
        """rh of the hours that were read, NaN of those filled."""
        return np.where(self.filled, np.nan, self.rh)

    @property
    def read_t(self) -> Floats:
        return np.where(self.filled, np.nan, self.t)


def hourly(at: Ints, t: Floats, rh: Floats, interval: int, *, fill: bool = True) -> Hours:
    """Hours from readings: mean t and mean vapour pressure; an hour with under 75 % of its readings is unknown.

    Gaps up to 3 h between hours that are known are filled (t and vapour pressure linear), longer ones stay open; fill=False
    leaves all open. A reading on the hour belongs to the hour that begins. rh above 100 % is carried on, judged by whom it concerns.
    """
    good = ~(np.isnan(t) | np.isnan(rh))
    at, t, rh = in_order(at[good]), t[good], rh[good]
    begin = int(at[0]) // HOUR * HOUR
    hour = (at - begin) // HOUR
    n = int(hour[-1]) + 1
    count = np.bincount(hour, minlength=n)
    expected = max(1, HOUR // interval)
    with np.errstate(invalid="ignore", divide="ignore"):
        mean_t = np.where(count >= ENOUGH * expected, np.bincount(hour, t, n) / count, np.nan)
        e = np.bincount(hour, rh / 100 * WATER.pressure(t), n) / count
    mean_rh = 100 * e / WATER.pressure(mean_t)
    single = count[hour] == 1
    mean_rh[hour[single]] = np.where(np.isnan(mean_t[hour[single]]), np.nan, rh[single])
    hours = Hours(begin, mean_t, mean_rh, np.zeros(n, dtype=bool))
    return _fill(hours) if fill else hours


def _fill(hours: Hours) -> Hours:
    known = ~np.isnan(hours.t)
    (where,) = np.nonzero(known)
    (missing,) = np.nonzero(~known)
    if not len(missing):
        return hours
    after = np.searchsorted(where, missing)
    inner = (after > 0) & (after < len(where))
    missing, after = missing[inner], after[inner]
    short = missing[(where[after] - where[after - 1]) * HOUR <= FILLED]
    t, rh, filled = hours.t.copy(), hours.rh.copy(), hours.filled.copy()
    e = hours.rh / 100 * WATER.pressure(hours.t)
    t[short] = np.interp(short, where, hours.t[where])
    rh[short] = 100 * np.interp(short, where, e[where]) / WATER.pressure(t[short])
    filled[short] = True
    return Hours(hours.begin, t, rh, filled)


def steps(at: Ints, t: Floats, rh: Floats, interval: int, *, t_step: float = 10, rh_step: float = 30) -> list[int]:
    """Numbers of the readings that differ from the one an interval before by over 10 K or 30 % (house rule): to be flagged, not removed."""
    adjacent = np.diff(in_order(at)) <= WIDEST * interval
    far = (np.abs(np.diff(lift(t))) > t_step) | (np.abs(np.diff(lift(rh))) > rh_step)
    return [int(i) + 1 for i in np.flatnonzero(adjacent & far)]
