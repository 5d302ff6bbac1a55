"""What a thing lived through since an hour: the month of that hour from the readings, the months after it as they are kept.

A run that was going on at that hour counts from it on; as long as it goes on the next month is counted from the readings too.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time
from typing import Final, TypeVar
from uuid import UUID

from locations.climate.exposure import MonthAir, Thing, against, carried, courses, moment_of, month_of, of_rooms, things_of, within
from locations.climate.hearing import hour_of
from locations.climate.limits import limits_of
from locations.climate.models import Exposure, Logger, WallExposure
from locations.climate.science import lived
from museum import clock

#: what a month tells of its own hours; all else is the state at its end
OF_HOURS: Final = ("known", "unknown", "over", "under", "damp", "wet", "share", "ageing_hours", "ageing_rate")
R = TypeVar("R", Exposure, WallExposure)


def first_hour(day: date) -> int:
    """The hour from which a day of the society's clock is counted."""
    return hour_of(clock.start_of(day))


def month_with(hour: int) -> date:
    """The first day of the month, as it is kept, in which an hour lies."""
    return moment_of(month_of(hour)).date()


class Since:
    """The rows of some components, cut at an hour each of its own; the air of a month is read once for all."""

    def __init__(self, components: Iterable[UUID]) -> None:
        self._things = {(thing.component, thing.material): thing for thing in things_of(sorted(set(components)))}
        self._ways = courses({thing.carrier for thing in self._things.values()})
        self._rooms = {carrier: of_rooms(way) for carrier, way in self._ways.items()}
        self._loggers = list(Logger.objects.all())
        self._airs: dict[int, MonthAir] = {}

    def cut(self, rows: Sequence[R], begin: int) -> list[R]:
        """Rows of one component of a material, in order of month, from that of hour `begin` on, without what was before it."""
        thing = self._things.get((rows[0].component_id, rows[0].material)) if rows else None
        if thing is None:
            return []
        found: list[R] = []
        over = damp = 0
        for at, row in enumerate(rows):
            whole = self._piece(thing, row, begin)
            kept = row.over_tail, row.damp_tail
            over_run, damp_run = carried(over, whole.over_run), carried(damp, whole.damp_run)
            found.append(_told(row, replace(whole, over_run=over_run, damp_run=damp_run)))
            if (over_run.tail, damp_run.tail) == kept:
                return found + list(rows[at + 1 :])
            over, damp = over_run.tail, damp_run.tail
        return found

    def _piece(self, thing: Thing, row: Exposure | WallExposure, begin: int) -> lived.Piece:
        ways = self._ways if isinstance(row, WallExposure) else self._rooms
        way, first = ways.get(thing.carrier, []), hour_of(datetime.combine(row.month, time.min, UTC))
        if not way:
            return lived.Piece()
        # To the hour up to which the row was worked out, so that its hours and its state at the end are of one time.
        end = max(first, way[0].begin) + row.known + row.unknown
        air, limits, whole = self._air(first), limits_of(thing.material), lived.Piece()
        parts = within(way, max(first, begin), min(end, air.end))
        for part in parts:
            whole = whole.then(air.piece(part, limits))
        if isinstance(row, WallExposure):
            row.against = against(air, parts)
        return whole

    def _air(self, first: int) -> MonthAir:
        if first not in self._airs:
            self._airs[first] = MonthAir(first, month_of(first + 32 * 24), self._loggers)
        return self._airs[first]


def _told(row: R, whole: lived.Piece) -> R:
    """The row with what these hours were; the state of the mould at its end is that of all that was before, too."""
    for name in OF_HOURS:
        setattr(row, name, getattr(whole, name))
    row.over_longest, row.over_tail = whole.over_run.longest, whole.over_run.tail
    row.damp_longest, row.damp_tail = whole.damp_run.longest, whole.damp_run.tail
    return row
