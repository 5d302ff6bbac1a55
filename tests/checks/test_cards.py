"""Card tests: 28 days (ours, on the card test of CCI Notes 9/1), and what their reading settles."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client

from conservation.checks.actions.cards import CardLies, read_card, start_card
from conservation.checks.actions.record import record_check
from conservation.checks.follow import catch_up
from conservation.checks.models import Call, Due, State
from conservation.checks.queries import open_findings
from locations.places.actions import make_place, move_object
from locations.places.models import Misplaced
from museum import clock
from museum.errors import Invalid
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person, Society
from tests import stock

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]


def rusty(by: Person, activity: int = 1) -> tuple[object, stock.Seen]:
    thing = stock.helmet()
    seen = stock.seen(thing, "RB", "RUST_SPOT", activity=activity)
    entry = stock.full_check(thing, seen)
    record_check(Actor.of(by).keyed(entry.id), entry)
    return thing, seen


def test_a_card_is_due_in_28_days_on_an_opening_day(volunteer: Person, society: Society) -> None:
    thing, seen = rusty(volunteer)
    test = start_card(Actor.of(volunteer), thing.pk, test_id=uuid7(), finding_id=seen.finding)
    assert test.due_on >= clock.today() + timedelta(days=28)
    assert not society.opening_days or test.due_on.isoweekday() in society.opening_days
    assert Due.objects.get(why="card").on == test.due_on
    with pytest.raises(CardLies):
        start_card(Actor.of(volunteer), thing.pk, test_id=uuid7(), finding_id=seen.finding)


@pytest.mark.parametrize(("reading", "activity", "grade"), [("powder", 2, 2), ("clean", 0, 1)])
def test_its_reading_settles_the_activity_and_the_judgement(volunteer: Person, reading: str, activity: int, grade: int) -> None:
    """Active, slow, makes the grade at least moderate (2): table of 3.8, ours."""
    thing, seen = rusty(volunteer)
    test = start_card(Actor.of(volunteer), thing.pk, test_id=uuid7(), finding_id=seen.finding)
    read_card(Actor.of(volunteer), test.pk, reading=reading)
    assert [row.activity for row in open_findings(thing.pk)] == [activity]
    assert (State.objects.get(object=thing).activity, State.objects.get(object=thing).grade) == (activity, grade)
    assert not Due.objects.filter(why="card").exists()
    with pytest.raises(Invalid):
        read_card(Actor.of(volunteer), test.pk, reading="clean")


def test_a_spoiled_card_says_nothing_and_another_can_be_laid(volunteer: Person) -> None:
    thing, seen = rusty(volunteer)
    test = start_card(Actor.of(volunteer), thing.pk, test_id=uuid7(), finding_id=seen.finding)
    assert read_card(Actor.of(volunteer), test.pk, reading="spoiled").of_check is None
    assert [row.activity for row in open_findings(thing.pk)] == [1]
    start_card(Actor.of(volunteer), thing.pk, test_id=uuid7(), finding_id=seen.finding)


def test_powder_where_nothing_was_found_is_a_new_finding(volunteer: Person) -> None:
    thing = stock.helmet()
    test = start_card(Actor.of(volunteer), thing.pk, test_id=uuid7(), zone=str(stock.zone(thing, "SH")))
    with pytest.raises(Invalid) as asked:
        read_card(Actor.of(volunteer), test.pk, reading="powder")
    assert asked.value.field == "term"
    read_card(Actor.of(volunteer), test.pk, reading="powder", term="RUST_GEN", material="steel")
    assert [(row.term, row.activity) for row in open_findings(thing.pk)] == [("RUST_GEN", 2)]


def test_a_look_at_the_whole_does_not_read_the_card(volunteer: Person) -> None:
    thing, seen = rusty(volunteer)
    test = start_card(Actor.of(volunteer), thing.pk, test_id=uuid7(), finding_id=seen.finding, started_on=clock.today() - timedelta(days=40))
    entry = stock.full_check(thing, stock.seen(thing, "RB", "RUST_SPOT", finding=seen.finding, change="same"))
    record_check(Actor.of(volunteer).keyed(entry.id), entry)
    assert Call.objects.get(source=test.pk, answer=None).due_on < clock.today()


def test_rust_that_is_at_work_on_a_leather_lined_helmet_is_an_rh_conflict(volunteer: Person) -> None:
    """8.3: active iron below 35 % (CCI Notes 9/2), leather 45 to 65 % (Western Australian Museum): never chosen by the program."""
    thing, seen = rusty(volunteer, activity=0)
    _hall, _store, board = stock.shelf()
    move_object(Actor.of(volunteer), thing.pk, place_id=board.pk)
    catch_up()
    assert not Misplaced.objects.exists()
    test = start_card(Actor.of(volunteer), thing.pk, test_id=uuid7(), finding_id=seen.finding)
    read_card(Actor.of(volunteer), test.pk, reading="powder")
    catch_up()
    kept = Misplaced.objects.get()
    assert (kept.code, kept.level, {kept.why["values"]["one"], kept.why["values"]["other"]}) == ("HUMIDITY", "warn", {"leather", "steel"})
    move_object(Actor.of(volunteer), thing.pk, place_id=board.pk, planned=True)  # an everyday move is not asked about: nobody chooses a humidity there
    box = make_place(PROGRAM, place_id=uuid7(), level="box", code="B1", name="Box B1", mobile=True, closed_container=True)
    with pytest.raises(Invalid) as asked:
        move_object(Actor.of(volunteer), thing.pk, place_id=box.pk, planned=True)
    assert asked.value.data["objections"][0]["code"] == "HUMIDITY"


def test_the_pages_and_the_api_of_cards(volunteer: Person, as_person: Browser) -> None:
    thing, seen = rusty(volunteer)
    browser, key = as_person(volunteer), uuid7()
    assert browser.post(f"/things/{thing.pk}/card/", {"id": str(key), "under": str(seen.finding), "card": "white"}).status_code == 302
    assert "To be read on" in browser.get(f"/things/{thing.pk}/card/").content.decode()
    assert "1974.12.3" in browser.get("/cards/").content.decode()
    assert browser.post(f"/cards/{key}/", {"act": str(uuid7()), "reading": ""}).status_code == 400
    said = browser.post(f"/api/cards/{key}/reading/", {"id": str(uuid7()), "reading": "clean"}, content_type="application/json")
    assert (said.status_code, said.json()["reading"]) == (200, "clean")
    assert browser.get("/api/cards/").json()["cards"] == []
