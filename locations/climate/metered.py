"""Light by a meter and the hours that somebody states a house is open: an estimate of a thing's dose, beside what loggers measured and never in it.

By the reference's rule for spot readings: of a day with several readings the trapezium, of each season its own readings, the days of the season that the
thing stood there. Outside the open hours it counts as dark, which it is only where blinds are drawn. A season without a reading is not known.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby
from typing import Final
from uuid import UUID

import numpy as np

from collection.objects.models import Component, Object
from locations.climate.models import Spot
from locations.climate.queries import standing_spots
from locations.climate.science.light import dose, spot_dose
from locations.places.models import Movement, Place, Stay
from locations.places.queries import path_of
from museum import clock

YEAR: Final = 365
#: a reading speaks for its season of a year, and a month more for those that are read once a year
SPEAKS: Final = timedelta(days=400)
#: the society's hours a day where nobody states others (ours)
A_DAY: Final = 8


@dataclass(frozen=True, slots=True)
class Metered:
    """lx h of days of the last 365 by `readings` of a meter, at `weekly` open hours a week; of `unknown` days nobody read the season's light."""

    by_day: Mapping[date, float]
    unknown: int
    readings: int
    weekly: float

    @property
    def dose(self) -> float:
        return sum(self.by_day.values())

    @property
    def days(self) -> int:
        return len(self.by_day)


def metered(thing: Object, weekly: float, measured: frozenset[date] = frozenset()) -> Metered | None:
    """Of a thing at so many open hours a week (1..168), without the days of which a logger measured the light; None where nobody read any where it stood."""
    return metered_of({thing.pk: measured}, weekly).get(thing.pk)


def metered_of(measured: Mapping[UUID, frozenset[date]], weekly: float) -> dict[UUID, Metered]:
    """The same of several by their keys, each with the days of which a logger measured its light; without those where nobody read any."""
    where = {key: dict(_where(stays)) for key, stays in _stays(measured).items()}
    light = _Seasons({place for days in where.values() for place in days.values()})
    found = {key: _of_thing(days, light, measured[key], weekly) for key, days in where.items()}
    return {key: one for key, one in found.items() if one.by_day}


def _of_thing(where: Mapping[date, UUID], light: "_Seasons", measured: frozenset[date], weekly: float) -> Metered:
    by_day, unknown = dict[date, float](), 0
    for day, place in where.items():
        if day in measured:
            continue
        lux = light.of(place, day)
        if lux is None:
            unknown += 1
        else:
            by_day[day] = float(dose(lux, weekly / 7))
    return Metered(by_day, unknown, light.readings(set(where.values())), weekly)


def _stays(things: Iterable[UUID]) -> dict[UUID, list[Stay]]:
    """Where the main part of each stood, in order."""
    mains = dict(Component.objects.filter(object__in=list(things), sort=Component.Sort.MAIN).values_list("pk", "object"))
    found = defaultdict[UUID, list[Stay]](list)
    for stay in Stay.objects.filter(component__in=list(mains), to=Movement.To.PLACE).exclude(place=None).order_by("during"):
        if stay.component_id:
            found[mains[stay.component_id]].append(stay)
    return found


def _where(stays: Sequence[Stay]) -> Iterator[tuple[date, UUID]]:
    """The place of a thing on each of the last 365 days, as the day began."""
    end = clock.today()
    for n in range(YEAR, 0, -1):
        day = end - timedelta(days=n)
        at = clock.start_of(day)
        place = next((stay.place_id for stay in stays if stay.during.lower <= at and (stay.during.upper is None or stay.during.upper > at)), None)
        if place is not None:
            yield day, place


class _Seasons:
    """Light of places by their season, lx while the house is open: of the nearest place up the tree where it was read; a building is too large for one."""

    def __init__(self, places: set[UUID]) -> None:
        self._paths = {key: [place.pk for place in path_of(key) if place.level != Place.Level.BUILDING] for key in places}
        near = {key for path in self._paths.values() for key in path}
        rows = standing_spots().filter(place__in=near, happened_at__gt=clock.now() - SPEAKS).exclude(lux=None).order_by("happened_at")
        days = defaultdict[tuple[UUID, int], list[float]](list)
        self._readings = Counter[UUID]()
        for (place, day), found in groupby(sorted(rows, key=lambda row: (str(row.place_id), row.happened_at)), key=lambda row: (row.place_id, row.happened_on)):
            read = list(found)
            days[place, _season(day)].append(_of_day(read))
            self._readings[place] += len(read)
        self._lux = {key: sum(values) / len(values) for key, values in days.items()}

    def of(self, place: UUID, day: date) -> float | None:
        return next((self._lux[key, _season(day)] for key in self._paths[place] if (key, _season(day)) in self._lux), None)

    def readings(self, places: set[UUID]) -> int:
        """How many were read at places, or where they stand."""
        return sum(self._readings[key] for key in {key for place in places for key in self._paths[place]})


def _of_day(read: Sequence[Spot]) -> float:
    """Of readings far apart or alone their mean; else the dose of the hours between them over those hours."""
    lux = np.array([spot.lux for spot in read], dtype=np.float64)
    hours = np.array([_hour(spot.happened_at) for spot in read if spot.happened_at])
    if len(hours) == len(lux) > 1 and (np.diff(hours) > 0).all():
        told = spot_dose(hours, lux)
        if told.covered:
            return told.dose / told.covered
    return float(lux.mean())


def _hour(at: datetime) -> float:
    local = at.astimezone(clock.zone())
    return local.hour + local.minute / 60


def _season(day: date) -> int:
    """Winter (December to February) 0, and on."""
    return day.month % 12 // 3
