"""Does a hygrometer drift that stands alone in its room? Held against the air outdoors and other rooms, by what a year told of how they hang together.

Rooms differ, and by the weather: their differences move by one or two %RH from day to day and remember it for weeks, so that sums of them
cry wolf. So the humidity shown is first explained: by the vapour outdoors (of the day, and its means over about 2, 6 and 20 days, for walls and
things store water) and by that of the other rooms, each as humidity at the logger's own temperature. What is left is averaged over weeks,
whitened and summed. Spread and memory of what is left are those of months that were not used to explain it, else they flatter.

What it reaches, counted on sixty made houses of leaky, tight and hygroscopic rooms: 0.8 false alarms a logger in two years (0.7 against outdoors alone); of
drifts of 2 %RH in half a year half are noticed before those 2 % are there (44 %), after 194 days in the median (214), three of four ever. Within 30 days of
its beginning such a drift is a third of a per cent, and nothing here sees it: beside another logger in the same room `drift` is far quicker.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from locations.climate.science.cusum import decision_limit, first_signal
from locations.climate.science.drift import Before, Compared, Drift, Usual, daily_means, usual, whitened
from locations.climate.science.saturation import WATER
from locations.climate.science.values import Floats, NoValue

WEEK: Final = 7
#: weeks that tell how rooms hang together, and weeks after a fresh start that tell where it stands now
LEAST_LEARNT, LEAST_FRESH = 52, 8
#: days over which the vapour outdoors is averaged
MEMORIES: Final = (0.0, 2.0, 6.0, 20.0)
#: months left out in turn, so that what is left is that of months the explanation did not see
FOLDS: Final = 6
K: Final = 0.75
#: weeks between false alarms by the tables; what is left remembers longer than they know, so that it is rather one in two years
RUN_LENGTH: Final = 20_000 / WEEK
#: how far the true mean may lie from that of the fresh weeks, in standard errors, with the run length still kept
CAUTION: Final = 1.0
#: keeps the explanation from leaning on two things that say the same
RIDGE: Final = 1e-3
#: %RH from week to week beyond which nothing is told
NOISIEST: Final = 2.0
Matrix = Floats


@dataclass(frozen=True, slots=True)
class Beside:
    """What a logger is held against, hour by hour: vapour pressure (Pa) outdoors, and the median of other rooms (None: there are none)."""

    outdoors: Floats
    rooms: Floats | None = None


def find_apart(t: Floats, rh: Floats, beside: Beside, fresh: Sequence[int] = ()) -> Drift | None:
    """The first drift noticed, from hours from midnight on of t (°C) and rh (%), NaN where unknown; None without one.

    `fresh`: days on which it was checked or looked into, after each of which it may read otherwise by a constant. Numbers of days in the answer count from
    the first. Learns 52 weeks, of which 8 after the last fresh start. Raises NoValue: `too_short`, `too_noisy` over 2 %RH from week to week.
    """
    shown, told = _daily(t, rh, beside)
    begin = -(-max(fresh, default=0) // WEEK)
    watched = max(LEAST_LEARNT, begin + LEAST_FRESH)
    left = _weekly(_unexplained(shown, told, sorted({0, *fresh}), watched * WEEK))
    learnt = _usual(left[:watched])
    now = left[begin:watched]
    now = now[~np.isnan(now)]
    if len(now) < LEAST_FRESH * 3 // 4:
        raise NoValue("too_short", weeks=len(now), need=LEAST_FRESH * 3 // 4)
    normal = Usual(float(now.mean()), learnt.memory, learnt.spread, len(now))
    k = max(round(K - CAUTION / normal.days**0.5, 2), 0.05)
    signal = first_signal(whitened(_plain(left), _always(normal, len(left)))[watched:], k, decision_limit(k, RUN_LENGTH))
    if signal is None:
        return None
    at, since = signal.at + watched, signal.since + watched
    lately = left[max(at - 1, watched) : at + 1]
    lately = lately[~np.isnan(lately)]
    error = normal.spread / (1 - normal.memory) * (1 / len(lately) + 1 / normal.days) ** 0.5
    return Drift(
        at * WEEK + WEEK - 1, since * WEEK, float(lately.mean()) - normal.mean, error, Usual(normal.mean, normal.memory, normal.spread, watched * WEEK)
    )


def left_over(t: Floats, rh: Floats, beside: Beside, fresh: Sequence[int] = ()) -> Floats:
    """What is left unexplained week by week, %RH, of the same; NaN where under five days of a week are known."""
    shown, told = _daily(t, rh, beside)
    watched = max(LEAST_LEARNT, -(-max(fresh, default=0) // WEEK) + LEAST_FRESH)
    return _weekly(_unexplained(shown, told, sorted({0, *fresh}), watched * WEEK))


def _usual(weeks: Floats) -> Usual:
    found = usual(_plain(weeks))
    if found.spread > NOISIEST:
        raise NoValue("too_noisy", spread=found.spread, most=NOISIEST)
    return found


def _always(normal: Usual, weeks: int) -> Before:
    """The same each week, as if it were known from for ever: `CAUTION` is for that."""
    return Before(*(np.full(weeks, value) for value in (normal.mean, normal.memory, normal.spread, np.inf, 0.0, 0.0, np.inf)))


def _plain(left: Floats) -> Compared:
    """Of what humidity explained already."""
    return Compared(left, np.zeros(len(left)))


def _daily(t: Floats, rh: Floats, beside: Beside) -> tuple[Floats, Matrix]:
    """Humidity shown day by day, and beside it what explains it, a column each: vapours as humidity at the logger's own temperature."""
    full = daily_means(np.asarray(WATER.pressure(np.where(np.isnan(rh), np.nan, t))))
    outdoors = daily_means(beside.outdoors)
    columns = [100 * _remembered(outdoors, days) / full for days in MEMORIES]
    if beside.rooms is not None:
        columns.append(100 * daily_means(beside.rooms) / full)
    return daily_means(rh), np.column_stack(columns)


def _remembered(values: Floats, days: float) -> Floats:
    """A mean of the past that fades with so many days; NaN on a day that is unknown itself, which it leaves as it was."""
    if not days:
        return values
    share, held, result = 1 - np.exp(-1 / days), np.nan, np.full(len(values), np.nan)
    for day in np.flatnonzero(~np.isnan(values)).tolist():
        held = values[day] if np.isnan(held) else held + share * (values[day] - held)
        result[day] = held
    return result


def _unexplained(shown: Floats, told: Matrix, fresh: Sequence[int], learnt: int) -> Floats:
    """What is shown less what is explained, day by day. In the days learnt from each part is explained by the others."""
    known = ~(np.isnan(shown) | np.isnan(told).any(axis=1))
    if int(known[:learnt].sum()) < LEAST_LEARNT * WEEK * 3 // 4 or len(shown) < learnt:
        raise NoValue("too_short", days=int(known[:learnt].sum()), need=LEAST_LEARNT * WEEK)
    left = np.full(len(shown), np.nan)
    # Between two fresh starts a constant is its own: only what moves within them tells how things hang together.
    y, x = shown.copy(), told.copy()
    for begin, end in zip(fresh, [*fresh[1:], len(shown)], strict=True):
        part = np.arange(begin, end)[known[begin:end]]
        inside = part[part < learnt]
        if len(inside):
            y[part] -= y[inside].mean()
            x[part] -= x[inside].mean(axis=0)
    days = np.flatnonzero(known[:learnt])
    for fold in np.array_split(days, FOLDS):
        others = np.setdiff1d(days, fold)
        left[fold] = y[fold] - x[fold] @ _slopes(x[others], y[others])
    after = np.flatnonzero(known)
    after = after[after >= learnt]
    left[after] = y[after] - x[after] @ _slopes(x[days], y[days])
    return left


def _slopes(x: Matrix, y: Floats) -> Floats:
    scale = np.maximum(x.std(axis=0), 1e-9)
    z = x / scale
    found: Floats = np.linalg.solve(z.T @ z + RIDGE * len(y) * np.eye(z.shape[1]), z.T @ y) / scale
    return found


def _weekly(days: Floats) -> Floats:
    """Means of whole weeks, NaN where under five of the seven days are known."""
    weeks = days[: len(days) // WEEK * WEEK].reshape(-1, WEEK)
    count = (~np.isnan(weeks)).sum(axis=1)
    return np.where(count >= 5, np.where(np.isnan(weeks), 0.0, weeks).sum(axis=1) / np.maximum(count, 1), np.nan)
