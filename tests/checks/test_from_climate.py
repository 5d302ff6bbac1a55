"""A damp room becomes looks at what stood in it: journey 7, and what must not be asked for."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from collection.objects.models import Object
from conservation.checks import from_climate
from conservation.checks.actions.record import record_check
from conservation.checks.models import Call, Due
from conservation.checks.tasks import catch_up
from locations.climate.actions.alarms import standing_alarms
from locations.climate.actions.loggers import judge_readings
from locations.climate.models import Logger
from locations.climate.tasks import raise_alarms
from locations.places.actions import correct_move, make_place, move_box, move_object
from locations.places.models import Movement, Place
from museum import clock
from museum.history.models import Act
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock
from tests.climate.test_alarming import air, later, send
from tests.climate.test_alarms_at_once import chain_free, elsewhere
from tests.climate.test_exposure import START, logger_at, put

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]
#: 61 hours over 65 % without a break, the last 48 of them over 75 %
NOVEMBER = [*air((10, 55), (13, 68), (48, 77)), *air((5, 55))]


@pytest.fixture
def rooms(society: Any) -> tuple[Place, Place, Place]:
    """The store with its shelf, and a dry room."""
    hall, store, board = stock.shelf()
    dry = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-D", name="Dry room", parent_id=hall.pk, use="store")
    return store, board, dry


def asked() -> dict[str, tuple[str, int]]:
    """Number to (sort, days from the first hour to the day it is due) of every open look after an alarm."""
    rows = Due.objects.filter(why="climate").select_related("object__card")
    return {row.object.card.number: (row.sort, (row.on - clock.day_of(START)).days) for row in rows}


def follow() -> int:
    raise_alarms()
    return catch_up()


def stood(board: Place, *things: Object) -> Logger:
    for thing in things:
        put(thing, board, START)
    assert board.parent is not None
    return logger_at(board.parent, "T-1")


def test_journey_7_a_wet_november(rooms: tuple[Place, Place, Place]) -> None:
    _store, board, dry = rooms
    leather, away = stock.helmet("1974.1"), stock.helmet("1974.3")
    steel, left = stock.helmet("1974.2", materials=["steel", "paint"]), stock.helmet("1974.4", materials=["steel", "vulcanised_fibre"])
    it = stood(board, leather, steel, left)
    put(away, dry, START)
    send(it, NOVEMBER[:60])
    with later(60):
        follow()
        assert list(standing_alarms().values_list("level", flat=True)) == ["amber"]
        # conservation.md 7.3 asks for looks from half the days to mould on; 61 hours at 68 % are a fiftieth
        assert asked() == {}
    send(it, NOVEMBER[60:], first=60, name="2.csv")
    with later(80):
        follow()
        assert sorted(standing_alarms().values_list("level", flat=True)) == ["amber", "red"]
        # environment.md 2.2: inspect one week after any red, raised at hour 71, the fourth day of the wall clock; vulcanised fibre is organic too
        assert asked() == {"1974.1": ("quick", 3 + 7), "1974.4": ("quick", 3 + 7)}
        assert Call.objects.filter(why="climate").count() == 2
        acts = Act.objects.count()
        assert follow() == 0
        assert (Act.objects.count(), Call.objects.filter(why="climate").count()) == (acts, 2)
    reason = Call.objects.filter(why="climate", object=leather).get().reason
    assert reason == "Where it stood: over 75 % for 48 hours without a break; the room was damp: look for mould within 7 days"


def test_what_left_before_or_came_after_is_not_asked_for(rooms: tuple[Place, Place, Place]) -> None:
    _store, board, dry = rooms
    before, during, after = stock.helmet("1974.5"), stock.helmet("1974.6"), stock.helmet("1974.3")
    it = stood(board, before, during)
    put(after, dry, START)
    put(before, dry, START + timedelta(hours=9))
    put(during, dry, START + timedelta(hours=65))
    put(after, board, START + timedelta(hours=72))
    send(it, NOVEMBER)
    with later(80):
        follow()
        assert set(asked()) == {"1974.6"}


def test_a_box_that_came_in_brings_what_lies_in_it(rooms: tuple[Place, Place, Place]) -> None:
    _store, board, dry = rooms
    box = make_place(PROGRAM, place_id=uuid7(), level="box", code="X", name="Box", mobile=True)
    move_box(PROGRAM, box.pk, place_id=dry.pk, happened_at=START)
    thing = stock.helmet("1974.7")
    it = stood(board)
    put(thing, box, START)
    send(it, air((60, 78)))
    with later(60):
        follow()
        assert asked() == {}
        move_box(PROGRAM, box.pk, place_id=board.pk)
    with later(61):
        catch_up()
        assert set(asked()) == {"1974.7"}


def test_a_shelf_with_a_logger_of_its_own_answers_for_itself(rooms: tuple[Place, Place, Place]) -> None:
    _store, board, _dry = rooms
    it = stood(board, stock.helmet("1974.1"))
    own = logger_at(board, "T-2")
    send(it, NOVEMBER)
    send(own, air((76, 50)), name="own.csv")
    with later(80):
        follow()
        assert standing_alarms().count() == 2
        assert asked() == {}


def test_who_was_looked_at_since_is_not_asked_for(rooms: tuple[Place, Place, Place], volunteer: Person) -> None:
    _store, board, _dry = rooms
    looked, not_looked = stock.helmet("1974.1"), stock.helmet("1974.8")
    it = stood(board, looked, not_looked)
    send(it, NOVEMBER)
    with later(100):
        record_check(Actor.of(volunteer), stock.full_check(looked))
        follow()
        assert set(asked()) == {"1974.8"}
        record_check(Actor.of(volunteer), stock.full_check(not_looked))
        assert follow() >= 0
        assert asked() == {}


def test_what_came_to_light_late_is_due_today(rooms: tuple[Place, Place, Place]) -> None:
    _store, board, _dry = rooms
    send(stood(board, stock.helmet("1974.1")), NOVEMBER)
    with later(24 * 40):
        follow()
        assert asked() == {"1974.1": ("quick", 40)}
    with later(24 * 41):
        move_object(PROGRAM, Object.objects.get().pk, place_id=board.pk)
        assert follow() >= 0
        assert Call.objects.filter(why="climate").count() == 1


def test_of_one_day_the_graver_alarm_gives_the_reason(rooms: tuple[Place, Place, Place]) -> None:
    _store, board, _dry = rooms
    send(stood(board, stock.helmet("1974.1")), NOVEMBER)
    with later(24 * 40):
        follow()
    assert "over 75 % for 48 hours without a break" in Call.objects.get(why="climate").reason


def test_an_amber_alarm_asks_for_nothing_and_a_red_one_does_however_long_it_is_over(rooms: tuple[Place, Place, Place]) -> None:
    _store, board, dry = rooms
    it, other = stood(board, stock.helmet("1974.1")), logger_at(dry, "T-2")
    put(stock.helmet("1974.2"), dry, START)
    send(it, air((9, 50), (60, 68), (9, 50)))
    send(other, NOVEMBER, name="other.csv")
    with later(24 * 120):
        follow()
        assert asked() == {"1974.2": ("quick", 120)}


def test_mould_that_must_be_presumed_is_due_the_same_day(rooms: tuple[Place, Place, Place]) -> None:
    # conservation.md 7.3: from 1.0 of the days on (2 days at 90 % and above, CCI Notes 8/1) presume mould and check the same day
    _store, board, _dry = rooms
    send(stood(board, stock.helmet("1974.1")), air((50, 95)))
    with later(50):
        follow()
        assert asked() == {"1974.1": ("quick", 2)}
        assert "gloves and mask" in Call.objects.get(why="climate").reason


def test_an_alarm_that_is_taken_back_takes_its_looks_back(rooms: tuple[Place, Place, Place], volunteer: Person, as_person: Browser) -> None:
    _store, board, _dry = rooms
    thing = stock.helmet("1974.1")
    it = stood(board, thing)
    send(it, NOVEMBER)
    with later(80):
        follow()
        assert set(asked()) == {"1974.1"}
        judge_readings(PROGRAM, it.pk, begin=START, end=START + timedelta(hours=76), says="left_out", reason="the sensor was wet")
        follow()
        assert asked() == {}
        assert "took back a look asked for" in as_person(volunteer).get(f"/things/{thing.pk}/").content.decode()


def test_a_look_that_was_taken_back_is_asked_for_again(rooms: tuple[Place, Place, Place]) -> None:
    """A move was corrected, and the correction was wrong: the thing was in the damp after all."""
    _store, board, dry = rooms
    thing = stock.helmet("1974.1")
    send(stood(board, thing), NOVEMBER[:71])
    with later(71):
        follow()
        assert asked() == {"1974.1": ("quick", 10)}
        moved = correct_move(PROGRAM, Movement.objects.get().pk, place_id=dry.pk, reason="it stood in the dry room")
        follow()
        assert asked() == {}
        correct_move(PROGRAM, moved.pk, place_id=board.pk, reason="no, it was in the store")
        follow()
        assert asked() == {"1974.1": ("quick", 10)}


@pytest.mark.django_db(transaction=True)
def test_nobody_waits_for_the_history_while_more_looks_are_asked_for(rooms: tuple[Place, Place, Place], monkeypatch: pytest.MonkeyPatch) -> None:
    _store, board, _dry = rooms
    send(stood(board, stock.helmet("1974.1"), stock.helmet("1974.2")), NOVEMBER)
    monkeypatch.setattr(from_climate, "SOME", 1)
    free, ask = [], from_climate.follow_alarm

    def asks(*given: Any, **more: Any) -> int:
        free.append(elsewhere(chain_free))
        return ask(*given, **more)

    monkeypatch.setattr(from_climate, "follow_alarm", asks)
    with later(80):
        follow()
        assert len(asked()) == 2
    assert free == [True, True]


def test_the_start_page_is_amber_then_red_then_still(rooms: tuple[Place, Place, Place], volunteer: Person, as_person: Browser) -> None:
    _store, board, _dry = rooms
    it, page = stood(board, stock.helmet("1974.1")), as_person(volunteer)

    def shown() -> str:
        return page.get("/").content.decode()

    send(it, NOVEMBER[:60])
    with later(60):
        follow()
        amber = shown()
    assert "Amber alarm: Cold store" in amber
    assert "over 65 %, then never below 62 %, for at least 50 hours" in amber
    assert f"/climate/rooms/{it.stays.get().place_id}/" in amber
    # environment.md 10: at every computed warning
    assert "This is an estimate from a sensor, not an inspection." in amber
    send(it, NOVEMBER[60:71], first=60, name="2.csv")
    with later(71):
        follow()
        red = shown()
    assert "Red alarm: Cold store" in red
    assert "Amber alarm" not in red, "one line a place"
    send(it, NOVEMBER[71:], first=71, name="3.csv")
    with later(80):
        follow()
        assert "alarm: Cold store" not in shown()


def test_looks_after_alarms_are_told_by_their_day_not_by_how_urgent_the_thing_is(
    rooms: tuple[Place, Place, Place], as_person: Browser, curator: Person
) -> None:
    """“Look within 7 days” beside “Within 3 months”, which is of the thing's damage, says two things at once."""
    it = stood(rooms[1], stock.helmet("1974.1"))
    send(it, NOVEMBER)
    with later(80):
        follow()
        shown = [as_person(curator).get(page).content.decode() for page in ("/rounds/due/", "/rounds/due/?why=climate")]
    assert ["look for mould within 7 days" in page for page in shown] == [True, True]
    assert [">Urgency</th>" in page for page in shown] == [True, False]


def test_for_what_an_alarm_asks_many_looks_is_said_once(rooms: tuple[Place, Place, Place], as_person: Browser, curator: Person) -> None:
    it = stood(rooms[1], stock.helmet("1974.1"), stock.helmet("1974.2"))
    send(it, NOVEMBER)
    with later(80):
        follow()
        client = as_person(curator)
        together, each = (client.get(page).content.decode() for page in ("/rounds/due/?why=climate", "/rounds/due/"))
    assert [page.count("look for mould within 7 days") for page in (together, each)] == [1, 2]
    assert [together.count(text) for text in ("1974.1", "1974.2", "No look needed?", "not an inspection")] == [1, 1, 2, 1]
