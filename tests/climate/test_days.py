"""How far back what is told of the climate may lie: a mistyped year is refused in plain words, nothing is stored, and no day of an address breaks a page."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.test import Client

from conservation.checks.actions.events import report_event
from locations.climate.actions import loggers, walls
from locations.climate.actions.spots import SpotEntry, read_by_hand
from locations.climate.models import Calibration, Coverage, Logger, Placement, Spot, Verdict, Wall
from locations.places.models import Place
from museum import clock
from museum.errors import Invalid
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from museum.people.models import Person
from tests import stock
from tests.climate.test_exposure import logger_at

pytestmark = pytest.mark.django_db
#: days on which no logger can have been; the first ones of the calendar too, which no clock of another zone can tell
BEFORE = [date(1989, 12, 31), date(1900, 1, 1), date(1, 1, 1)]
FIRST = date(1990, 1, 1)
#: whose facts are counted
FACTS = (Placement, Calibration, Coverage, Verdict, Wall, Spot)


@pytest.fixture
def room() -> Place:
    return stock.shelf()[1]


def of_a_logger(it: Logger, place: Place, day: date) -> dict[str, Callable[[], Any]]:
    """All that is told of a logger with a day."""
    at = datetime(day.year, day.month, day.day, 12, tzinfo=clock.zone())
    told = {"name": it.name, "serial": "", "clock_kind": "", "zone": "", "interval": 3600, "silent_after": 35}
    placement = Placement.objects.get(logger=it, corrected_by=None)
    return {
        "made": lambda: loggers.make_logger(PROGRAM, logger_id=uuid7(), name="T-new", battery_on=day),
        "battery": lambda: loggers.change_logger(PROGRAM, it.pk, version=it.version, battery_on=day, **told),
        "ended": lambda: loggers.change_logger(PROGRAM, it.pk, version=it.version, battery_on=None, ended_on=day, **told),
        "placed": lambda: loggers.place_logger(PROGRAM, it.pk, place_id=place.pk, at=at),
        "corrected": lambda: loggers.correct_placement(PROGRAM, placement.pk, place_id=place.pk, at=at, reason="mistyped"),
        "checked": lambda: loggers.calibrate(PROGRAM, it.pk, points=[(75, 75.3)], at=at),
        "speaks": lambda: loggers.cover(PROGRAM, place.pk, logger_id=it.pk, at=at),
        "judged": lambda: loggers.judge_readings(PROGRAM, it.pk, begin=at, end=clock.now(), says="good", reason="looked"),
    }  # fmt: skip


@pytest.mark.parametrize("day", BEFORE)
def test_before_there_were_loggers_nothing_is_told_of_one(room: Place, day: date) -> None:
    it = logger_at(room, "T-1")
    before = [kind._default_manager.count() for kind in FACTS]
    for what, tell in of_a_logger(it, room, day).items():
        with pytest.raises(Invalid) as refused:
            tell()
        assert refused.value.sentence == "This lies before 1990, and no logger is that old. Look at the year again.", what
    assert [kind._default_manager.count() for kind in FACTS] == before
    assert Logger.objects.count() == 1


@pytest.mark.parametrize("what", ["made", "battery", "ended", "placed", "checked", "speaks", "judged"])
def test_the_first_day_that_may_be_is_taken(room: Place, what: str) -> None:
    of_a_logger(logger_at(room, "T-1"), room, FIRST)[what]()


@pytest.mark.parametrize("day", [date(1949, 12, 31), date(1, 1, 1)])
def test_what_people_read_or_saw_is_not_from_before_1950(day: date) -> None:
    _hall, store, shelf = stock.shelf()
    at = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
    readings = walls.Readings(18, 14, 2)
    tellings: list[Callable[[], Any]] = [
        lambda: read_by_hand(PROGRAM, [SpotEntry(uuid7(), store.pk, rh=60)], at=at),
        lambda: read_by_hand(PROGRAM, [SpotEntry(uuid7(), store.pk, litres=2)], at=at),
        lambda: walls.tell_wall(PROGRAM, shelf.pk, colder=3, on=day, measured_on=clock.today(), reason="held to it"),
        lambda: walls.tell_wall(PROGRAM, shelf.pk, colder=3, on=clock.today(), measured_on=day, reason="held to it"),
        lambda: walls.tell_wall_by_quality(PROGRAM, shelf.pk, readings=readings, on=day, measured_on=day, reason="held to it"),
        lambda: walls.end_wall(PROGRAM, shelf.pk, on=day, reason="moved off"),
        lambda: report_event(PROGRAM, kind="leak", happened_on=day, place_id=store.pk),
    ]
    for tell in tellings:
        with pytest.raises(Invalid) as refused:
            tell()
        assert refused.value.sentence == "This lies before 1950. Look at the year again."
    assert not Spot.objects.exists()
    assert not Wall.objects.exists()


def test_a_battery_of_1900_stays_in_the_form_with_the_reason_above(room: Place, curator: Person, as_person: Callable[[Person], Client]) -> None:
    it = logger_at(room, "T-1")
    form = {"name": "T-1", "minutes": "60", "silent_after": "35", "battery_on": "1900-01-01", "version": str(it.version), "key": str(uuid7())}
    answer = as_person(curator).post(f"/climate/loggers/{it.pk}/change/", form)
    said = answer.content.decode()
    assert "This lies before 1990, and no logger is that old. Look at the year again." in said
    assert 'value="1900-01-01"' in said
    answer = as_person(curator).post(
        f"/api/climate/loggers/{it.pk}/place/", {"id": str(uuid7()), "place": str(room.pk), "at": "1900-01-01T00:00:00Z"}, content_type="application/json",
    )  # fmt: skip
    assert (answer.status_code, answer.json()["detail"]) == (400, "This lies before 1990, and no logger is that old. Look at the year again.")
    it.refresh_from_db()
    assert it.battery_on is None


@pytest.mark.parametrize("days", ["from=0001-01-01&to=0001-01-02", "from=0001-01-01", "to=9999-12-31", "from=9999-12-31&to=9999-12-31", "to=0001-01-01"])
def test_days_of_an_address_at_either_end_of_the_calendar_break_no_table(
    room: Place, curator: Person, as_person: Callable[[Person], Client], days: str
) -> None:
    it, client = logger_at(room, "T-1"), as_person(curator)
    for path in (f"/climate/loggers/{it.pk}/readings/", f"/climate/loggers/{it.pk}/readings.csv"):
        assert client.get(f"{path}?{days}").status_code == 200, path


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_nor_any_other_page_or_door(room: Place, curator: Person, as_person: Callable[[Person], Client], day: str) -> None:
    thing, client = stock.helmet("1974.1.1", materials=("felt",)), as_person(curator)
    logger_at(room, "T-1")
    stock_day = clock.now() - timedelta(days=3)
    read_by_hand(PROGRAM, [SpotEntry(uuid7(), room.pk, rh=60)], at=stock_day)
    for path in (
        f"/climate/rooms/{room.pk}/?span=ten&on={day}", f"/climate/rooms/{room.pk}/?span=day&on={day}", f"/climate/rooms/{room.pk}/climate.csv?on={day}",
        f"/climate/things/{thing.pk}/?since={day}",
        f"/climate/things/{thing.pk}/climate.csv?since={day}", f"/api/climate/rooms/{room.pk}/?on={day}", f"/api/climate/things/{thing.pk}/?since={day}",
    ):  # fmt: skip
        assert client.get(path).status_code < 500, path
