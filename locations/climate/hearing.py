"""Which loggers spoke for each place, hour after hour: by word of somebody, else the nearest up the tree as it was then.

Hours are counted from 1970; an hour belongs to where a thing or logger was as it began.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Final
from uuid import UUID

from django.db.models import Value

from locations.climate.models import CoverageSpan, LoggerStay
from locations.places.models import Place, Stay

HOUR: Final = 3600
#: the hour after which nothing ends
NEVER: Final = 10**9
#: numbers of loggers: the first speaks, the next where it is silent
Voice = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Heard:
    """From hour `begin` to before `end` this voice."""

    begin: int
    end: int
    voice: Voice


def hour_of(moment: datetime | None) -> int:
    """The first whole hour from a moment on."""
    return -int(-moment.timestamp() // HOUR) if moment else NEVER


class Hearing:
    """The voices of all places, each worked out once."""

    def __init__(self, path: Sequence[Place] | None = None) -> None:
        """`path`: a fixed place and all above it, where no other is asked for; fixed places never go elsewhere."""
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
    def speaking(self) -> list[UUID]:
        """The places that ever had a voice of their own."""
        return sorted({*self._told, *self._stood})

    def between(self, place: UUID, begin: int, end: int) -> list[Heard]:
        """What a place hears from hour `begin` to before `end`."""
        return _clipped(self.of(place), begin, end)

    def _joined(self, place: UUID, above: Sequence[Heard]) -> list[Heard]:
        told, stood = self._told.get(place, []), self._stood.get(place, [])
        edges = sorted({edge for part in (told, stood, above) for one in part for edge in (one.begin, one.end)})
        found: list[Heard] = []
        for begin, end in pairwise(edges):
            voice = _at(told, begin) or _at(stood, begin) or _at(above, begin)
            if found and found[-1].end == begin and found[-1].voice == voice:
                found[-1] = Heard(found[-1].begin, end, voice)
            elif voice:
                found.append(Heard(begin, end, voice))
        return found

    def _above(self, place: UUID) -> Sequence[Heard]:
        parent, mobile = self._places[place]
        if not mobile:
            return self.of(parent) if parent else []
        return [heard for begin, end, where in self._boxes.get(place, []) if where for heard in self.between(where, begin, end)]


def _at(parts: Iterable[Heard], hour: int) -> Voice:
    """The voice at an hour; of several in one place each once, the first number first."""
    return tuple(dict.fromkeys(number for one in parts if one.begin <= hour < one.end for number in one.voice))


def _clipped(parts: Iterable[Heard], begin: int, end: int) -> list[Heard]:
    return [Heard(max(one.begin, begin), min(one.end, end), one.voice) for one in parts if one.begin < end and one.end > begin]
