"""From what a clock showed to instants: summer time both ways, for many readings in the order of the file."""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np

from locations.climate.science.localtime import clock_changes
from locations.climate.science.values import Flags, Ints

#: readings this near are next to each other, in intervals
NEAR: Final = 1.5


@dataclass(frozen=True, slots=True)
class Change:
    """The clock changes at an instant: seconds ahead of universal time before and after."""

    at: int
    before: int
    after: int

    @property
    def low(self) -> int:
        """The wall clock's first second that comes twice or never."""
        return self.at + min(self.before, self.after)

    @property
    def high(self) -> int:
        """The first second beyond."""
        return self.at + max(self.before, self.after)

    @property
    def back(self) -> bool:
        """An hour comes twice."""
        return self.after < self.before


@dataclass(frozen=True, slots=True)
class Instants:
    """Seconds since 1970 in universal time; `skipped` never stood on the wall, of `undecided` nothing tells which of two it was."""

    at: Ints
    skipped: Flags
    undecided: Flags


def ahead_of(zone: ZoneInfo, at: int) -> int:
    """Seconds a zone is ahead of universal time."""
    offset = datetime.fromtimestamp(at, UTC).astimezone(zone).utcoffset()
    return int(offset.total_seconds()) if offset else 0


def changes(zone: ZoneInfo, wall: Ints) -> list[Change]:
    """The changes of the clock in the years of these wall times."""
    if not len(wall):
        return []
    years = range(*(datetime.fromtimestamp(int(second), UTC).year + more for second, more in ((wall.min(), 0), (wall.max(), 1))))
    moments = [int(moment.timestamp()) for year in years for moment in clock_changes(year, zone)]
    return [Change(at, ahead_of(zone, at - 60), ahead_of(zone, at)) for at in moments]


def winter(zone: ZoneInfo, wall: Ints) -> int:
    """Seconds ahead of universal time in the winter of the first year."""
    found = changes(zone, wall[:1])
    return min((min(one.before, one.after) for one in found), default=ahead_of(zone, int(wall[0]) if len(wall) else 0))


def on_the_wall(wall: Ints, zone: ZoneInfo, interval: int) -> Instants:
    """Instants of a clock that follows summer time. In the hour that comes twice the order of the file tells which, else it stays undecided."""
    found = changes(zone, wall)
    skipped, undecided = np.zeros(len(wall), dtype=bool), np.zeros(len(wall), dtype=bool)
    if not found:
        return Instants(wall - (ahead_of(zone, int(wall[0])) if len(wall) else 0), skipped, undecided)
    borders = np.array([one.high for one in found])
    offsets = np.array([found[0].before, *(one.after for one in found)])
    at = wall - offsets[np.searchsorted(borders, wall, side="right")]
    for one in found:
        inside = np.flatnonzero((wall >= one.low) & (wall < one.high))
        if not len(inside):
            continue
        if not one.back:
            skipped[inside] = True
            continue
        second = _second_pass(wall, inside, interval)
        if second is None:
            undecided[inside] = True
        else:
            at[inside[second]] = wall[inside[second]] - one.after
    return Instants(at, skipped, undecided)


def _second_pass(wall: Ints, inside: Ints, interval: int) -> Flags | None:
    """Which readings of the hour that comes twice are of its second pass; None where that cannot be told."""
    times = wall[inside]
    falls = np.flatnonzero(np.diff(times) <= 0)
    if len(falls) == 1:
        later: Flags = np.arange(len(inside)) > falls[0]
        return later
    if len(falls) > 1:
        return None
    before, after = _next_to(wall, inside, interval)
    if before == after:
        return None
    return np.full(len(inside), after)


def _next_to(wall: Ints, inside: Ints, interval: int) -> tuple[bool, bool]:
    """Whether the readings of one pass join on to what stands before, and to what stands after."""
    first, last, near = int(inside[0]), int(inside[-1]), NEAR * interval
    before = first > 0 and 0 < wall[first] - wall[first - 1] <= near
    after = last + 1 < len(wall) and 0 < wall[last + 1] - wall[last] <= near
    return bool(before), bool(after)


def evidence(wall: Ints, zone: ZoneInfo, interval: int) -> str:
    """'follows' or 'fixed' where a change of the clock within the readings, in the order of the file, shows what it did; else ''."""
    said = {_shown(wall, one, interval) for one in changes(zone, wall)} - {""}
    return said.pop() if len(said) == 1 else ""


def _shown(wall: Ints, one: Change, interval: int) -> str:
    inside = np.flatnonzero((wall >= one.low) & (wall < one.high))
    if one.back:
        return _shown_back(wall, inside, interval)
    if len(inside):
        return "fixed"
    before, after = wall[wall < one.low], wall[wall >= one.high]
    near = NEAR * interval
    if len(before) and len(after) and interval <= 3600 and one.low - before.max() <= near and after.min() - one.high <= near:
        return "follows"
    return ""


def _shown_back(wall: Ints, inside: Ints, interval: int) -> str:
    if not len(inside) or interval > 3600:
        return ""
    falls = int((np.diff(wall[inside]) <= 0).sum())
    if falls == 1:
        return "follows"
    return "fixed" if falls == 0 and all(_next_to(wall, inside, interval)) else ""
