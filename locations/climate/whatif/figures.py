"""The figures a choice starts from: a room's last days as its loggers or a person read them, the air outdoors, the room's months of a year."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from typing import Final
from uuid import UUID

import numpy as np

from locations.climate import queries
from locations.climate.air import air_of
from locations.climate.hearing import HOUR, hour_of
from locations.climate.models import LoggerStay, Spot
from locations.climate.science.damp import Run, longest_run
from locations.climate.science.lived import DAMP
from locations.climate.science.values import NoValue
from locations.climate.sums import firsts
from locations.climate.whatif.choices import Air, MonthOfHeating, heating_by_month, mean_air
from locations.places.models import Place
from locations.places.queries import lies_outdoors, path_of
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


def last_days(place: Place, days: int = DAYS) -> LastDays | None:
    """The last days on record; where no logger speaks, or has been silent since, the last reading by hand; else none."""
    path, by_hand = path_of(place.pk), _by_hand(place)
    ends = [reading.at for reading in queries.last_readings([one.number for one in queries.speaks_for(place.pk)]).values()]
    if ends and (by_hand is None or by_hand.end - max(ends) <= SILENT):
        end = hour_of(max(ends)) + 1
        air = air_of(path, end - 24 * days, end)
        known = int(air.known.sum())
        if known >= LEAST_HOURS:
            first, last = (datetime.fromtimestamp(hour * HOUR, UTC) for hour in (air.begin, air.end))
            return LastDays(place, mean_air(air.hour_t, air.hour_rh), first, last, known, 24 * days - known, longest_run(air.hour_rh, DAMP))
    return by_hand


def _by_hand(place: Place) -> LastDays | None:
    spot = _last_spot(place)
    if spot is None or spot.t is None or spot.rh is None or spot.happened_at is None:
        return None
    try:
        air = mean_air(np.array([spot.t]), np.array([spot.rh]))
    except NoValue:
        return None
    return LastDays(place, air, spot.happened_at, spot.happened_at, 1, 0, None, hand=True)


def _last_spot(place: Place) -> Spot | None:
    found: Spot | None = queries.standing_spots().filter(place=place, t__isnull=False, rh__isnull=False).order_by("-happened_at").first()
    return found


def now_in(place: Place) -> tuple[Air, datetime] | None:
    """The last reading of a place that counts and has both figures, by logger or by hand, whichever is later."""
    found = [((one.t, one.rh), one.at) for one in queries.told_last(queries.speaks_for(place.pk))]
    if (spot := _last_spot(place)) and spot.t is not None and spot.rh is not None and spot.happened_at is not None:
        found.append(((spot.t, spot.rh), spot.happened_at))
    return max(found, key=lambda one: one[1], default=None)


def outdoor_places() -> list[Place]:
    """Where a logger hangs outdoors: places of which it is said that they lie in the open air."""
    stays = LoggerStay.objects.filter(during__contains=clock.now(), logger__ended_on=None).select_related("place").order_by("place__path_key")
    return [stay.place for stay in stays if lies_outdoors(path_of(stay.place_id))]


def rooms() -> list[Place]:
    """The rooms to choose from, and other places where a logger stands; not those outdoors."""
    outside = {place.pk for place in outdoor_places()}
    return [room.place for room in queries.rooms() if room.place.pk not in outside]


def others(place: Place) -> list[LastDays]:
    """The last days of the other rooms, the driest first."""
    found = [days for room in rooms() if room.pk != place.pk and (days := last_days(room)) is not None]
    return sorted(found, key=lambda days: days.air[1])


def heating_of_a_year(place: Place, target: float) -> Sequence[MonthOfHeating]:
    """The last twelve whole months of a room: what heating would have had to do in each."""
    this = clock.today().replace(day=1)
    first = date(this.year - 1, this.month, 1)
    edges = [hour_of(clock.start_of(day)) for day in firsts(first, this - timedelta(days=1))]
    air = air_of(path_of(place.pk), edges[0], edges[-1])
    parts = [slice(low - edges[0], high - edges[0]) for low, high in pairwise(edges)]
    months = [((first.month - 1 + n) % 12 + 1, air.hour_t[part], air.hour_rh[part]) for n, part in enumerate(parts)]
    return heating_by_month([one for one in months if (~np.isnan(one[2])).sum() >= 10 * 24], target)
