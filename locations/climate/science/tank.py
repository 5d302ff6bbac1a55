"""What the tank of a dehumidifier tells: litres a day from what was emptied when, a sudden rise (a leak), a sudden end (the machine).

Days are whole numbers in order, each once; litres are what was emptied on that day. The water of a day is that emptied since the last
time, so one rate stands for the days between. House rules; a machine whose tank overflowed or runs into a drain tells nothing.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from locations.climate.science.values import Floats, Ints, NoValue

#: what is usual is learnt of so many rates, no fewer than these
MOST: Final = 30
LEAST: Final = 7
#: a machine that takes less than this share of its usual litres is as good as still
STILL: Final = 0.2
#: what is no more than this share above the usual is a leak in no weather, and ends one (ours)
EVEN: Final = 0.25
#: a tank is full when it gives the same litres to this share, so many times in a row (ours)
SAME: Final = 0.02
FULL_TIMES: Final = 4
#: it has stopped when its usual litres have not come for so many of its usual intervals: of a tank emptied daily, on the second day
INTERVALS: Final = 2.0


def rates(days: Ints, litres: Floats) -> Floats:
    """Litres a day since the time before, L/d; NaN for the first, of which nobody knows since when it ran. Raises NoValue `out_of_order`."""
    between = np.diff(days)
    if (between <= 0).any():
        raise NoValue("out_of_order")
    return np.concatenate(([np.nan], litres[1:] / between)) if len(days) else np.empty(0)


@dataclass(frozen=True, slots=True)
class Usual:
    """Median litres a day, and median days between two times of emptying."""

    rate: float
    every: float


def usual(days: Ints, litres: Floats) -> Usual:
    """Of the last 30 rates that were none of a still machine. Under 7: NoValue `too_few`."""
    found = rates(days, litres)
    running = np.flatnonzero(found > 0)[-MOST:]
    if len(running) < LEAST:
        raise NoValue("too_few", readings=len(running), need=LEAST)
    return Usual(float(np.median(found[running])), float(np.median(np.diff(days)[running - 1])))


@dataclass(frozen=True, slots=True)
class Still:
    """Usual litres were emptied last on day `last`; noticed on day `noticed`; `silent`: since then nobody has written anything."""

    last: int
    noticed: int
    silent: bool


def stopped(days: Ints, litres: Floats, today: int) -> Still | None:
    """Whether the machine has stopped by `today`: no usual litres (a fifth of the median or more) for twice its usual interval.

    Nothing written and next to nothing emptied count alike: nobody knows which of the two it is. Under 7 rates: NoValue `too_few`.
    """
    known = usual(days, litres)
    fine = np.flatnonzero(rates(days, litres) >= STILL * known.rate)
    last = int(days[fine[-1]])
    noticed = last + int(np.ceil(INTERVALS * known.every))
    return Still(last, noticed, last == int(days[-1])) if today >= noticed else None


@dataclass(frozen=True, slots=True)
class Stop:
    """A time without usual litres, as it would have been noticed then, and the day on which they came again; None: not to the end of the record."""

    still: Still
    again: int | None


def stops(days: Ints, litres: Floats, today: int) -> list[Stop]:
    """Each time that the machine had stopped, up to `today`. Where nobody wrote for a while and the next tank held the usual litres of all those days, it ran.

    Raises NoValue `out_of_order`.
    """
    found: dict[int, Stop] = {}
    horizons = np.append(days[1:] - 1, today) if len(days) else days
    for k in range(LEAST, len(days)):
        told = stopped(days[: k + 1], litres[: k + 1], int(horizons[k])) if _enough(days, litres, k) else None
        if told is not None and told.last not in found:
            found[told.last] = Stop(told, _again(days, litres, told.last, STILL * usual(days[: k + 1], litres[: k + 1]).rate))
    return [one for one in found.values() if one.again is None or one.again > int(days[days > one.still.last][0])]


def _enough(days: Ints, litres: Floats, k: int) -> bool:
    return bool((rates(days[: k + 1], litres[: k + 1]) > 0).sum() >= LEAST)


def _again(days: Ints, litres: Floats, last: int, least: float) -> int | None:
    fine = days[(days > last) & (rates(days, litres) >= least)]
    return int(fine[0]) if len(fine) else None


@dataclass(frozen=True, slots=True)
class Expected:
    """`litres` a day that the times before let one expect, their `spread` about it, and what is `usual` (their median); `weather`: the air outdoors is
    taken into account."""

    litres: float
    spread: float
    usual: float
    weather: bool


def expected(told: Floats, wetter: Floats | None = None) -> Expected:
    """What the last of the litres a day, oldest first, would be by those of up to 30 before it that were none of a still machine. Under 7: NoValue `too_few`.

    `wetter`: g/m³ that the air outdoors held more than the room's in the days of each, NaN where unknown. Leakage brings in n V of that difference (balance
    of mass), so its median slope (Theil and Sen; none below 0) is taken out where it is known of the last and of seven before. House rule.
    """
    before = told[-MOST - 1 : -1]
    ran = before > 0
    if ran.sum() < LEAST:
        raise NoValue("too_few", readings=int(ran.sum()), need=LEAST)
    usual_rate = float(np.median(before[ran]))
    air = np.full(len(before), np.nan) if wetter is None else wetter[-MOST - 1 : -1]
    known = ran & ~np.isnan(air)
    if wetter is None or np.isnan(wetter[-1]) or known.sum() < LEAST:
        return Expected(usual_rate, _spread(before[ran]), usual_rate, weather=False)
    slope = max(_median_slope(air[known], before[known]), 0.0)
    dry = before[known] - slope * air[known]
    return Expected(max(float(np.median(dry)) + slope * float(wetter[-1]), 0.0), _spread(dry), usual_rate, weather=True)


def sudden_rise(told: Floats, wetter: Floats | None = None) -> bool:
    """Whether the last of the litres a day stands out of what was to be expected: by over half of that and of the usual, and by three times the usual
    spread. A leak until shown otherwise. The first tank after one of a still machine is none: what built up meanwhile comes out. NoValue as `expected`.
    """
    one, last = expected(told, wetter), float(told[-1])
    rested = told[-2] < STILL * one.usual
    return not rested and _uneven(last, one) and last - one.litres > max(0.5 * one.usual, 0.5 * one.litres, 3 * one.spread)


def _uneven(last: float, one: Expected) -> bool:
    return last > (1 + EVEN) * one.usual


def _spread(values: Floats) -> float:
    """Median distance from the median, as a standard deviation of what is spread evenly to both sides."""
    return 1.4826 * float(np.median(np.abs(values - np.median(values))))


def _median_slope(x: Floats, y: Floats) -> float:
    """Of the lines through all pairs of points; 0 where all lie above each other."""
    first, second = np.triu_indices(len(x), 1)
    apart = x[second] - x[first]
    slopes = (y[second] - y[first])[apart != 0] / apart[apart != 0]
    return float(np.median(slopes)) if len(slopes) else 0.0


@dataclass(frozen=True, slots=True)
class Rise:
    """A sudden rise: its day, litres a day then and as they were to be expected, by the `weather` too where it is known; the day on which it was over,
    None: not to the end of the record."""

    day: int
    rate: float
    expected: float
    weather: bool
    over: int | None


def leaks(days: Ints, litres: Floats, wetter: Floats | None = None) -> list[Rise]:
    """Each sudden rise, up to the day on which it was over: what came before it says what is usual, not the rise itself. Raises NoValue `out_of_order`."""
    told = rates(days, litres)
    found: list[Rise] = []
    for k in range(1, len(days)):
        going_on = bool(found) and (found[-1].over is None or found[-1].over > int(days[k]))
        if not going_on and _enough(days, litres, k - 1) and sudden_rise(told[: k + 1], _until(wetter, k)):
            one = expected(told[: k + 1], _until(wetter, k))
            over = next((int(days[n]) for n in range(k + 1, len(days)) if _usual_again(told, wetter, k, n)), None)
            found.append(Rise(int(days[k]), float(told[k]), one.litres, one.weather, over))
    return found


def _usual_again(told: Floats, wetter: Floats | None, k: int, n: int) -> bool:
    """Whether the n-th is what the times before the k-th let one expect."""
    one = expected(np.append(told[:k], told[n]), None if wetter is None else np.append(wetter[:k], wetter[n]))
    return float(told[n]) <= (1 + EVEN) * max(one.litres, one.usual)


def _until(wetter: Floats | None, k: int) -> Floats | None:
    return None if wetter is None else wetter[: k + 1]


def brimming(litres: Floats) -> int:
    """How many of the last times in a row gave the most that the tank ever gave, to 2 %: it was full, and the machine stood still. Under 4: 0."""
    if not len(litres) or litres.max() <= 0:
        return 0
    short = np.flatnonzero(litres < (1 - SAME) * litres.max())
    times = len(litres) - (int(short[-1]) + 1 if len(short) else 0)
    return times if times >= FULL_TIMES else 0


def stands_out(days: Ints, litres: Floats) -> bool:
    """Whether the last rate is so much above the usual that the weather must be asked whether it is a leak. Under 7 before it: NoValue `too_few`."""
    told = rates(days, litres)
    return _uneven(float(told[-1]), expected(told))


def last_rise(days: Ints, litres: Floats, wetter: Floats | None = None) -> Rise | None:
    """The last time as a rise of which nobody knows yet when it is over; None where it is none. Under 7 before it: NoValue `too_few`."""
    told = rates(days, litres)
    one = expected(told, wetter)
    return Rise(int(days[-1]), float(told[-1]), one.litres, one.weather, None) if sudden_rise(told, wetter) else None
