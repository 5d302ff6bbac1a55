"""Which loggers spoke for each place, hour after hour: by word of somebody, else the nearest up the tree as it was then.

Hours are counted from 1970; an hour belongs to where a thing or logger was as it began.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise
from typing import Final
from uuid import UUID

from django.db.backends.postgresql.psycopg_any import DateTimeTZRange
from django.db.models import QuerySet, Value

from locations.climate import spans
from locations.climate.models import CoverageSpan, LoggerStay, Wall
from locations.places.models import Place, Stay
from locations.places.queries import all_below

HOUR: Final = 3600
#: the hour after which nothing ends
NEVER: Final = 10**9
#: numbers of loggers: the first speaks, the next where it is silent
Voice = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class ColdWall:
    """A wall `colder` K below its room all the year; or of a thermal `quality`, then with who tells the air outdoors: nobody, and it is not known."""

    colder: float = 0.0
    quality: float = 0.0
    outdoors: Voice = ()


@dataclass(frozen=True, slots=True)
class Heard:
    """From hour `begin` to before `end` this voice; `wall`: the one that the place stands against, none where none is told."""

    begin: int
    end: int
    voice: Voice
    wall: ColdWall | None = None

    @property
    def asked(self) -> set[int]:
        """The numbers of all loggers that its air is made of."""
        return {*self.voice, *(self.wall.outdoors if self.wall else ())}

    def between(self, begin: int, end: int) -> "Heard":
        """The part from hour `begin` to before `end`."""
        return replace(self, begin=max(self.begin, begin), end=min(self.end, end))


def hour_of(moment: datetime | None) -> int:
    """The first whole hour from a moment on."""
    return -int(-moment.timestamp() // HOUR) if moment else NEVER


class Hearing:
    """The voices of all places, each worked out once."""

    def __init__(self, path: Sequence[Place] | None = None, *, walls: bool = False) -> None:
        """`path`: a fixed place and all above it, where no other is asked for; fixed places never go elsewhere. `walls`: with what is told of them."""
        only = {"place__in": [place.pk for place in path]} if path is not None else {}
        rows = Place.objects.values_list("pk", "parent_id", "mobile") if path is None else [(place.pk, place.parent_id, place.mobile) for place in path]
        self._places = {pk: (parent, mobile) for pk, parent, mobile in rows}
        self._told: dict[UUID, list[Heard]] = defaultdict(list)
        self._stood: dict[UUID, list[Heard]] = defaultdict(list)
        self._boxes: dict[UUID, list[tuple[int, int, UUID | None]]] = defaultdict(list)
        self._found: dict[UUID, list[Heard]] = {}
        told = CoverageSpan.objects.filter(**only).annotate(by_word=Value(True)).values_list("place_id", "logger__number", "during", "by_word")
        stood = LoggerStay.objects.filter(**only).annotate(by_word=Value(False)).values_list("place_id", "logger__number", "during", "by_word")
        for place, number, during, by_word in sorted(told.union(stood, all=True), key=lambda row: (row[1], row[2].lower)):
            (self._told if by_word else self._stood)[place].append(Heard(hour_of(during.lower), hour_of(during.upper), (number,)))
        self._walls = walls_told() if walls else {}
        boxes = Stay.objects.filter(mobile__isnull=False) if path is None else Stay.objects.none()
        for box, place, during in boxes.order_by("during").values_list("mobile_id", "place_id", "during"):
            self._boxes[box].append((hour_of(during.lower), hour_of(during.upper), place))

    def of(self, place: UUID) -> Sequence[Heard]:
        """What a place hears, in order; hours in none of these nobody speaks for."""
        if place not in self._found:
            self._found[place] = []  # a box told to lie in itself hears nothing
            self._found[place] = self._joined(place, self._above(place))
        return self._found[place]

    def own(self, place: UUID) -> list[Heard]:
        """What a place hears by word of somebody or by loggers in it, nothing from above."""
        return self._joined(place, ())

    def apart(self, place: UUID, begin: int, end: int) -> bool:
        """Whether a place heard voices of its own all the time from hour `begin` to before `end`: what is said of those above is not of its air."""
        return sum(max(0, min(one.end, end) - max(one.begin, begin)) for one in self.own(place)) == end - begin

    @property
    def walled(self) -> list[UUID]:
        """The places of which it was ever told that they stand against a colder wall."""
        return sorted(self._walls)

    @property
    def speaking(self) -> list[UUID]:
        """The places that ever had a voice of their own."""
        return sorted({*self._told, *self._stood})

    def between(self, place: UUID, begin: int, end: int) -> list[Heard]:
        """What a place hears from hour `begin` to before `end`."""
        return _clipped(self.of(place), begin, end)

    def _joined(self, place: UUID, above: Sequence[Heard]) -> list[Heard]:
        told, stood, walls = self._told.get(place, []), self._stood.get(place, []), self._walls.get(place, [])
        edges = sorted({edge for part in (told, stood, above, walls) for one in part for edge in (one.begin, one.end)})
        found: list[Heard] = []
        for begin, end in pairwise(edges):
            here = _at(stood, begin)
            voice = _at(told, begin) or here or _at(above, begin)
            # A logger that hangs in the place itself reads the air at the wall already.
            wall = None if set(voice) <= set(here) else _wall(walls, begin) or (None if _at(told, begin) else _wall(above, begin))
            if found and found[-1].end == begin and (found[-1].voice, found[-1].wall) == (voice, wall):
                found[-1] = replace(found[-1], end=end)
            elif voice:
                found.append(Heard(begin, end, voice, wall))
        return found

    def _above(self, place: UUID) -> Sequence[Heard]:
        parent, mobile = self._places[place]
        if not mobile:
            return self.of(parent) if parent else []
        return [heard for begin, end, where in self._boxes.get(place, []) if where for heard in self.between(where, begin, end)]


def _at(parts: Iterable[Heard], hour: int) -> Voice:
    """The voice at an hour; of several in one place each once, the first number first."""
    return tuple(dict.fromkeys(number for one in parts if one.begin <= hour < one.end for number in one.voice))


def _wall(parts: Iterable[Heard], hour: int) -> ColdWall | None:
    return next((one.wall for one in parts if one.begin <= hour < one.end), None)


def _clipped(parts: Iterable[Heard], begin: int, end: int) -> list[Heard]:
    return [one.between(begin, end) for one in parts if one.begin < end and one.end > begin]


def open_air() -> QuerySet[Place, UUID]:
    """The keys of the places that lie outdoors, by what is said of them or of what they lie in."""
    said = list(Place.objects.filter(spot=Place.Spot.OUTDOORS).values_list("pk", flat=True))
    return (Place.objects.filter(pk__in=all_below(said)) if said else Place.objects.none()).values_list("pk", flat=True)


class Outdoors:
    """The loggers in the open air, as places are described now: of several the nearest to a place up the tree tells, the next where it is silent."""

    def __init__(self) -> None:
        # A box with a logger in it was elsewhere before.
        stays = LoggerStay.objects.filter(place__in=open_air(), place__mobile=False).select_related("logger")
        self._stood = [(stay.place_id, Heard(hour_of(stay.during.lower), hour_of(stay.during.upper), (stay.logger.number,))) for stay in stays]
        self._parents = dict(Place.objects.filter(mobile=False).values_list("pk", "parent_id")) if self._stood else {}

    def of(self, place: UUID) -> list[Heard]:
        """Who tells the air outdoors for a fixed place, in order; hours in none of these nobody does."""
        above = set(self._up(place))
        near = sorted(self._stood, key=lambda one: (-len(above & set(self._up(one[0]))), one[1].voice))
        parts = [heard for _, heard in near]
        edges = sorted({edge for one in parts for edge in (one.begin, one.end)})
        return [Heard(begin, end, voice) for begin, end in pairwise(edges) if (voice := _at(parts, begin))]

    def _up(self, place: UUID | None) -> Iterator[UUID]:
        while place is not None:
            yield place
            place = self._parents.get(place)


def walls_told() -> dict[UUID, list[Heard]]:
    """When each place stood against a wall told to be colder, and against which."""
    facts: dict[UUID, list[Wall]] = defaultdict(list)
    for fact in spans.standing(Wall.objects.all()):
        facts[fact.place_id].append(fact)
    outdoors = Outdoors() if any(fact.quality for told in facts.values() for fact in told) else None
    return {place: [part for fact, during in spans.spans(told) for part in _stood_against(fact, during, outdoors)] for place, told in facts.items()}


def _stood_against(fact: Wall, during: DateTimeTZRange, outdoors: Outdoors | None) -> Iterator[Heard]:
    begin, end = hour_of(during.lower), hour_of(during.upper)
    if fact.colder:
        yield Heard(begin, end, (), ColdWall(colder=fact.colder))
    if fact.quality and outdoors is not None:
        for part in without_holes(_clipped(outdoors.of(fact.place_id), begin, end), begin, end):
            yield Heard(part.begin, part.end, (), ColdWall(quality=fact.quality, outdoors=part.voice))


def without_holes(parts: Iterable[Heard], begin: int, end: int) -> Iterator[Heard]:
    """From hour `begin` to before `end` without holes: an empty voice where nobody speaks."""
    for part in parts:
        if begin < part.begin:
            yield Heard(begin, part.begin, ())
        yield part
        begin = part.end
    if begin < end:
        yield Heard(begin, end, ())
