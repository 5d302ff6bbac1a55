"""The alarms of a place from its hours of air: damp without a break, and mould that grows. Pure; the limits are tables of `science`.

There is no alarm in a gap: the hours of one longer than 3 h are unknown and end a run, which then was at least so long. What still
goes on at the last known hour stays open, since nobody knows yet how it ended. Runs of one level that follow each other within two days are
one alarm, so that air about a limit raises one and not ten. Beside a wall told to be colder than the room mould is judged by the air at the wall.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from locations.climate.science import damp
from locations.climate.science.lived import mould_share
from locations.climate.science.mould import mould_class, mould_course
from locations.climate.science.tables import rows
from locations.climate.science.values import Flags, Floats

#: names the way of counting in what is stored; another way takes another name
FORMULA: Final = "alarms 2"
WALL_FORMULA: Final = "walls 1"
QUALITY_FORMULA: Final = "walls by quality 1"
#: mould is judged for what goes mouldy first
MOST_SENSITIVE: Final = "VS"
DAMP, MOULD = "damp", "mould"
AMBER, RED = "amber", "red"
DAY: Final = 24
#: a run that begins within so many hours after the last one ended goes on with its alarm (ours: the hours after which amber is raised)
QUIET: Final = 48
NEVER: Final = 10**9


@dataclass(frozen=True, slots=True)
class Spell:
    """One alarm: its run began at hour `begin`, it is in force from `raised` to before `ended` (None: still), hours from 1970.

    `hours`: the longest run without a break, `over` its limit (%). `at_least`: hours beside or within are unknown, it may have been longer.
    `highest`: rh (%) in its time. `index`: highest mould index, `share`: of the days after which mould is presumed; 0 where not counted.
    `runs`: how many runs of damp it joins. `colder`: the wall of which it is the air, K below the room, or its `quality`; both 0 where it is that of
    the room.
    """

    kind: str
    level: str
    begin: int
    raised: int
    ended: int | None
    hours: int
    at_least: bool
    over: float = 0.0
    highest: float = 0.0
    index: float = 0.0
    share: float = 0.0
    runs: int = 1
    colder: float = 0.0
    quality: float = 0.0

    @property
    def formula(self) -> str:
        """The way in which it was counted."""
        return QUALITY_FORMULA if self.quality else WALL_FORMULA if self.colder else FORMULA

    @property
    def last(self) -> int:
        """The hour before which it ended, as far as anybody knows."""
        return NEVER if self.ended is None else self.ended


def alarms_of(t: Floats, rh: Floats, begin: int, *, heard: bool = True) -> list[Spell]:
    """The alarms of hours of t (°C) and rh (%) from hour `begin` on, NaN where unknown, in order of being raised.

    `heard`: somebody still speaks for the place, so that what goes on at the last known hour is open; else it ended there.
    """
    (known,) = np.nonzero(~(np.isnan(t) | np.isnan(rh)))
    if not len(known):
        return []
    # Whole days of universal time, so that the index is the same whenever the first reading was.
    lead, after = begin % DAY, int(known[-1]) + 1
    unknown = np.full(lead, np.nan), np.full(0 if heard else 1, np.nan)
    t, rh = (np.concatenate((unknown[0], values[:after], unknown[1])) for values in (t, rh))
    rh = np.where(np.isnan(t), np.nan, rh)
    found = [*_damp(rh), *_presumed(rh), *_growing(t, rh, heard)]
    return [_moved(spell, begin - lead) for spell in _joined(found)]


def moulds_at_wall(t: Floats, rh: Floats, begin: int, *, heard: bool = True) -> list[Spell]:
    """The alarms of mould among those of hours at a wall; whether it was damp is asked of the room."""
    return [one for one in alarms_of(t, rh, begin, heard=heard) if one.kind == MOULD]


def without_doubles(room: Iterable[Spell], wall: Sequence[Spell]) -> list[Spell]:
    """Of one place, what the wall says and what the room says beside it: no mould of a time of which the wall tells as grave a one."""

    def told(one: Spell) -> bool:
        return one.kind == MOULD and any(
            other.level in (RED, one.level) and other.begin < one.last and one.begin < other.last for other in wall
        )  # fmt: skip

    return [*(one for one in room if not told(one)), *wall]


def _damp(rh: Floats) -> Iterator[Spell]:
    for one in damp.alarms(rh):
        run = one.run
        highest = float(np.nanmax(rh[run.begin : run.end]))
        yield Spell(DAMP, one.rule.level, run.begin, one.raised, one.ended, run.hours, run.at_least, one.rule.over, highest)


def _presumed(rh: Floats) -> Iterator[Spell]:
    """Runs in which the days after which mould is presumed went by."""
    amber, rule = next(one for one in damp.house_alarms() if one.level == AMBER), _rules("share")[0]
    for run in damp.runs(rh, amber.over, amber.reset):
        inside = rh[run.begin : run.end]
        shares = np.cumsum(mould_share(inside))
        if shares[-1] >= rule.least:
            raised = run.begin + int(np.searchsorted(shares, rule.least)) + 1
            ended = run.end if run.end < len(rh) else None
            yield Spell(
                MOULD, rule.level, run.begin, raised, ended, run.hours, run.at_least, amber.over, float(inside.max()), share=float(shares[-1]),
            )  # fmt: skip


def _growing(t: Floats, rh: Floats, heard: bool) -> Iterator[Spell]:
    """Spells in which the index of the most sensitive class rose at or above a limit, until it has not risen for some days.

    By whole days: a day that still goes on would tell another hour with every file that comes of it.
    """
    course = mould_course(t, rh, mould_class(MOST_SENSITIVE), every=DAY)
    if heard:
        course = course[: len(rh) // DAY]
    rising: Flags = course > np.concatenate(([0.0], course[:-1]))
    for rule in _rules("index"):
        for first, last in _spells(np.flatnonzero(rising & (course >= rule.least)).tolist(), rule.quiet_days):
            begin, raised, quiet = first * DAY, min((first + 1) * DAY, len(rh)), (last + 1 + rule.quiet_days) * DAY
            ended = quiet if quiet <= len(rh) else None if heard else len(rh) - 1
            within = rh[begin : (last + 1) * DAY]
            known = within[~np.isnan(within)]
            yield Spell(
                MOULD, rule.level, begin, raised, ended, len(known), bool(np.isnan(rh[begin:ended]).any()),
                highest=float(known.max()), index=float(course[first : last + 1].max()),
            )  # fmt: skip


def _spells(days: list[int], quiet: int) -> list[tuple[int, int]]:
    found: list[tuple[int, int]] = []
    for day in days:
        if found and day - found[-1][1] <= quiet:
            found[-1] = found[-1][0], day
        else:
            found.append((day, day))
    return found


@dataclass(frozen=True, slots=True)
class MouldRule:
    """Raised from `least` of its measure on; where it is the index, over after `quiet_days` without growth."""

    level: str
    least: float
    quiet_days: int


def _rules(measure: str) -> list[MouldRule]:
    return [MouldRule(one["level"], float(one["from"]), int(one["quiet_days"] or 0)) for one in rows("mould_alarms") if one["measure"] == measure]


def _joined(found: Iterable[Spell]) -> list[Spell]:
    """One alarm of a kind and level at a time: those that touch, or all but do, are one, told by the longest run."""
    whole: list[Spell] = []
    open_ones: dict[tuple[str, str], int] = {}
    for spell in sorted(found, key=lambda one: (one.raised, one.last, one.kind, one.level)):
        at = open_ones.get((spell.kind, spell.level))
        if at is not None and (spell.raised <= whole[at].last or spell.begin <= whole[at].last + QUIET):
            whole[at] = _one_of(whole[at], spell)
        else:
            open_ones[spell.kind, spell.level] = len(whole)
            whole.append(spell)
    return whole


def _one_of(one: Spell, other: Spell) -> Spell:
    longest, last = max((one, other), key=lambda spell: spell.hours), max(one.last, other.last)
    runs = one.runs + other.runs if other.begin >= one.last else max(one.runs, other.runs)
    return replace(
        longest, begin=min(one.begin, other.begin), raised=min(one.raised, other.raised), ended=None if last == NEVER else last,
        highest=max(one.highest, other.highest), index=max(one.index, other.index), share=max(one.share, other.share), runs=runs,
    )  # fmt: skip


def _moved(spell: Spell, by: int) -> Spell:
    return replace(spell, begin=spell.begin + by, raised=spell.raised + by, ended=None if spell.ended is None else spell.ended + by)
