"""Damp: longest unbroken runs, the house alarms, time of wetness. rh in %, hour after hour, NaN where unknown.

Report the longest run, not only the share of time: a tenth of a year in one block is five weeks.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np

from locations.climate.science.tables import highest, number, rows
from locations.climate.science.values import Flags, Floats, Ints, NoValue, within

INSPECT_AFTER: Final = 7 * 24
YEAR: Final = 8766


@dataclass(frozen=True, slots=True)
class Run:
    """`hours` without a break from hour number `begin`. `at_least`: it touches unknown hours or an end of the record, so it may be longer."""

    begin: int
    hours: int
    at_least: bool

    @property
    def end(self) -> int:
        return self.begin + self.hours


def runs(rh: Floats, over: float, reset: float | None = None) -> list[Run]:
    """Runs above `over` %: begun by an hour above it, ended by one below `reset` (by one not above `over` where not given).

    With a reset band, hours between reset and over belong to the run and exactly `reset` does not end it. An unknown hour
    ends a run: fill gaps up to 3 h first (`series.hourly`). Source: house rule.
    """
    inside = _inside(rh, over, reset)
    edges = np.diff(np.concatenate(([0], inside.astype(np.int8), [0])))
    begins, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    unknown = np.isnan(np.concatenate(([np.nan], rh, [np.nan])))
    return [Run(int(b), int(e - b), bool(unknown[b] or unknown[e + 1])) for b, e in zip(begins, ends, strict=True)]


def longest_run(rh: Floats, over: float, reset: float | None = None) -> Run | None:
    """The longest of `runs`, the first of equals; None where there is none."""
    return max(runs(rh, over, reset), key=lambda run: run.hours, default=None)


@dataclass(frozen=True, slots=True)
class AlarmRule:
    """Raised when rh has been above `over` % for `hours` without a break; `reset` as in `runs`."""

    level: str
    over: float
    reset: float | None
    hours: int
    source: str


@dataclass(frozen=True, slots=True)
class Alarm:
    """In force from hour `raised` to before hour `ended` (None: still). A red one asks for a look at hour `inspect`."""

    rule: AlarmRule
    run: Run
    raised: int
    ended: int | None
    inspect: int | None


@cache
def house_alarms() -> tuple[AlarmRule, ...]:
    """Amber: over 65 % for 48 h, reset below 62. Red: over 70 % for 7 days, 75 % for 48 h or 85 % for 24 h. House rule."""
    return tuple(AlarmRule(one["level"], float(one["over"]), number(one, "reset"), int(one["hours"]), one["source"]) for one in rows("alarms"))


def alarms(rh: Floats, rules: Sequence[AlarmRule] | None = None) -> list[Alarm]:
    """Every alarm of hours of rh, in order of being raised; the house rules where none are given."""
    found = [
        _alarm(rule, run, len(rh))
        for rule in (house_alarms() if rules is None else rules)
        for run in runs(rh, rule.over, rule.reset)
        if run.hours >= rule.hours
    ]
    return sorted(found, key=lambda alarm: alarm.raised)


@dataclass(frozen=True, slots=True)
class Wetness:
    """Hours of wetness in `known` hours recorded. `yearly` scales to a year; without it say: at least `hours` in `known`."""

    hours: float
    known: float
    yearly: float | None
    code: str | None


def time_of_wetness(t: Floats, rh: Floats, weight: Floats, *, over: float | None = None, whole_year: bool = False) -> Wetness:
    """Time with rh above `over` % (80 where not given) and t above 0 °C, both strictly; weight is the hours of each reading.

    `whole_year` tells that the record may be scaled (90 % covered, every month 75 %: `series.year_usable`); only then is there
    a yearly figure and its class. Give the surface's t and rh for a cold thing. An error of 3 % around the limit moves it
    much: show it at 77, 80 and 83. Wrong near 0 °C and on salts. Source: ISO 9223.
    """
    limit = highest("wetness_rh") if over is None else over
    known = float(weight[~(np.isnan(t) | np.isnan(rh))].sum())
    wet = float(weight[(rh > limit) & (t > 0)].sum())
    if not whole_year or not known:
        return Wetness(wet, known, None, None)
    yearly = wet * YEAR / known
    return Wetness(wet, known, yearly, wetness_class(yearly))


def wetness_class(yearly: float) -> str:
    """Class `tau 1` to `tau 5` of hours of wetness a year, 0..8784, upper limits inclusive, else NoValue. Source: ISO 9223 (limits from memory)."""
    hours = within("yearly", yearly, 0, 8784)
    return next(one["code"] for one in rows("wetness_classes") if hours <= float(one["up_to"]))


#: so many readings at the dial in a row above the limit are damp (house rule)
DAMP_ROW: Final = 3


@dataclass(frozen=True, slots=True)
class ByHand:
    """What readings at the dial tell: of `readings`, `damp` were above the limit, at most `in_a_row` one after the other, `days` apart.

    `going_on` of them, up to the last, are in a row above it: none where the last is not.
    """

    readings: int
    damp: int
    in_a_row: int
    days: float
    verdict: str
    going_on: int

    @property
    def damp_now(self) -> bool:
        """Whether the row that makes a place damp goes on."""
        return self.going_on >= DAMP_ROW


def damp_by_hand(at: Ints, rh: Floats, *, over: float | None = None, farthest: float = 10) -> ByHand:
    """A verdict of readings by hand, at instants in s: `damp` for three in a row above the limit, at most `farthest` days apart, `watch` for
    two in a row or the last, else `dry`; nothing is said of the hours between them.

    Under three readings: NoValue `too_few`. Limit as `organic_sustained` where not given. House rule.
    """
    if len(at) < 3:
        raise NoValue("too_few", readings=len(at), need=3)
    damp = rh > (highest("organic_sustained") if over is None else over)
    near = np.diff(at) <= farthest * 86400
    best, days, begin = 0, 0.0, 0
    for i in range(len(at)):
        if not damp[i] or (i and not (near[i - 1] and damp[i - 1])):
            begin = i
        if damp[i] and i - begin + 1 > best:
            best, days = i - begin + 1, float(at[i] - at[begin]) / 86400
    verdict = "damp" if best >= DAMP_ROW else "watch" if best == 2 or damp[-1] else "dry"
    return ByHand(len(at), int(damp.sum()), best, days, verdict, len(at) - begin if damp[-1] else 0)


def _inside(rh: Floats, over: float, reset: float | None) -> Flags:
    if reset is None:
        return rh > over
    if reset > over:
        raise NoValue("reset_above_limit", over=over, reset=reset)
    turns = np.where(rh > over, 1, np.where((rh < reset) | np.isnan(rh), 2, 0))
    last = np.maximum.accumulate(np.where(turns > 0, np.arange(len(rh)), -1))
    inside: Flags = (last >= 0) & (turns[last] == 1)
    return inside


def _alarm(rule: AlarmRule, run: Run, hours: int) -> Alarm:
    raised = run.begin + rule.hours
    return Alarm(rule, run, raised, run.end if run.end < hours else None, raised + INSPECT_AFTER if rule.level == "red" else None)
