"""Does a hygrometer drift away from its neighbours? Daily differences of vapour, whitened, in cumulative sums that start themselves.

Vapour is compared, not humidity: neighbours may stand warmer or colder. What the logger shows is held against the humidity that
the neighbours' (or the outdoor air's) vapour would have at the logger's own temperature. Two honest sensors have slopes of their own and so
differ in damp air otherwise than in dry: that part is learnt and left out, else a season looks like a drift. Each day is held against all
days before it (Hawkins 1987, The Statistician 36, 299-315, and with a slope Brown, Durbin & Evans 1975, Journal of the Royal Statistical Society B
37, 149-192), so that what is usual is known the better the longer the record; how well it is known is allowed for, so that the tables of run
lengths hold from the first day on. A suspicion is for a person to look into with salts; nothing is corrected by it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from locations.climate.science.cusum import decision_limit, first_signal
from locations.climate.science.psychrometrics import relative_humidity, vapour_pressure
from locations.climate.science.series import ENOUGH
from locations.climate.science.values import Floats, NoValue

DAY: Final = 24
#: days after a calibration or a move that only tell what is usual; known days that this takes
REFERENCE_DAYS: Final = 60
LEAST_REFERENCE: Final = 40
#: days that tell where it stands after it was looked into and found right
LEAST_FRESH: Final = 14
#: days between false alarms by the tables: more than two years, for the memory from day to day is estimated
RUN_LENGTH: Final = 1000.0
#: of 0.15 to 0.5 the quickest for 2 %RH in half a year at the same false alarms, on made rooms
K: Final = 0.25
#: standard deviations that one day may count at most, so that no single day is a drift
MOST_OF_A_DAY: Final = 3.0
#: a logger that differs from day to day by more than this, %RH, tells nothing of a slow drift
NOISIEST: Final = 3.0
#: (%RH)² by which a slope is held to 0 until the air has varied: as much as twenty days, 5 %RH off
STIFF: Final = 500.0
LATELY: Final = 14


@dataclass(frozen=True, slots=True)
class Compared:
    """Day by day: what a logger shows more than its neighbours tell, and the humidity that they tell, %RH; NaN where unknown."""

    more: Floats
    humidity: Floats

    def part(self, begin: int, end: int) -> "Compared":
        """The days from `begin` to before `end`."""
        return Compared(self.more[begin:end], self.humidity[begin:end])


@dataclass(frozen=True, slots=True)
class Usual:
    """Mean difference (%RH) of so many days, what of a deviation is left next day, spread of what is new each day (%RH); what it
    shows more for each %RH above the mean humidity of those days."""

    mean: float
    memory: float
    spread: float
    days: int
    slope: float = 0.0
    humidity: float = 0.0

    def beyond(self, days: Compared) -> Floats:
        """What each day differs from the usual of its humidity, %RH."""
        return days.more - self.mean - self.slope * (days.humidity - self.humidity)


@dataclass(frozen=True, slots=True)
class Before:
    """The same for each day, of the days before it, NaN where too few tell it; `swing`: how much the humidity has varied, (%RH)²."""

    mean: Floats
    memory: Floats
    spread: Floats
    days: Floats
    slope: Floats
    humidity: Floats
    swing: Floats


@dataclass(frozen=True, slots=True)
class Drift:
    """Noticed on day number `day`, begun about day `since`; the mean of the last fortnight up to then lies `size` %RH (standard
    error `error`) from the usual, above 0 for a logger that reads too damp. `usual` is that of the days before `since`."""

    day: int
    since: int
    size: float
    error: float
    usual: Usual


def compared(t: Floats, rh: Floats, neighbours: Floats) -> Compared:
    """Means of whole days, of what is shown (°C, %RH) against the neighbours' median vapour (Pa, one row each) as humidity at the logger's
    t. Hours from midnight on; a day under 75 % of its hours is NaN."""
    with_any = ~np.isnan(neighbours).all(axis=0)
    e = np.full(neighbours.shape[1], np.nan)
    e[with_any] = np.nanmedian(neighbours[:, with_any], axis=0)
    ready = np.where(np.isnan(vapour_pressure(t, rh)), np.nan, rh)
    told = relative_humidity(e, t)
    return Compared(daily_means(ready - told), daily_means(np.where(np.isnan(ready), np.nan, told)))


def daily_means(values: Floats) -> Floats:
    """Means of whole days of 24 hours, NaN under 75 % of them."""
    days = values[: len(values) // DAY * DAY].reshape(-1, DAY)
    count = (~np.isnan(days)).sum(axis=1)
    enough = count >= ENOUGH * DAY
    sums = np.where(np.isnan(days), 0.0, days).sum(axis=1)
    return np.where(enough, sums / np.maximum(count, 1), np.nan)


def usual(days: Compared, fresh: Sequence[int] = ()) -> Usual:
    """What is usual after these days (%RH). Raises NoValue: `too_short` under 40 known days, `too_noisy` over 3 %RH.

    The memory from day to day is estimated and corrected for the shortness of the record (Kendall 1954). After each day of `fresh` it may read
    otherwise by a constant: the mean is that of the days since the last. Error of the mean: spread/(1 - memory)/sqrt(days).
    """
    before = usual_before(Compared(np.append(days.more, np.nan), np.append(days.humidity, np.nan)), fresh)
    if np.isnan(before.mean[-1]):
        raise NoValue("too_short", days=int((~np.isnan(days.more)).sum()), need=LEAST_REFERENCE)
    memory, spread = float(before.memory[-1]), float(before.spread[-1])
    whole = spread / (1 - memory**2) ** 0.5
    if whole > NOISIEST:
        raise NoValue("too_noisy", spread=whole, most=NOISIEST)
    return Usual(float(before.mean[-1]), memory, spread, int(before.days[-1]), float(before.slope[-1]), float(before.humidity[-1]))


def usual_before(days: Compared, fresh: Sequence[int] = ()) -> Before:
    """What was usual before each day, as `usual` says it: NaN where fewer than 40 known days tell it, or 14 since the last of `fresh`."""
    held, columns = np.zeros((8, 1)), []
    for begin, end in pairwise([0, *fresh, len(days.more)]):
        sums = _sums(days.part(begin, end))
        sums[:8] += held
        held = sums[:8, -1:]
        columns.append(sums[:, :-1])
    free, pairs, own, shared, swing, own_next, shared_next, swing_next, count, mean, humidity = np.concatenate(columns, axis=1)
    slope = shared / (swing + STIFF)
    variance = np.maximum((own - 2 * slope * shared + slope**2 * swing) / np.maximum(free, 1), 1e-9)
    raw = (own_next - 2 * slope * shared_next + slope**2 * swing_next) / np.maximum(pairs, 1) / variance
    memory = np.clip(raw + (1 + 3 * raw) / (free + 1), 0, 0.95)
    spread = np.maximum((variance * (1 - memory**2)) ** 0.5, 0.01)
    told = (free >= LEAST_REFERENCE - 1) & (count >= LEAST_FRESH)
    return Before(*(np.where(told, values, np.nan) for values in (mean, memory, spread, count, slope, humidity, swing)))


def _sums(days: Compared) -> Floats:
    """Of the days before each, and of all: days less one; how many follow each other; squares and products about the mean, of differences, of both, of
    humidity; the same of each day with the next; days; mean difference; mean humidity."""
    both = np.array([days.more, days.humidity])
    known = ~np.isnan(both).any(axis=0)
    middle = both[:, known].mean(axis=1, keepdims=True) if known.any() else np.zeros((2, 1))
    now = np.where(known, both - middle, 0.0)
    last = np.concatenate((np.zeros((2, 1)), now[:, :-1]), axis=1)
    pair = known & np.concatenate(([False], known[:-1]))
    which = [(0, 0), (0, 1), (1, 1)]
    rows = [known, pair, *now, *(pair * (now + last)), *(now[i] * now[j] for i, j in which)]
    rows += [pair * (now[i] * last[j] + now[j] * last[i]) / 2 for i, j in which]
    sums = np.concatenate((np.zeros((12, 1)), np.array(rows, dtype=np.float64).cumsum(axis=1)), axis=1)
    count, pairs, ends = sums[0], sums[1], sums[4:6]
    mean = sums[2:4] / np.maximum(count, 1)
    squares = [sums[6 + n] - count * mean[i] * mean[j] for n, (i, j) in enumerate(which)]
    follow = [sums[9 + n] - (mean[i] * ends[j] + mean[j] * ends[i]) / 2 + pairs * mean[i] * mean[j] for n, (i, j) in enumerate(which)]
    return np.array([np.maximum(count - 1, 0), pairs, *squares, *follow, count, *(mean + middle)])


def whitened(days: Compared, of: Before) -> Floats:
    """What is new each day, in standard deviations: independent and about 0 while nothing is wrong; NaN where day or usual is unknown.

    How well mean and slope of the days before are known is part of the standard deviation.
    """
    result = np.full(len(days.more), np.nan)
    known = np.flatnonzero(~(np.isnan(days.more) | np.isnan(days.humidity)))
    last = np.concatenate((known[:1], known[:-1]))
    mean, memory, spread, slope, humidity = (values[known] for values in (of.mean, of.memory, of.spread, of.slope, of.humidity))
    left = memory ** np.diff(known, prepend=-1)
    left[:1] = 0
    more = days.more[known] - mean - left * (days.more[last] - mean)
    damper = days.humidity[known] - humidity - left * (days.humidity[last] - humidity)
    new = spread**2 * (1 - left**2) / (1 - memory**2)
    not_known = (spread / (1 - memory)) ** 2 * ((1 - left) ** 2 / of.days[known] + damper**2 / (of.swing[known] + STIFF))
    result[known] = (more - slope * damper) / (new + not_known) ** 0.5
    return result


def find_drift(days: Compared, fresh: Sequence[int] = (), looked: int = 0) -> Drift | None:
    """The first drift noticed from the sixtieth day on; None without one. Raises NoValue as `usual` of those sixty days.

    Start anew after a calibration or a move. `fresh`: days on which it was looked into and found right: from the last of them on the sums begin again,
    and where it stands is learnt anew, but not how it moves from day to day. From the day `looked` on the sums begin again and all is kept, for another
    of the room was looked into. False alarms: at most one a logger in two years.
    """
    usual(days.part(0, REFERENCE_DAYS))
    fresh = [min(day, len(days.more)) for day in fresh]
    watched = max([REFERENCE_DAYS, *fresh, min(looked, len(days.more))])
    new = np.clip(whitened(days, usual_before(days, fresh)), -MOST_OF_A_DAY, MOST_OF_A_DAY)
    signal = first_signal(new[watched:], K, decision_limit(K, RUN_LENGTH))
    if signal is None:
        return None
    day, since = signal.at + watched, signal.since + watched
    normal = usual(days.part(0, since), [begin for begin in fresh if begin < since])
    lately = normal.beyond(days.part(max(day - LATELY + 1, watched), day + 1))
    lately = lately[~np.isnan(lately)]
    per_day = normal.spread / (1 - normal.memory)
    return Drift(day, since, float(lately.mean()), per_day * (1 / len(lately) + 1 / normal.days) ** 0.5, normal)
