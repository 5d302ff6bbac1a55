"""The desk: the page of a thing for each role, the start page, the calendar, rebuilding."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.core.management import call_command
from django.test import Client

from collection.objects.actions.screens import tell_opening
from collection.objects.models import Card, Number, Object
from collection.objects.queries import photographs_of
from conservation.checks.actions.incidents import open_incident
from conservation.checks.actions.record import record_check
from conservation.checks.actions.rounds import make_round
from conservation.checks.models import Due, Judgement, State
from locations.places.actions import move_object
from locations.places.models import Misplaced
from museum import clock
from museum.desk.demo import museum
from museum.desk.feeds import token_of
from museum.history.verify import verify
from museum.ids import uuid7
from museum.jobs.models import Job
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from museum.people.permissions import Role
from tests import stock

pytestmark = pytest.mark.django_db
AsPerson = Callable[[Person], Client]


def rows() -> list[list[tuple[object, ...]]]:
    due = Due.objects.order_by("object_id", "sort", "on").values_list("object_id", "sort", "why", "on", "urgency", "place_id")
    columns = [field.attname for field in Card._meta.concrete_fields]
    return [list(Card.objects.order_by("pk").values_list(*columns)), list(State.objects.order_by("pk").values_list()), list(due)]


def test_all_that_is_derived_is_rebuilt_to_equal_rows(volunteer: Person) -> None:
    _hall, _store, board = stock.shelf()
    thing = stock.helmet()
    move_object(PROGRAM, thing.pk, place_id=board.pk)
    record_check(Actor.of(volunteer), stock.full_check(thing, stock.seen(thing, "RB", "RUST_SPOT")))
    before = rows()
    call_command("rebuild", verbosity=0)
    assert rows() == before


def test_the_start_page_shows_what_there_is_of_what_mostly_is_not(curator: Person, as_person: AsPerson) -> None:
    _hall, store, board = stock.shelf()
    quiet = as_person(curator).get("/").content.decode()
    open_incident(Actor.of(curator), incident_id=uuid7(), kind="mould", place_id=store.pk)
    Job.objects.create(kind="tests.job", title="Copies of the pictures", state="failed", owner=curator)
    Misplaced.objects.create(object=stock.helmet(), place=board, level="refuse", code="LIGHT", why=[], instead=[], since=clock.now())
    busy = as_person(curator).get("/").content.decode()
    for told in ("Go on with it", "Copies of the pictures", "1 thing stands as it should not"):
        assert told not in quiet
        assert told in busy


def test_a_thing_s_page_shows_state_and_exact_place_to_who_may(
    volunteer: Person, curator: Person, reader: Person, administrator: Person, as_person: AsPerson
) -> None:
    _hall, _store, board = stock.shelf()
    thing = stock.helmet()
    move_object(PROGRAM, thing.pk, place_id=board.pk)
    page = f"/things/{thing.pk}/"
    assert "Shelf 1" in as_person(curator).get(page).content.decode()
    seen = as_person(volunteer).get(page).content.decode()
    assert "Hose hall" in seen
    assert "Shelf 1" not in seen
    assert "H-S-1" not in seen
    assert as_person(reader).get(page).status_code == 404
    assert as_person(administrator).get(page).status_code == 403
    assert Client().get(page).status_code == 302


def test_words_and_note_of_an_opening_stand_apart_on_the_time_line(volunteer: Person, as_person: AsPerson) -> None:
    thing = stock.helmet()
    tell_opening(PROGRAM, thing.pk, why="lining", note="the felt hangs loose")
    page = as_person(volunteer).get(f"/things/{thing.pk}/").content.decode()
    assert re.search(r"<p>[^<]+ · <span class=.soft.>the felt hangs loose</span>", page)


def test_the_start_page_says_what_needs_me(volunteer: Person, curator: Person, reader: Person, as_person: AsPerson) -> None:
    stock.helmet()
    made = stock.helmet("1974.12.4")
    record_check(Actor.of(volunteer), stock.full_check(made))
    make_round(Actor.of(curator), name="Cold store", due_by=clock.today() + timedelta(days=800), walkers=[volunteer.pk])
    assert "Cold store" in as_person(volunteer).get("/").content.decode()
    assert "Cold store" not in as_person(reader).get("/").content.decode()


def test_written_last_begins_with_the_latest_whatever_was_entered_in_between(curator: Person, as_person: AsPerson) -> None:
    """As a museum does that brings in its old books: what they say is no news."""
    with clock.at(clock.now() + timedelta(days=2)):
        stock.helmet("1974.12.8")
    stock.helmet("1974.12.9")
    with clock.at(clock.now() + timedelta(days=3)):
        page = as_person(curator).get("/").content.decode()
    assert page.index("1974.12.8") < page.index("1974.12.9")


def test_the_calendar_has_one_entry_a_round_and_a_wrong_token_finds_nothing(volunteer: Person, curator: Person) -> None:
    thing = stock.helmet()
    record_check(Actor.of(volunteer), stock.full_check(thing))
    made = make_round(Actor.of(curator), name="Hall; north, cases", due_by=clock.today() + timedelta(days=800), walkers=[volunteer.pk])
    body = Client().get(f"/feeds/{token_of(volunteer)}/looks.ics").content.decode()
    assert body.count("BEGIN:VEVENT") == 1
    assert f"UID:{made.pk}@burgonet" in body
    assert "SUMMARY:Hall\\; north\\, cases" in body
    assert Client().get("/feeds/nothing/looks.ics").status_code == 404


def test_a_new_password_ends_the_address_of_the_calendar(volunteer: Person) -> None:
    address = f"/feeds/{token_of(volunteer)}/looks.ics"
    assert Client().get(address).status_code == 200
    volunteer.set_password("another lamp in the tower")
    volunteer.save(update_fields=["password"])
    assert Client().get(address).status_code == 404


def test_the_demo_museum_is_told_through_the_actions_and_has_pictures(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(museum, "GENERATED", 6)
    museum.load("a lamp in the hose tower", air=False)
    helmet = Number.objects.get(text="1974.12.3").object
    assert {row.view for row in photographs_of("object", helmet.pk)} >= {"V01", "V04", "V08"}
    assert Object.objects.count() == 27 + museum.GENERATED
    assert Judgement.objects.exists()
    assert verify().broken_at is None
    admin = Person.objects.get(email="admin@example.org")
    assert admin.roles() == {Role.ADMINISTRATOR}


def test_the_administrator_is_offered_places_only_while_they_may_be_made(administrator: Person, as_person: AsPerson) -> None:
    assert "/places/new/" in as_person(administrator).get("/").content.decode()
    *_, board = stock.shelf()
    move_object(PROGRAM, stock.helmet().pk, place_id=board.pk)
    assert "/places/new/" not in as_person(administrator).get("/").content.decode()
