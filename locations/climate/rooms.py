"""A room's climate as its page, its table and its answer to programs tell it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cached_property
from typing import Any, Final
from uuid import UUID

import numpy as np
from django.db import connection

from conservation.rules.placing import shipped_bands
from locations.climate import sums
from locations.climate.air import Air, air_of
from locations.climate.alarm_lines import PlaceAlarms, alarms_of_place
from locations.climate.dials import Dials, dials_among, spots_of
from locations.climate.exposure import moment_of
from locations.climate.hearing import HOUR, Heard, hour_of
from locations.climate.models import ClimateAlarm, Logger, LoggerStay, Spot
from locations.climate.science.mould import MouldState
from locations.places.models import Place
from locations.places.queries import path_of
from museum import clock
from museum.errors import NotFound

#: what may be shown at once, in days
SPANS: Final = {"ten": 3653, "year": 365, "month": 31, "week": 7, "day": 1}
_MATERIALS: Final = """
WITH RECURSIVE below AS (
    SELECT id FROM places_place WHERE id = %(place)s
  UNION
    SELECT within.id FROM below b CROSS JOIN LATERAL (
        SELECT p.id FROM places_place p WHERE p.parent_id = b.id
      UNION ALL
        SELECT s.mobile_id FROM places_stay s WHERE s.place_id = b.id AND s.mobile_id IS NOT NULL AND s.during @> %(now)s) within
)
SELECT DISTINCT m.code FROM places_stay s JOIN below b ON s.place_id = b.id JOIN objects_component c ON c.id = s.component_id
  JOIN objects_madeof o ON o.component_id = c.id JOIN objects_material m ON m.id = o.material_id
 WHERE s.during @> %(now)s AND NOT o.withdraws AND NOT EXISTS (SELECT 1 FROM objects_madeof newer WHERE newer.corrects_id = o.id)
"""


@dataclass(frozen=True, slots=True)
class Span:
    """The days shown: a name of SPANS, the last day."""

    name: str
    last: date

    @property
    def first(self) -> date:
        return self.last - timedelta(days=SPANS[self.name] - 1)

    @property
    def begin(self) -> datetime:
        return clock.start_of(self.first)

    @property
    def end(self) -> datetime:
        return clock.start_of(self.last + timedelta(days=1))

    @property
    def earlier(self) -> date:
        return self.last - timedelta(days=SPANS[self.name])

    @property
    def later(self) -> date | None:
        """The last day of the span after it; none in the future."""
        return min(self.last + timedelta(days=SPANS[self.name]), clock.today()) if self.last < clock.today() else None


def span_of(name: str | None, last: date | None) -> Span:
    """The span asked for, else the year that ends today; never in the future, never before the year 2000."""
    today = clock.today()
    day = min(max(last or today, date(2000, 1, 1)), today)
    return Span(name if name in SPANS else "year", day)


@dataclass(frozen=True, slots=True)
class Reader:
    """A logger that told of the air of a place: since an hour of the days shown (None: all the while before), until one (None: still)."""

    logger: Logger
    since: datetime | None
    until: datetime | None


def _reader(logger: Logger, parts: Sequence[Heard], air: Air) -> Reader:
    first, last = min(part.begin for part in parts), max(part.end for part in parts)
    return Reader(logger, moment_of(first) if first > air.begin else None, moment_of(last) if last < air.end else None)


@dataclass(frozen=True)
class RoomClimate:
    """A place, the days shown and the air of them up to now."""

    place: Place
    path: Sequence[Place]
    span: Span
    air: Air

    @cached_property
    def whole(self) -> sums.Sum:
        return sums.summed(self.span.first, self.air.hour_t, self.air.hour_rh)

    @cached_property
    def months(self) -> list[sums.Sum]:
        edges = [(day, _hour(day)) for day in sums.firsts(self.span.first, self.span.last)]
        return sums.by_month(edges, self.air.begin, self.air.hour_t, self.air.hour_rh)

    @cached_property
    def days(self) -> list[sums.DaySum]:
        """The days shown, of more than a year the last one."""
        first = max(self.span.first, self.span.last - timedelta(days=364))
        edges = [(first + timedelta(days=n), _hour(first + timedelta(days=n))) for n in range((self.span.last - first).days + 2)]
        return sums.by_day(edges, self.air.begin, self.air.hour_rh)

    @property
    def damp_days(self) -> int:
        """How many of those days had an hour above the damp limit."""
        return sum(1 for day in self.days if day.damp)

    @cached_property
    def spots(self) -> list[Spot]:
        """All that was read by hand in the days shown: the dial, light, litres, insects; oldest first."""
        return spots_of(self.place.pk, self.span.begin, self.span.end)

    @property
    def dials(self) -> Dials:
        """Temperatures and humidities among them."""
        return dials_among(self.spots)

    @property
    def readers(self) -> list[Reader]:
        """Who told of the air in the days shown, and for which of them; who speaks now first."""
        found = [_reader(one, [part for part in self.air.parts if one.number in part.voice], self.air) for one in self.air.loggers]
        return sorted(found, key=lambda one: one.until or datetime.max.replace(tzinfo=UTC), reverse=True)

    @cached_property
    def alarms(self) -> PlaceAlarms:
        """All there ever were."""
        return alarms_of_place(self.path)

    @property
    def shown_alarms(self) -> list[ClimateAlarm]:
        """Those of the days shown."""
        return self.alarms.within(self.span.begin, self.span.end)

    @cached_property
    def moulds(self) -> list[tuple[str, MouldState]]:
        return sums.moulds(self.air.hour_t, self.air.hour_rh)

    @cached_property
    def last(self) -> dict[str, Any] | None:
        """The last reading of the days shown that has a humidity."""
        known = np.flatnonzero(~np.isnan(self.air.rh))
        if not len(known):
            return None
        i = known[-1]
        t = float(self.air.t[i])
        return {"at": datetime.fromtimestamp(int(self.air.at[i]), clock.zone()), "t": None if np.isnan(t) else t, "rh": float(self.air.rh[i])}


def room_climate(place_id: UUID, span: Span) -> RoomClimate:
    """Raises NotFound for a place that is no room and where no logger ever stood."""
    path = path_of(place_id)
    if not path or (path[0].level != Place.Level.ROOM and not LoggerStay.objects.filter(place=place_id).exists()):
        raise NotFound
    begin, end = hour_of(span.begin), min(hour_of(span.end), int(clock.now().timestamp()) // HOUR + 1)
    return RoomClimate(path[0], path, span, air_of(path, begin, end))


@dataclass(frozen=True, slots=True)
class Shared:
    """The band of humidity that the materials of what stands here now share; low above high where they share none; None where none is known."""

    band: tuple[float, float] | None

    @property
    def conflict(self) -> bool:
        return self.band is not None and self.band[0] > self.band[1]

    @property
    def drawn(self) -> tuple[float, float] | None:
        return None if self.conflict else self.band


def shared_band(place_id: UUID) -> Shared:
    """By the shipped bands of the materials of all that stands in a place, boxes looked into."""
    with connection.cursor() as cursor:
        cursor.execute(_MATERIALS, {"place": place_id, "now": clock.now()})
        here = {code for (code,) in cursor.fetchall()}
    bands = [one for one in shipped_bands() if here & set(one.materials) and not one.terms and not one.active]
    lows, highs = [one.low for one in bands if one.low is not None], [one.high for one in bands if one.high is not None]
    return Shared((max(lows), min(highs)) if lows and highs else None)


def _hour(day: date) -> int:
    return hour_of(clock.start_of(day))
