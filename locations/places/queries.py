"""Where things are, on any day; what stands near what. Boxes are walked through in the database."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import connection
from django.db.models import Count, Exists, OuterRef, QuerySet
from django.db.models.expressions import RawSQL

from collection.objects.models import Card, Object
from locations.places.models import Movement, Place, Stay
from museum import clock
from museum.people.actor import Actor

#: the fixed place of every component in the set of places named `inside`, through boxes within boxes
_INSIDE = """
WITH RECURSIVE below AS (
    SELECT id FROM places_place WHERE id = ANY(%(places)s)
  UNION
    SELECT within.id FROM below b CROSS JOIN LATERAL (
        SELECT p.id FROM places_place p WHERE p.parent_id = b.id
      UNION ALL
        SELECT s.mobile_id FROM places_stay s WHERE s.place_id = b.id AND s.mobile_id IS NOT NULL AND s.during @> %(at)s
    ) within
)
"""
#: a place and all above it; %(start)s gives the ids to begin with
_UP = """
    SELECT id, parent_id, mobile, 0 AS depth FROM places_place WHERE id IN ({start})
  UNION ALL
    SELECT p.id, p.parent_id, p.mobile, a.depth + 1
      FROM above a
      LEFT JOIN places_stay s ON a.mobile AND s.mobile_id = a.id AND s.during @> %(at)s
      JOIN places_place p ON p.id = COALESCE(a.parent_id, s.place_id)
     WHERE a.depth < 20
"""
_ABOVE = f"WITH RECURSIVE above AS ({_UP.format(start='%(place)s')}) SELECT place.* FROM above JOIN places_place place USING (id) ORDER BY above.depth"
#: the same from where the whole or a part of a thing stays, with what was told of it; one empty place if that is not a place
_STAYS_ABOVE = (
    'WITH RECURSIVE here AS (SELECT s."to", s.place_id FROM places_stay s JOIN objects_component c ON c.id = s.component_id'
    " WHERE {whose} AND s.during @> %(at)s LIMIT 1), "
    f"above AS ({_UP.format(start='SELECT place_id FROM here')})"
    ' SELECT here."to" AS told, place.* FROM here LEFT JOIN above ON true LEFT JOIN places_place place ON place.id = above.id ORDER BY above.depth'
)
_OF_COMPONENT = _STAYS_ABOVE.format(whose="c.id = %(of)s")
_OF_OBJECT = _STAYS_ABOVE.format(whose="c.object_id = %(of)s AND c.sort = 'main'")


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """Where a component is: told how (in a place, on loan, unlocated ...), and the places from the nearest up."""

    to: str
    path: Sequence[Place]

    @property
    def place(self) -> Place | None:
        """The nearest place: a box, a shelf."""
        return self.path[0] if self.path else None

    @property
    def building(self) -> Place | None:
        return self.of_level(Place.Level.BUILDING)

    @property
    def room(self) -> Place | None:
        return self.of_level(Place.Level.ROOM)

    def of_level(self, level: str) -> Place | None:
        """The place of a level above it."""
        return next((place for place in self.path if place.level == level), None)

    @property
    def use(self) -> str:
        """What the place is for: its own use or that of the place above. Away on loan counts as on_loan."""
        if self.to == "on_loan":
            return "on_loan"
        return next((place.use for place in self.path if place.use), "store")


#: nothing was ever told
NOWHERE = Whereabouts("", ())


def where_on(component_id: UUID, at: datetime | None = None) -> Whereabouts:
    """Where a component was at an instant (default now). One query, two in a box that is away."""
    return _told(_OF_COMPONENT, component_id, at)


def _told(walk: str, of: UUID, at: datetime | None) -> Whereabouts:
    instant = at or clock.now()
    rows = list(Place.objects.raw(walk, {"of": of, "at": instant}))
    return _through(vars(rows[0])["told"], [row for row in rows if row.pk], instant) if rows else NOWHERE


def whereabouts(to: str, place_id: UUID | None, at: datetime) -> Whereabouts:
    """The whole of what a stay says: the places from the nearest up; what lies in a box that is away is away with it."""
    return _through(to, path_of(place_id, at) if place_id else [], at)


def _through(to: str, path: Sequence[Place], at: datetime) -> Whereabouts:
    if path and path[-1].mobile:
        stay = Stay.objects.filter(mobile=path[-1], during__contains=at).first()
        to = stay.to if stay else Movement.To.UNLOCATED
    return Whereabouts(to, path)


def where_is(thing: Object | UUID, at: datetime | None = None) -> Whereabouts:
    """Where an object is: where its main component is."""
    return _told(_OF_OBJECT, thing.pk if isinstance(thing, Object) else thing, at)


def lies_outdoors(path: Sequence[Place]) -> bool:
    """Whether a place, by the path to it, is in the open air; what is only outside our care has a roof."""
    return any(place.spot == Place.Spot.OUTDOORS for place in path)


def path_of(place_id: UUID, at: datetime | None = None) -> list[Place]:
    """A place and all above it, through the stays of boxes, nearest first."""
    return list(Place.objects.raw(_ABOVE, {"place": place_id, "at": at or clock.now()}))


def places_below(place_id: UUID, at: datetime | None = None) -> list[UUID]:
    """A place and all below it, boxes that stand there included."""
    with connection.cursor() as cursor:
        cursor.execute(_INSIDE + "SELECT id FROM below", {"places": [place_id], "at": at or clock.now()})
        return [row[0] for row in cursor.fetchall()]


def all_below(place_ids: Sequence[UUID]) -> RawSQL:
    """The same of several, now, to be asked within another question."""
    asked = _INSIDE.replace("%(places)s", "%s").replace("%(at)s", "%s") + "SELECT id FROM below"
    return RawSQL(asked, (list(place_ids), clock.now()))  # noqa: S611 no word of anybody is in it


def objects_below(place_id: UUID, at: datetime | None = None) -> list[UUID]:
    """The objects whose main component stood there or in a box there, in the order of their keys."""
    sql = _INSIDE + (
        "SELECT DISTINCT c.object_id FROM places_stay s JOIN below b ON s.place_id = b.id JOIN objects_component c ON c.id = s.component_id"
        " JOIN objects_object o ON o.id = c.object_id WHERE c.sort = 'main' AND o.withdrawn = '' AND s.during @> %(at)s ORDER BY 1"
    )
    with connection.cursor() as cursor:
        cursor.execute(sql, {"places": [place_id], "at": at or clock.now()})
        return [row[0] for row in cursor.fetchall()]


def things_in_each(actor: Actor) -> Counter[UUID]:
    """How many things this person may see stand in each place, in all below it and in the boxes there."""
    boxes = Stay.objects.filter(mobile__isnull=False, during__contains=clock.now())
    above: dict[UUID, UUID | None] = {**dict(Place.objects.values_list("pk", "parent_id")), **dict(boxes.values_list("mobile_id", "place_id"))}
    found = Counter[UUID]()
    for place, count in Card.objects.visible_to(actor).exclude(place=None).values_list("place").annotate(Count("pk")):
        here: UUID | None = place
        seen = set[UUID]()
        while here and here not in seen:
            found[here] += count
            seen.add(here)
            here = above.get(here)
    return found


def neighbours(object_id: UUID) -> list[UUID]:
    """What stands in the same box or case, else on the same shelf."""
    whereabouts = where_is(object_id)
    near = next((p for p in whereabouts.path if p.level == "box" or p.closed_container), None) or whereabouts.of_level("shelf") or whereabouts.place
    return [key for key in objects_below(near.pk) if key != object_id] if near else []


def room_mates(object_id: UUID) -> list[UUID]:
    """What stands in the same room."""
    room = where_is(object_id).room
    return [key for key in objects_below(room.pk) if key != object_id] if room else []


def without_place(actor: Actor) -> QuerySet[Card]:
    """What this person may see and nobody knows where it is: no place told, or said to be unlocated."""
    told = Stay.objects.filter(component__object=OuterRef("object"), component__sort="main", during__upper_inf=True)
    here = Object.objects.visible_to(actor)
    return Card.objects.filter(~Exists(told.exclude(to=Movement.To.UNLOCATED)), object__in=here).order_by("number_sort", "object")


def moves_of(thing: Object) -> QuerySet[Movement]:
    """All movements of an object's parts that stand as told, newest first; those of boxes it lay in are not its own."""
    rows = Movement.objects.filter(component__object=thing, corrected_by=None, withdraws=False)
    return rows.select_related("component", "place", "by").order_by("-happened_on", "-recorded_at", "-id")


def words_of(where: Whereabouts, *, exact: bool) -> str:
    """The place in words: the whole path, or the building at the most."""
    if where.to != Movement.To.PLACE:
        return str(Movement.To(where.to).label) if where.to else ""
    if not exact:
        return where.building.name if where.building else ""
    return " › ".join(place.name for place in reversed(where.path))


def place_words(actor: Actor, thing: Object, *, on_round: bool = False) -> str:
    """What this person may read of where a thing is: exact for those who look after places and on one's own round; else the building."""
    exact = actor.may("place.see_exact") or (on_round and actor.may("place.see_exact_on_round"))
    if not exact and not actor.may("place.see_building"):
        return ""
    return words_of(where_is(thing), exact=exact)
