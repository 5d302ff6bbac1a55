"""RH conflict between neighbours in one closed box or case (conservation reference 8.3): named, never chosen by the program, urgent where it stands so."""

from collections.abc import Callable

import pytest
from django.test import Client

from collection.objects.models import Object
from conservation.checks.follow import catch_up
from locations.places import placing
from locations.places.actions import make_place, move_box, move_object
from locations.places.models import Misplaced, Place
from museum.errors import Invalid
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock
from tests.treatments import stock as bench

pytestmark = pytest.mark.django_db


@pytest.fixture
def box(society: object) -> Place:
    _hall, _store, board = stock.shelf()
    made = make_place(PROGRAM, place_id=uuid7(), level="box", code="B1", name="Box", mobile=True, closed_container=True)
    move_box(PROGRAM, made.pk, place_id=board.pk)
    return made


def leather() -> Object:
    return stock.helmet("1974.2.1", materials=["leather"])


def rusty(by: Person, activity: int | None = 2) -> Object:
    """Bare steel with rust: below 35 % where it is at work (CCI Notes 9/2); leather asks for 45 to 65 (Western Australian Museum)."""
    thing = stock.helmet("1974.2.2", materials=["steel"])
    bench.record(Actor.of(by), thing, stock.seen(thing, "SH", "RUST_SPOT", activity=activity))
    return thing


def said(thing: Object) -> list[tuple[str, str]]:
    return [(row.code, row.level) for row in Misplaced.objects.filter(object=thing)]


def test_what_is_planned_asks_for_a_reason_and_names_the_two(box: Place, volunteer: Person) -> None:
    iron, hide = rusty(volunteer), leather()
    move_object(PROGRAM, hide.pk, place_id=box.pk, planned=True)
    with pytest.raises(Invalid) as asked:
        move_object(PROGRAM, iron.pk, place_id=box.pk, planned=True)
    assert asked.value.field == "reason"
    assert "both steel here and leather" in asked.value.sentence
    assert "conservator" in asked.value.sentence
    move_object(PROGRAM, iron.pk, place_id=box.pk, planned=True, reason="Rhea, conservator, letter of 3 May: two dry pockets in it")
    assert said(iron) == said(hide) == [("HUMIDITY-BESIDE", "warn")], "somebody chose and said why: it is told and not urgent"


def test_what_stands_so_is_stored_urgent_for_both_and_put_right_by_taking_one_out(
    box: Place, volunteer: Person, curator: Person, as_person: Callable[[Person], Client]
) -> None:
    iron, hide = rusty(volunteer), leather()
    for thing in (hide, iron):
        move_object(Actor.of(volunteer), thing.pk, place_id=box.pk)
    assert said(iron) == said(hide) == [("HUMIDITY-BESIDE", "refuse")]
    assert {row.object_id for row in placing.urgent(Actor.of(curator))} == {iron.pk, hide.pk}
    page = as_person(curator).get("/places/wrong/").content.decode()
    assert "RH conflict in one box or case: no humidity suits both steel here and leather of what lies beside it" in page
    move_object(Actor.of(volunteer), iron.pk, place_id=Place.objects.get(code="H-S-1").pk)
    assert said(iron) == said(hide) == []


def test_rust_of_which_nobody_knows_whether_it_goes_on_is_told_and_not_urgent(box: Place, volunteer: Person) -> None:
    iron, hide = rusty(volunteer, activity=None), leather()
    for thing in (hide, iron):
        move_object(PROGRAM, thing.pk, place_id=box.pk)
    assert said(iron) == [("HUMIDITY-BESIDE", "warn")]


def test_rust_shown_to_be_stable_may_lie_beside_leather_and_an_open_shelf_has_no_humidity_of_its_own(box: Place, volunteer: Person) -> None:
    hide, iron = leather(), rusty(volunteer, activity=0)
    for thing in (hide, iron):
        assert move_object(PROGRAM, thing.pk, place_id=box.pk, planned=True) == []
    bench.record(Actor.of(volunteer), iron, stock.seen(iron, "RB", "RUST_SPOT", activity=3))
    for thing in (hide, iron):
        move_object(PROGRAM, thing.pk, place_id=Place.objects.get(code="H-S-1").pk)
    assert said(iron) == said(hide) == []


def test_rust_found_where_it_stands_becomes_urgent_for_both_of_itself(box: Place, volunteer: Person) -> None:
    iron, hide = rusty(volunteer, activity=0), leather()
    for thing in (hide, iron):
        move_object(PROGRAM, thing.pk, place_id=box.pk)
    catch_up()
    assert said(iron) == said(hide) == []
    bench.record(Actor.of(volunteer), iron, stock.seen(iron, "RB", "RUST_SPOT", activity=3))
    catch_up()
    assert said(iron) == said(hide) == [("HUMIDITY-BESIDE", "refuse")]
