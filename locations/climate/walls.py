"""Walls colder than the room: which places stand against one, and what the air comes to at it beside the air of the room."""

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Final
from uuid import UUID

import numpy as np
from django.db.models import QuerySet

from locations.climate.actions.walls import LEVELS
from locations.climate.air import Air, at_walls, heard_air
from locations.climate.alarms import MOST_SENSITIVE
from locations.climate.hearing import HOUR, Hearing, Outdoors, hour_of
from locations.climate.models import Logger, Wall
from locations.climate.science.lived import DAMP
from locations.climate.science.mould import MouldState
from locations.climate.science.tables import highest
from locations.climate.science.values import Floats
from locations.climate.spans import standing
from locations.climate.sums import moulds
from locations.places.models import Place
from locations.places.queries import all_below, path_of
from museum import clock

#: days of the record that are compared
DAYS: Final = 365


@dataclass(frozen=True)
class Beside:
    """Hours in which a place stood against a colder wall: the air of its room, and what it comes to at the wall."""

    air: Air

    @cached_property
    def wall(self) -> tuple[Floats, Floats]:
        """t and rh at the wall, NaN where unknown."""
        return at_walls(self.air)

    @cached_property
    def room(self) -> tuple[Floats, Floats]:
        """t and rh of the room in the same hours."""
        unknown = np.isnan(self.wall[1])
        return np.where(unknown, np.nan, self.air.hour_t), np.where(unknown, np.nan, self.air.hour_rh)

    @property
    def known(self) -> int:
        return int((~np.isnan(self.wall[1])).sum())

    @property
    def unknown(self) -> int:
        """Hours of which the air of the room is known and that at the wall is not, since nobody told the air outdoors."""
        return int((self.air.known & np.isnan(self.wall[1])).sum())

    @property
    def warmth(self) -> tuple[float, float]:
        """The wall at its coldest and its warmest, °C; of hours some of which are known."""
        return float(np.nanmin(self.wall[0])), float(np.nanmax(self.wall[0]))

    @property
    def damp(self) -> tuple[int, int]:
        """Hours above 65 %, in the room and at the wall."""
        return int((self.room[1] > DAMP).sum()), int((self.wall[1] > DAMP).sum())

    @property
    def wet(self) -> tuple[int, int]:
        """Hours above 80 %, at which mould on walls begins (ISO 13788)."""
        limit = highest("surface_mould")
        return int((self.room[1] > limit).sum()), int((self.wall[1] > limit).sum())

    @property
    def dew(self) -> int:
        """Hours of dew at the wall."""
        return int((self.wall[1] >= 100).sum())

    @cached_property
    def index(self) -> tuple[MouldState, MouldState]:
        """The mould index of the most sensitive materials, in the room and at the wall, clean at the beginning."""
        return moulds(*self.room, (MOST_SENSITIVE,))[0][1], moulds(*self.wall, (MOST_SENSITIVE,))[0][1]


def beside(place: Place) -> Beside:
    """The hours of the last year in which a place stood against a colder wall."""
    path, end = path_of(place.pk), int(clock.now().timestamp()) // HOUR + 1
    parts = [one for one in Hearing(path, walls=True).between(place.pk, end - 24 * DAYS, end) if one.wall]
    return Beside(heard_air(parts, parts[0].begin if parts else end, end))


def walls_in(place_id: UUID, at: datetime | None = None) -> list[Wall]:
    """What is told of the places in a place, itself too, that stand against a colder wall at an instant, else now; in the order of the walk."""
    return told_of(Wall.objects.filter(place__in=all_below([place_id]), place__closed_on=None), at)


def told_of(facts: QuerySet[Wall], at: datetime | None = None) -> list[Wall]:
    """Of these facts those that count."""
    latest, instant = {}, at or clock.now()
    for fact in standing(facts.select_related("place", "by")):
        if hour_of(fact.happened_at) * HOUR <= instant.timestamp():
            latest[fact.place_id] = fact
    return sorted((fact for fact in latest.values() if fact.stands), key=lambda one: (one.place.path_key, one.place.code))


def outdoors_now(place_id: UUID) -> list[str]:
    """The names of the loggers that tell the air outdoors for a place now, the nearest first."""
    now = int(clock.now().timestamp()) // HOUR
    numbers = next((one.voice for one in Outdoors().of(place_id) if one.begin <= now < one.end), ())
    names = dict(Logger.objects.filter(number__in=numbers).values_list("number", "name"))
    return [names[number] for number in numbers]


def places_in(place_id: UUID) -> list[Place]:
    """The racks, shelves and cases in a place that may stand against a wall."""
    rows = Place.objects.filter(pk__in=all_below([place_id]), mobile=False, closed_on=None, level__in=LEVELS)
    return list(rows.order_by("path_key", "code"))
