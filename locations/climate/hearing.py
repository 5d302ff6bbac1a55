"""Which loggers spoke for each place, hour after hour: by word of somebody, else the nearest up the tree as it was then.

Hours are counted from 1970; an hour belongs to where a thing or logger was as it began.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise
from typing import Final
from uuid import UUID

from django.db.models import Value

from locations.climate import spans
from locations.climate.models import CoverageSpan, LoggerStay, Wall
from locations.places.models import Place, Stay

HOUR: Final = 3600
#: the hour after which nothing ends
NEVER: Final = 10**9
#: numbers of loggers: the first speaks, the next where it is silent
Voice = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Heard:
    """From hour `begin` to before `end` this voice; `colder` K below it lies the wall against which the place stands, 0 where none is told."""

    begin: int
    end: int
    voice: Voice
    colder: float = 0.0

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
            colder = 0.0 if set(voice) <= set(here) else _colder(walls, begin) or (0.0 if _at(told, begin) else _colder(above, begin))
            if found and found[-1].end == begin and (found[-1].voice, found[-1].colder) == (voice, colder):
                found[-1] = replace(found[-1], end=end)
            elif voice:
                found.append(Heard(begin, end, voice, colder))
        return found

    def _above(self, place: UUID) -> Sequence[Heard]:
        parent, mobile = self._places[place]
        if not mobile:
            return self.of(parent) if parent else []
        return [heard for begin, end, where in self._boxes.get(place, []) if where for heard in self.between(where, begin, end)]


def _at(parts: Iterable[Heard], hour: int) -> Voice:
    """The voice at an hour; of several in one place each once, the first number first."""
    return tuple(dict.fromkeys(number for one in parts if one.begin <= hour < one.end for number in one.voice))


def _colder(parts: Iterable[Heard], hour: int) -> float:
    """How much colder the wall is at an hour, K."""
    return next((one.colder for one in parts if one.begin <= hour < one.end), 0.0)


def _clipped(parts: Iterable[Heard], begin: int, end: int) -> list[Heard]:
    return [one.between(begin, end) for one in parts if one.begin < end and one.end > begin]


def walls_told() -> dict[UUID, list[Heard]]:
    """When each place stood against a wall told to be colder, and by how much."""
    facts: dict[UUID, list[Wall]] = defaultdict(list)
    for fact in spans.standing(Wall.objects.all()):
        facts[fact.place_id].append(fact)
    return {
        place: [Heard(hour_of(during.lower), hour_of(during.upper), (), fact.colder) for fact, during in spans.spans(told) if fact.colder]
        for place, told in facts.items()
    }  # fmt: skip
