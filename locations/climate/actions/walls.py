"""Places that stand against a wall colder than their room: told with the day of the measurement, told anew when it changes, ended when moved off.

A wall is told by one difference for all the year, or by its quality, where a logger outdoors tells what the weather makes of it.
"""

from dataclasses import dataclass
from datetime import date
from typing import Any, Final
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from locations.climate.days import PEOPLE, demand_not_before
from locations.climate.hearing import Outdoors, hour_of
from locations.climate.models import Wall
from locations.climate.science.surfaces import LEAST_APART, thermal_quality
from locations.climate.science.values import NoValue
from locations.climate.sentences import figure
from locations.climate.spans import standing
from locations.places.models import Place
from locations.places.queries import objects_below
from museum import clock
from museum.errors import Invalid, NotFound
from museum.history.record import lock
from museum.people.action import Act, action

#: K: less is what thermometers differ by, more is mistyped or no room
LEAST, MOST = 0.5, 15.0
#: °C: what a thermometer in a house or before its door may read
COLDEST, WARMEST = -40.0, 45.0
#: things named by one entry at the most
MOST_TOLD: Final = 900
#: a place of these stands against a wall; a room has its own logger, a box goes with what it stands in
LEVELS: Final = (Place.Level.UNIT, Place.Level.SHELF, Place.Level.BOX)


@action("climate.tell_wall", may="climate.set_up")
def tell_wall(act: Act, place_id: UUID, *, colder: float, on: date, measured_on: date, reason: str) -> Wall:
    """From a day on a place stands against a wall `colder` K below its room, as a surface thermometer said on `measured_on`. Raises Invalid, NotFound."""
    place = _against(place_id)
    if not LEAST <= colder <= MOST:
        raise Invalid(
            _("A wall is %(least)s to %(most)s °C colder than its room. Hold the thermometer to the wall and then into the air, and take one from the other."),
            field="colder", least=figure(LEAST), most=figure(MOST),
        )  # fmt: skip
    _demand_been(on, "on")
    _demand_been(measured_on, "measured_on")
    return _wrote(act, "place.wall_told", place, on, reason, colder=colder, measured_on=measured_on)


@dataclass(frozen=True, slots=True)
class Readings:
    """Read at one time on a cold day, °C: the air of the room, the inner face of the wall, the air outdoors."""

    room: float
    wall: float
    outdoors: float


@action("climate.tell_wall_by_quality", may="climate.set_up")
def tell_wall_by_quality(act: Act, place_id: UUID, *, readings: Readings, on: date, measured_on: date, reason: str) -> Wall:
    """From a day on a place stands against a wall as cold as its quality and the air outdoors make it, hour by hour; the quality follows from readings
    of `measured_on`. Raises Invalid, NotFound."""
    place = _against(place_id)
    _demand_been(on, "on")
    _demand_been(measured_on, "measured_on")
    quality = _quality(readings)
    since = hour_of(clock.start_of(on))
    if not any(one.end > since for one in Outdoors().of(place.pk)):
        raise Invalid(
            _("No logger has stood outdoors since then, so nobody knows how cold this wall is from hour to hour. Put one there and describe its place as "
              "outdoors; or tell by how many degrees the wall is colder, taken for all the year."),
            field="outdoors",
        )  # fmt: skip
    return _wrote(
        act, "place.wall_told", place, on, reason,
        quality=quality, room_t=readings.room, wall_t=readings.wall, outdoor_t=readings.outdoors, measured_on=measured_on,
    )  # fmt: skip


def _quality(readings: Readings) -> float:
    for field, value in (("room", readings.room), ("wall", readings.wall), ("outdoors", readings.outdoors)):
        if not COLDEST <= value <= WARMEST:
            raise Invalid(
                _("%(value)s °C cannot be. Write what the thermometer showed, from %(low)s to %(high)s °C."),
                field=field, value=figure(value), low=figure(COLDEST), high=figure(WARMEST),
            )  # fmt: skip
    try:
        # What is written down stays between 0 and 1, whatever decimals were read.
        return min(max(round(thermal_quality(readings.room, readings.wall, readings.outdoors), 4), 0.0001), 0.9999)
    except NoValue as none:
        if none.code == "too_alike":
            raise Invalid(
                _("Outdoors it was not %(least)s °C colder than in the room, so these readings do not tell the wall. Read all three again on a cold day."),
                field="outdoors", least=figure(LEAST_APART),
            ) from None  # fmt: skip
        raise Invalid(
            _("The wall was not between the room and outdoors. Hold the thermometer to the wall until it stands still, away from sun, lamps and heaters."),
            field="wall",
        ) from None  # fmt: skip


@action("climate.end_wall", may="climate.set_up")
def end_wall(act: Act, place_id: UUID, *, on: date, reason: str) -> Wall:
    """From a day on it does not stand against the wall any more: moved off, or the wall insulated. Raises Invalid, NotFound."""
    place = _against(place_id)
    _demand_been(on, "on")
    before = [fact for fact in standing(Wall.objects.filter(place=place)) if fact.happened_on <= on]
    if not before or not before[-1].stands:
        raise Invalid(_("Of that day no colder wall is told of this place."), field="on")
    return _wrote(act, "place.wall_ended", place, on, reason)


def _against(place_id: UUID) -> Place:
    lock(f"place:{place_id}")
    place = Place.objects.filter(pk=place_id, closed_on=None).first()
    if place is None:
        raise NotFound
    if place.mobile or place.level not in LEVELS:
        raise Invalid(_("Tell it of a rack, a shelf or a case that stands against the wall. A room is what its logger reads; a box goes with its place."))
    return place


def _demand_been(day: date, field: str) -> None:
    if day > clock.today():
        raise Invalid(_("This lies in the future. Record it when it has happened."), field=field)
    demand_not_before(PEOPLE, day, field)


def _wrote(act: Act, what: str, place: Place, on: date, reason: str, **said: Any) -> Wall:
    if not reason.strip():
        raise Invalid(_("Say how you know."), field="reason")
    fact = Wall.objects.create(
        act_id=act.id, place=place, by_id=act.actor.person, reason=reason.strip(), happened_on=on, happened_at=clock.start_of(on), recorded_at=act.now, **said,
    )  # fmt: skip
    inside = [("object", key) for key in objects_below(place.pk)[:MOST_TOLD]]
    act.wrote(what, fact, after={**said, "from": fact.happened_at}, reason=reason.strip(), about=[place, *inside])
    return fact
