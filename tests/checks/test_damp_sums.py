"""Damp adds up: conservation.md 7.3, from the last look that found no mould, over several runs, wherever a thing stood."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from collection.objects.models import Object
from conservation.checks import damp_sums
from conservation.checks.actions.calls import answer_call
from conservation.checks.actions.record import record_check
from conservation.checks.entry import CheckEntry, Seen
from conservation.checks.models import Call, ConditionCheck
from conservation.checks.tasks import catch_up
from locations.climate.actions.loggers import judge_readings
from locations.climate.actions.walls import Readings, tell_wall, tell_wall_by_quality
from locations.climate.models import ClimateAlarm, Logger
from locations.climate.tasks import follow_climate, raise_alarms
from locations.places.actions import describe_place, make_place
from locations.places.models import Place
from museum import clock
from museum.history.models import Act
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock
from tests.checks.test_from_climate import asked, stood
from tests.climate.test_alarming import air, later, send
from tests.climate.test_exposure import START, logger_at, put

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]
DAY = 24


@pytest.fixture
def board(society: Any) -> Place:
    return stock.shelf()[2]


def follow(hour: int) -> int:
    with later(hour):
        raise_alarms()
        follow_climate()
        return catch_up()


def look(person: Person, thing: Object, hour: int, *seen: Seen) -> ConditionCheck:
    with later(hour):
        check: ConditionCheck = record_check(Actor.of(person), stock.full_check(thing, *seen))
        return check


def weeks(*rh: float) -> list[float]:
    """A week each."""
    return air(*((7 * DAY, value) for value in rh))


def reasons() -> list[str]:
    return list(Call.objects.filter(why="climate", corrected_by=None, withdraws=False).order_by("recorded_at").values_list("reason", flat=True))


def test_half_the_days_over_several_runs_ask_for_a_look_within_a_week(board: Place, volunteer: Person) -> None:
    # conservation.md 7.3: 100 x 10^(-(69.9-70)/10) = 102.3 days at 69.9 %; nine weeks of it with dry ones between: 0.62, of which no run is red
    damp, dry = stock.helmet("1974.1"), stock.helmet("1974.2", materials=["steel", "paint"])
    it = stood(board, damp, dry)
    look(volunteer, damp, 0)
    look(volunteer, dry, 0)
    whole = weeks(69.9, 55, 69.9, 69.9, 55, 69.9, 69.9, 55, 69.9, 69.9)
    send(it, whole)
    follow(70 * DAY)
    assert reasons() == [], "seven weeks: 0.48"
    send(it, weeks(69.9, 55), first=70 * DAY, name="2.csv")
    follow(84 * DAY)
    assert asked() == {"1974.1": ("quick", 84 + 7)}
    assert reasons() == [
        "Since it was last looked at, damp where it stood adds up to 55 % of the time after which mould is presumed; "
        "the room was damp: look for mould within 7 days"
    ]
    acts = Act.objects.count()
    assert follow(84 * DAY + 1) == 0
    assert Act.objects.count() == acts


def test_the_whole_of_the_days_is_due_the_same_day(board: Place, volunteer: Person) -> None:
    thing = stock.helmet("1974.1")
    it = stood(board, thing)
    look(volunteer, thing, 0)
    send(it, weeks(*[69.9] * 8))
    follow(56 * DAY)
    assert asked() == {"1974.1": ("quick", 63)}
    send(it, weeks(*[69.9] * 7), first=56 * DAY, name="2.csv")
    follow(105 * DAY)
    # conservation.md 7.3: from 1.0 on presume mould and check the same day
    assert "presume mould: gloves and mask, look the same day" in reasons()[-1]
    assert Call.objects.latest("recorded_at").due_on == (START + timedelta(days=105)).date()
    assert len(reasons()) == 2, "the look within a week that was asked for before stands on beside it"


def test_the_second_look_of_a_season_is_asked_for_while_the_same_alarm_goes_on(board: Place, volunteer: Person) -> None:
    """An amber alarm that goes on for half a year: looked at once, it is asked for again when as much has come since."""
    thing = stock.helmet("1974.1")
    it = stood(board, thing)
    look(volunteer, thing, 0)
    send(it, weeks(*[69.9] * 8))
    follow(56 * DAY)
    assert len(reasons()) == 1
    look(volunteer, thing, 57 * DAY)
    assert asked() == {}
    send(it, weeks(*[69.9] * 7), first=56 * DAY, name="2.csv")
    follow(105 * DAY)
    assert asked() == {}, "48 of 51 days since the look"
    send(it, weeks(69.9), first=105 * DAY, name="3.csv")
    follow(112 * DAY)
    assert asked() == {"1974.1": ("quick", 112 + 7)}


def test_a_look_that_found_mould_begins_no_new_sum(board: Place, volunteer: Person) -> None:
    thing = stock.helmet("1974.1")
    it = stood(board, thing)
    look(volunteer, thing, 0)
    send(it, weeks(*[69.9] * 8))
    follow(56 * DAY)
    check = look(volunteer, thing, 57 * DAY, stock.seen(thing, "LN", "MOULD_ACTIVE", activity=3, material="leather"))
    assert check.observations.count() == 1
    send(it, weeks(*[69.9] * 3), first=56 * DAY, name="2.csv")
    follow(77 * DAY)
    assert len(reasons()) == 1, "it has its follow-ups, and the same sum is not asked for twice"
    found = {one.object_id: one for one in damp_sums.added_up()}
    assert found[thing.pk].dose == pytest.approx(77 / 102.3, abs=0.01)


def called_off(board: Place, volunteer: Person, curator: Person) -> tuple[Object, Logger]:
    """A thing for which eight weeks at 69.9 % had asked, of which somebody then said that no look is needed; and the logger beside it."""
    thing = stock.helmet("1974.1")
    it = stood(board, thing)
    look(volunteer, thing, 0)
    send(it, weeks(*[69.9] * 8))
    follow(56 * DAY)
    with later(56 * DAY + 1):
        answer_call(Actor.of(curator), Call.objects.get().pk, reason="it was in a sealed bag")
    return thing, it


def test_somebody_who_says_that_none_is_needed_is_not_asked_the_next_day(board: Place, volunteer: Person, curator: Person) -> None:
    _thing, it = called_off(board, volunteer, curator)
    send(it, weeks(69.9), first=56 * DAY, name="2.csv")
    follow(63 * DAY)
    assert asked() == {}
    send(it, weeks(55, *[69.9] * 7), first=63 * DAY, name="3.csv")
    follow(119 * DAY)
    assert asked() == {"1974.1": ("quick", 119 + 7)}, "half the days since it was said, not all of them since the look"


def test_a_reading_of_a_card_is_no_look_at_the_thing(board: Place, volunteer: Person) -> None:
    thing = stock.helmet("1974.1")
    it = stood(board, thing)
    look(volunteer, thing, 0)
    with later(30 * DAY):
        card = CheckEntry(
            id=uuid7(),
            object_id=thing.pk,
            sort="quick",
            purpose=ConditionCheck.Purpose.CARD,
            happened_on=clock.today(),
            happened_at=clock.now(),
            result="nothing_new",
        )
        record_check(Actor.of(volunteer), card)
    send(it, weeks(*[69.9] * 8))
    follow(56 * DAY)
    assert asked() == {"1974.1": ("quick", 63)}


def test_what_was_never_looked_at_is_due_already_and_what_came_later_is_asked_for_its_own_time(board: Place, volunteer: Person) -> None:
    never, late = stock.helmet("1974.1"), stock.helmet("1974.2")
    it = stood(board, never)
    put(late, board, START + timedelta(days=40))
    look(volunteer, late, 40 * DAY)
    send(it, weeks(*[69.9] * 9))
    follow(63 * DAY)
    assert asked() == {}


def test_readings_judged_wrong_take_the_look_back(board: Place, volunteer: Person) -> None:
    thing = stock.helmet("1974.1")
    it: Logger = stood(board, thing)
    look(volunteer, thing, 0)
    send(it, weeks(*[69.9] * 8))
    follow(56 * DAY)
    with later(56 * DAY + 1):
        judge_readings(PROGRAM, it.pk, begin=START, end=START + timedelta(days=20), says="left_out", reason="the sensor was wet")
    follow(56 * DAY + 2)
    assert asked() == {}
    assert Call.objects.filter(why="climate", withdraws=True).count() == 1


def test_what_is_taken_back_says_what_is_true(board: Place, volunteer: Person, curator: Person) -> None:
    """A record that was taken back; one of two looks closed with a reason; the look of the beginning corrected; last a logger judged wrong."""
    gone, said, corrected, damp = things = [stock.helmet(f"1974.{n}") for n in range(1, 5)]
    it: Logger = stood(board, *things)
    first = {thing.pk: look(volunteer, thing, 0) for thing in things}
    send(it, weeks(*[69.9] * 8))
    follow(56 * DAY)
    send(it, weeks(*[69.9] * 7), first=56 * DAY, name="2.csv")
    follow(105 * DAY)
    assert Call.objects.filter(object=said, answer=None).count() == 2
    with later(105 * DAY + 1):
        Object.objects.filter(pk=gone.pk).update(withdrawn="an undone import")
        answer_call(Actor.of(curator), Call.objects.filter(object=said).latest("recorded_at").pk, reason="it was in a sealed bag")
        card = {"sort": "quick", "purpose": ConditionCheck.Purpose.CARD, "looks": {}, "screen": None, "result": "nothing_new"}
        record_check(Actor.of(curator), replace(stock.full_check(corrected), corrects=first[corrected.pk].pk, **card))
    follow(105 * DAY + 2)
    taken_back = set(Call.objects.filter(withdraws=True).values_list("object", "reason"))
    assert taken_back == {
        (gone.pk, "The record of this thing was taken back."),
        (said.pk, "Somebody said since that no look after damp is needed; damp is added up anew since then."),
        (corrected.pk, "A look at it was told since, or told otherwise than before; damp is added up anew since then."),
    }
    with later(106 * DAY):
        judge_readings(PROGRAM, it.pk, begin=START, end=START + timedelta(days=80), says="left_out", reason="the sensor was wet")
    follow(106 * DAY + 1)
    back = set(Call.objects.filter(withdraws=True, object=damp).exclude(source__in=ClimateAlarm.objects.values("thread")).values_list("reason", flat=True))
    assert back == {"As the readings, its places and its materials are told now, damp does not add up to so much any more."}


def test_damp_at_the_wall_adds_up_where_it_does_not_in_the_room(board: Place, volunteer: Person) -> None:
    """60 % at 15 °C come to 77.9 % beside a wall 4 K colder (Magnus): 100 x 10^(-(77.9-70)/10) = 16.2 days, half of which go by in nine; the room has none."""
    wall_side, elsewhere = stock.helmet("1974.1"), stock.helmet("1974.2")
    it = stood(board, wall_side)
    put(elsewhere, Place.objects.get(code="H-S"), START)
    look(volunteer, wall_side, 0)
    look(volunteer, elsewhere, 0)
    with later(31 * DAY):
        tell_wall(PROGRAM, board.pk, colder=4, on=(START + timedelta(days=30)).date(), measured_on=START.date(), reason="surface thermometer")
    send(it, air((36 * DAY, 60)))
    follow(36 * DAY)
    assert asked() == {}, "six days at the wall: 0.4"
    send(it, air((3 * DAY, 60)), first=36 * DAY, name="2.csv")
    follow(39 * DAY)
    assert list(asked()) == ["1974.1"]
    with later(39 * DAY):
        (found,) = damp_sums.added_up()
    assert found.dose == pytest.approx(9 / 16.2, abs=0.02)


def test_the_months_before_the_wall_count_by_the_room_and_the_worse_of_both_faces(board: Place, volunteer: Person) -> None:
    """Seven weeks at 69.9 % are 0.48 by the room alone; then a wall that is warmer than the room takes nothing away, a colder one adds."""
    thing = stock.helmet("1974.1")
    it = stood(board, thing)
    look(volunteer, thing, 0)
    send(it, weeks(*[69.9] * 9))
    yard = make_place(PROGRAM, place_id=uuid7(), level="building", code="YARD", name="Yard")
    describe_place(PROGRAM, yard.pk, version=1, spot="outdoors")
    outside = logger_at(yard, "OUT")
    send(outside, air((63 * DAY, 80)), name="out.csv", t=30.0)
    with later(50 * DAY):
        readings = Readings(15.0, 7.5, 0.0)
        tell_wall_by_quality(PROGRAM, board.pk, readings=readings, on=(START + timedelta(days=49)).date(), measured_on=clock.today(), reason="x")
    follow(63 * DAY)
    (found,) = _later_sums(63 * DAY)
    assert found.dose == pytest.approx(63 / 102.3, abs=0.01), "by the room, though the wall was warm and dry for two weeks"
    send(outside, air((7 * DAY, 80)), first=63 * DAY, name="out2.csv", t=5.0)
    send(it, weeks(69.9), first=63 * DAY, name="2.csv")
    follow(70 * DAY)
    (found,) = _later_sums(70 * DAY)
    assert found.dose > 63 / 102.3 + 0.5


def test_months_in_the_room_and_months_at_the_wall_are_added_though_neither_alone_says_enough(board: Place, volunteer: Person) -> None:
    """Six weeks at 69.9 % are 0.41; then three at a wall where 60 % come to 68.4 (13 °C, Magnus), of 144.5 days there 0.145."""
    thing = stock.helmet("1974.1")
    it = stood(board, thing)
    look(volunteer, thing, 0)
    with later(43 * DAY):
        tell_wall(PROGRAM, board.pk, colder=2, on=(START + timedelta(days=42)).date(), measured_on=START.date(), reason="surface thermometer")
    send(it, air((42 * DAY, 69.9), (21 * DAY, 60)))
    follow(63 * DAY)
    (found,) = _later_sums(63 * DAY)
    assert found.dose == pytest.approx(42 / 102.3 + 21 / 144.5, abs=0.01)


def test_a_look_after_somebody_had_said_that_none_is_needed_begins_the_sum_anew(board: Place, volunteer: Person, curator: Person) -> None:
    thing, it = called_off(board, volunteer, curator)
    send(it, weeks(*[69.9] * 9), first=56 * DAY, name="2.csv")
    look(volunteer, thing, 63 * DAY)
    follow(119 * DAY)
    (found,) = _later_sums(119 * DAY)
    assert found.dose == pytest.approx(56 / 102.3, abs=0.01), "not from when it was said, a week before the look"


def _later_sums(hour: int) -> list[damp_sums.Damp]:
    with later(hour):
        return damp_sums.added_up()
