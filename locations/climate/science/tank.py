"""What the tank of a dehumidifier tells: litres a day from what was emptied when, a sudden rise (a leak), a sudden end (the machine).

Days are whole numbers in order, each once; litres are what was emptied on that day. The water of a day is that emptied since the last
time, so one rate stands for the days between. House rules; a machine whose tank overflowed or runs into a drain tells nothing.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from locations.climate.science.moisture import sudden_rise
from locations.climate.science.values import Floats, Ints, NoValue

#: what is usual is learnt of so many rates, no fewer than these
MOST: Final = 30
LEAST: Final = 7
#: a machine that takes less than this share of its usual litres is as good as still
STILL: Final = 0.2
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
class Rise:
    """A sudden rise: its day, litres a day then and usually before; the day on which it was over, None: not to the end of the record."""

    day: int
    rate: float
    usual: float
    over: int | None


def leaks(days: Ints, litres: Floats) -> list[Rise]:
    """Each time a sudden rise began. Raises NoValue `out_of_order`."""
    high = [_enough(days, litres, k - 1) and risen(days[: k + 1], litres[: k + 1]) for k in range(len(days))]
    told = rates(days, litres)
    found = []
    for k in range(1, len(days)):
        if high[k] and not high[k - 1]:
            over = next((int(days[n]) for n in range(k + 1, len(days)) if not high[n]), None)
            found.append(Rise(int(days[k]), float(told[k]), usual(days[:k], litres[:k]).rate, over))
    return found


def brimming(litres: Floats) -> int:
    """How many of the last times in a row gave the most that the tank ever gave, to 2 %: it was full, and the machine stood still. Under 4: 0."""
    if not len(litres) or litres.max() <= 0:
        return 0
    short = np.flatnonzero(litres < (1 - SAME) * litres.max())
    times = len(litres) - (int(short[-1]) + 1 if len(short) else 0)
    return times if times >= FULL_TIMES else 0


def risen(days: Ints, litres: Floats) -> bool:
    """Whether the last rate stands out of up to 30 before it: a leak until shown otherwise (`moisture.sudden_rise`). Under 7: NoValue `too_few`."""
    return sudden_rise(rates(days, litres))
