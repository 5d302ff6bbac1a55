"""The figures a choice starts from: a room's last days as its loggers or a person read them, the air outdoors, the room's months of a year."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from typing import Final
from uuid import UUID

import numpy as np

from locations.climate import queries
from locations.climate.air import Air as RoomAir
from locations.climate.air import Window, air_of, heard_airs
from locations.climate.hearing import HOUR, Hearing, hour_of
from locations.climate.models import LoggerStay, Spot
from locations.climate.science.damp import Run, longest_run
from locations.climate.science.lived import DAMP
from locations.climate.science.values import NoValue
from locations.climate.sums import firsts
from locations.climate.whatif.choices import Air, MonthOfHeating, heating_by_month, mean_air
from locations.places.models import Place
from locations.places.queries import all_below, path_of
from museum import clock
from museum.errors import NotFound

#: days of the record that speak for how a room is now, and hours of them that must be known
DAYS: Final = 7
LEAST_HOURS: Final = 24
#: a reading by hand speaks for so long; what is older is told to be old
BY_HAND: Final = timedelta(days=14)
#: a reading by hand that came so long after the last of the loggers says more than their days
SILENT: Final = timedelta(days=1)
#: a reading outdoors speaks for now for so long
FRESH: Final = timedelta(hours=3)


@dataclass(frozen=True, slots=True)
class LastDays:
    """What was read of a place last: its mean air, the time it is of, its hours known and unknown, the longest damp run; `hand`: by hand, once."""

    place: Place
    air: Air
    begin: datetime
    end: datetime
    known: int
    unknown: int
    longest: Run | None
    hand: bool = False

    @property
    def old(self) -> bool:
        """Whether it says little about today."""
        return clock.now() - self.end > BY_HAND


def place_for(place_id: UUID) -> Place:
    """An open place. Raises NotFound."""
    found = Place.objects.filter(pk=place_id, closed_on=None).first()
    if found is None:
        raise NotFound
    return found


def last_days(place: Place) -> LastDays | None:
    """The last days on record; where no logger speaks, or has been silent since, the last reading by hand; else none."""
    by_hand, speak = _by_hand(place, _last_spots([place]).get(place.pk)), [one.number for one in queries.speaks_for(place.pk)]
    end = _ends([reading.at for reading in queries.last_readings(speak).values()], by_hand)
    told = _of_air(place, air_of(path_of(place.pk), end - 24 * DAYS, end)) if end else None
    return told or by_hand


def others(place: Place) -> list[LastDays]:
    """The last days of the other rooms, the driest first; as few questions for a hundred rooms as for two."""
    others = [room for room in rooms() if room.pk != place.pk]
    hearing, now, spots = Hearing(), int(clock.now().timestamp()) // HOUR, _last_spots(others)
    by_hand = {room.pk: _by_hand(room, spots.get(room.pk)) for room in others}
    speak = {room.pk: [number for one in hearing.between(room.pk, now, now + 1) for number in one.voice] for room in others}
    last = queries.last_readings(sorted({number for numbers in speak.values() for number in numbers}))
    windows = {}
    for room in others:
        if end := _ends([last[number].at for number in speak[room.pk] if number in last], by_hand[room.pk]):
            windows[room.pk] = Window(hearing.between(room.pk, end - 24 * DAYS, end), end - 24 * DAYS, end)
    airs = heard_airs(windows)
    found = [(_of_air(room, airs[room.pk]) if room.pk in airs else None) or by_hand[room.pk] for room in others]
    return sorted((days for days in found if days is not None), key=lambda days: days.air[1])


def _ends(read: Sequence[datetime], by_hand: LastDays | None) -> int | None:
    """The hour at which the last days of the loggers end; none where they are silent, or a reading by hand says more."""
    return hour_of(max(read)) + 1 if read and (by_hand is None or by_hand.end - max(read) <= SILENT) else None


def _of_air(place: Place, air: RoomAir) -> LastDays | None:
    known = int(air.known.sum())
    if known < LEAST_HOURS:
        return None
    first, last = (datetime.fromtimestamp(hour * HOUR, UTC) for hour in (air.begin, air.end))
    return LastDays(place, mean_air(air.hour_t, air.hour_rh), first, last, known, 24 * DAYS - known, longest_run(air.hour_rh, DAMP))


def _by_hand(place: Place, spot: Spot | None) -> LastDays | None:
    if spot is None or spot.t is None or spot.rh is None or spot.happened_at is None:
        return None
    try:
        air = mean_air(np.array([spot.t]), np.array([spot.rh]))
    except NoValue:
        return None
    return LastDays(place, air, spot.happened_at, spot.happened_at, 1, 0, None, hand=True)


def _last_spots(places: Sequence[Place]) -> dict[UUID, Spot]:
    """The last reading by hand of both figures in each."""
    rows = queries.standing_spots().filter(place__in=places, t__isnull=False, rh__isnull=False)
    return {spot.place_id: spot for spot in rows.order_by("place", "-happened_at").distinct("place")}


def now_in(place: Place) -> tuple[Air, datetime] | None:
    """The last reading of a place that counts and has both figures, by logger or by hand, whichever is later."""
    found = [(one.both, one.at) for one in queries.told_last(queries.speaks_for(place.pk)).values() if one.both]
    if (spot := _last_spots([place]).get(place.pk)) and spot.t is not None and spot.rh is not None and spot.happened_at is not None:
        found.append(((spot.t, spot.rh), spot.happened_at))
    return max(found, key=lambda one: one[1], default=None)


def outdoor_places() -> list[Place]:
    """Where a logger hangs outdoors: places of which it is said that they lie in the open air, or that lie in such."""
    outdoors = list(Place.objects.filter(spot=Place.Spot.OUTDOORS).values_list("pk", flat=True))
    if not outdoors:
        return []
    stays = LoggerStay.objects.filter(during__contains=clock.now(), logger__ended_on=None, place__in=all_below(outdoors))
    return [stay.place for stay in stays.select_related("place").order_by("place__path_key")]


def rooms() -> list[Place]:
    """The rooms to choose from, and other places where a logger stands; not those outdoors."""
    outside = {place.pk for place in outdoor_places()}
    return [room.place for room in queries.rooms() if room.place.pk not in outside]


def heating_of_a_year(place: Place, target: float) -> Sequence[MonthOfHeating]:
    """The last twelve whole months of a room: what heating would have had to do in each."""
    this = clock.today().replace(day=1)
    first = date(this.year - 1, this.month, 1)
    edges = [hour_of(clock.start_of(day)) for day in firsts(first, this - timedelta(days=1))]
    air = air_of(path_of(place.pk), edges[0], edges[-1])
    parts = [slice(low - edges[0], high - edges[0]) for low, high in pairwise(edges)]
    months = [((first.month - 1 + n) % 12 + 1, air.hour_t[part], air.hour_rh[part]) for n, part in enumerate(parts)]
    return heating_by_month([one for one in months if (~np.isnan(one[2])).sum() >= 10 * 24], target)
