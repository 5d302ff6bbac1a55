"""What stood in the air of a place during a time: by stays, boxes within boxes included, what hears loggers of its own left out."""

from datetime import datetime
from typing import Final
from uuid import UUID

from django.db import connection

from collection.objects.models import Component
from locations.climate.exposure import Thing, things_of
from locations.climate.hearing import Hearing, hour_of

#: a place, and what of the time each place or box below it was there
_THERE: Final = """
WITH RECURSIVE below(id, during) AS (
    SELECT %(place)s::uuid, tstzrange(%(begin)s, %(end)s)
  UNION
    SELECT within.id, within.during FROM below b CROSS JOIN LATERAL (
        SELECT p.id, b.during FROM places_place p WHERE p.parent_id = b.id
      UNION ALL
        SELECT s.mobile_id, s.during * b.during FROM places_stay s WHERE s.place_id = b.id AND s.mobile_id IS NOT NULL AND s.during && b.during
    ) within WHERE within.id <> ALL(%(others)s)
)
SELECT DISTINCT s.component_id FROM below b JOIN places_stay s ON s.place_id = b.id AND s.during && b.during WHERE s.component_id IS NOT NULL
"""


def things_there(place_id: UUID, begin: datetime, end: datetime) -> list[Thing]:
    """Every component of a material that was there at any time from `begin` to before `end`, with those that go with it."""
    with connection.cursor() as cursor:
        cursor.execute(_THERE, {"place": place_id, "begin": begin, "end": end, "others": _apart(place_id, begin, end)})
        there = {key for (key,) in cursor.fetchall()}
    whose = Component.objects.filter(pk__in=there).values("object")
    candidates = list(Component.objects.filter(object__in=whose).values_list("pk", flat=True))
    return [thing for thing in things_of(candidates) if thing.carrier in there]


def _apart(place_id: UUID, begin: datetime, end: datetime) -> list[UUID]:
    """The other places that heard loggers of their own for the whole time: their air is told by their own alarms."""
    hearing, first, last = Hearing(), hour_of(begin), hour_of(end)
    return [key for key in hearing.speaking if key != place_id and hearing.apart(key, first, last)]
