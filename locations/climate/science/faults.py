"""Faults that a record shows by itself: stuck, mirrored, handled. Readings in order, instants in s; NaN = no reading.

What is found is flagged and asked about, never removed.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from locations.climate.science.series import FILLED, HOUR, WIDEST, in_order
from locations.climate.science.values import Floats, Ints

#: rh that stands still for longer while t moves is stuck (house rule)
STUCK_FOR: Final = 24 * HOUR
#: K that t must have moved
MOVED: Final = 0.5
#: a spike this soon after being placed is from handling (house rule)
HANDLING: Final = 2 * HOUR
LEAST_READINGS: Final = 24


@dataclass(frozen=True, slots=True)
class Stuck:
    """Readings number first..last are one value, over `hours`."""

    first: int
    last: int
    hours: float


def stuck(at: Ints, moving: Floats, values: Floats) -> list[Stuck]:
    """Spells of over 24 h in which `values` (rh, %) are all alike while `moving` (t, °C) moves by half a kelvin or more. House rule.

    A missing reading ends a spell, and so does a gap of over 3 h (of a rarer logger: 1.5 times its usual step), for what it would have
    written then nobody knows. 100 % is no exception: fog does not last a day to the last digit, but a wet sensor does.
    """
    steps = np.diff(in_order(at))
    gap = max(FILLED, WIDEST * float(np.median(steps))) if len(steps) else FILLED
    change = np.flatnonzero((np.diff(values) != 0) | (steps > gap)) + 1
    edges = np.concatenate(([0], change, [len(values)]))
    first, last = edges[:-1], edges[1:] - 1
    spans = at[last] - at[first]
    found = []
    for i in np.flatnonzero((spans > STUCK_FOR) & ~np.isnan(values[first])).tolist():
        if _moves(moving[first[i] : last[i] + 1]):
            found.append(Stuck(int(first[i]), int(last[i]), int(spans[i]) / HOUR))
    return found


def mirrored(t: Floats, rh: Floats) -> bool:
    """Whether every change of rh is the same multiple of the change of t, exactly: one channel made from the other, or the same twice.

    Of at least 24 common readings with t moving by half a kelvin; else False. Real air never keeps to it: saturation is no straight line.
    """
    known = ~np.isnan(t) & ~np.isnan(rh)
    x, y = t[known], rh[known]
    if len(x) < LEAST_READINGS or not _moves(x) or not np.ptp(y):
        return False
    slope, level = np.polyfit(x, y, 1)
    return bool(np.abs(y - slope * x - level).max() <= 1e-6)


def in_exchanged_columns(t: Floats, rh: Floats) -> bool:
    """Whether t and rh look exchanged: 't' mostly above 45 and 'rh' mostly in the range of rooms below 35, as medians. House rule."""
    return bool(np.nanmedian(t) > 45 and np.nanmedian(rh) < 35)


def looks_fahrenheit(t: Floats) -> bool:
    """Whether temperatures look like °F: median above 45. To be asked, never assumed. House rule."""
    return bool(np.nanmedian(t) > 45)


def handled(at: Ints, placed: int) -> list[int]:
    """Numbers of the readings in the first two hours after the logger was placed (instant in s): handling, to be flagged. House rule."""
    return [int(i) for i in np.flatnonzero((at >= placed) & (at < placed + HANDLING))]


def _moves(values: Floats) -> bool:
    known = values[~np.isnan(values)]
    return bool(len(known) and np.ptp(known) >= MOVED)
