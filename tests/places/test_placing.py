"""Where a thing may stand, asked when it is put there: tables 8.1 to 8.4 of the house's reference; figures there as marked."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from collection.objects.actions.hazards import report_hazard
from locations.places import derived
from locations.places.actions import correct_move, describe_place, make_place, move_box, move_object
from locations.places.models import Misplaced, Movement, Place
from locations.places.placing import PlacingRefused, urgent
from locations.places.queries import where_is
from museum.errors import Invalid
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]


def closed_box(code: str = "B1") -> Place:
    return make_place(PROGRAM, place_id=uuid7(), level="box", code=code, name=f"Box {code}", mobile=True, closed_container=True)


def wrong() -> list[tuple[str, str]]:
    return sorted(Misplaced.objects.values_list("level", "code"))


@pytest.mark.parametrize(("resting", "code"), [("stack", "CX36"), ("hanging", "CX37"), ("brim", "CX38")])
def test_support_and_stacking_planned_refused_found_stored_and_urgent(resting: str, code: str) -> None:
    """8.1, common practice, no source; never stack."""
    _hall, _store, board = stock.shelf()
    thing = stock.helmet()
    with pytest.raises(PlacingRefused) as refused:
        move_object(PROGRAM, thing.pk, place_id=board.pk, resting=resting, planned=True)
    assert refused.value.data["objections"][0]["code"] == code
    assert refused.value.data["instead"]
    assert not Movement.objects.exists()
    warnings = move_object(PROGRAM, thing.pk, place_id=board.pk, resting=resting)
    assert len(warnings) == 1
    assert where_is(thing).place == board
    assert wrong() == [("refuse", code)]
    assert Movement.objects.get().objections[0]["code"] == code
    move_object(PROGRAM, thing.pk, place_id=board.pk)
    assert wrong() == []


@pytest.mark.parametrize("spot", ["attic", "cellar", "outside_wall", "boiler_room", "outdoors"])
def test_places_where_nothing_should_stand(spot: str) -> None:
    """8.2, common practice, outdoors ours; what stands there when the place is described becomes urgent."""
    _hall, store, board = stock.shelf()
    thing = stock.helmet()
    move_object(PROGRAM, thing.pk, place_id=board.pk, planned=True)
    describe_place(PROGRAM, store.pk, version=1, spot=spot)
    assert wrong() == [("refuse", "CX41")]
    with pytest.raises(PlacingRefused):
        move_object(PROGRAM, stock.helmet("1974.1.1").pk, place_id=board.pk, planned=True)


def test_sun_reaches_a_shelf_and_not_into_a_box() -> None:
    """8.2, common practice: direct sun on leather (CX42)."""
    _hall, store, board = stock.shelf()
    describe_place(PROGRAM, store.pk, version=1, sun=True)
    thing, box = stock.helmet(), closed_box()
    move_box(PROGRAM, box.pk, place_id=board.pk)
    with pytest.raises(PlacingRefused):
        move_object(PROGRAM, thing.pk, place_id=board.pk, planned=True)
    assert move_object(PROGRAM, thing.pk, place_id=box.pk, planned=True) == []


def test_ten_centimetres_off_the_floor_or_a_reason() -> None:
    """8.2: at least 10 cm (CCAHA advice)."""
    _hall, _store, board = stock.shelf()
    describe_place(PROGRAM, board.pk, version=1, off_floor_cm=9)
    thing = stock.helmet()
    with pytest.raises(Invalid) as asked:
        move_object(PROGRAM, thing.pk, place_id=board.pk, planned=True)
    assert asked.value.field == "reason"
    move_object(PROGRAM, thing.pk, place_id=board.pk, planned=True, reason="the upper shelves are being painted this week")
    assert Movement.objects.get().reason.startswith("the upper shelves")
    assert wrong() == [("warn", "FLOOR")]
    assert not urgent(PROGRAM)
    describe_place(PROGRAM, board.pk, version=2, off_floor_cm=10)
    assert wrong() == []


@pytest.mark.parametrize(
    ("mine", "theirs", "level"),
    [
        ("rubber", "silver_plate", "refuse"), ("cork", "lead", "refuse"), ("rubber", "lead", "refuse"), ("cork", "silver_plate", "refuse"),
        ("rubber", "copper_alloy", "warn"), ("felt", "silver_plate", "warn"), ("cork", "copper_alloy", "warn"), ("cork", "steel", "warn"),
        ("wood", "lead", "warn"), ("cellulose_nitrate", "steel", "warn"), ("cellulose_acetate", "copper_alloy", "warn"),
    ],
)  # fmt: skip
def test_neighbours_in_a_closed_box(mine: str, theirs: str, level: str) -> None:
    """8.4, ours on the lists of the AIC exhibit technote: silver or lead with rubber or cork is refused, the rest is warned of."""
    _hall, _store, board = stock.shelf()
    box = closed_box()
    move_box(PROGRAM, box.pk, place_id=board.pk)
    first, second = stock.helmet("1974.1.1", materials=[theirs]), stock.helmet("1974.1.2", materials=[mine])
    move_object(PROGRAM, first.pk, place_id=box.pk, planned=True)
    with pytest.raises(PlacingRefused if level == "refuse" else Invalid):
        move_object(PROGRAM, second.pk, place_id=box.pk, planned=True)
    move_object(PROGRAM, second.pk, place_id=box.pk)
    assert {(one.object_id, one.level) for one in Misplaced.objects.filter(code="NEIGHBOUR")} == {(first.pk, level), (second.pk, level)}
    kept = wrong()
    derived.rebuild()
    assert wrong() == kept
    move_object(PROGRAM, second.pk, place_id=board.pk, planned=True)
    assert wrong() == []


def test_on_an_open_shelf_the_same_two_are_no_neighbours() -> None:
    _hall, _store, board = stock.shelf()
    for number, material in (("1974.1.1", "silver_plate"), ("1974.1.2", "rubber")):
        assert move_object(PROGRAM, stock.helmet(number, materials=[material]).pk, place_id=board.pk, planned=True) == []


def test_a_box_is_put_where_what_lies_in_it_may_stand() -> None:
    _hall, store, board = stock.shelf()
    describe_place(PROGRAM, store.pk, version=1, spot="attic")
    thing, box = stock.helmet(), closed_box()
    move_object(PROGRAM, thing.pk, place_id=box.pk)
    with pytest.raises(PlacingRefused):
        move_box(PROGRAM, box.pk, place_id=board.pk, planned=True)
    assert move_box(PROGRAM, box.pk, place_id=board.pk)
    assert wrong() == [("refuse", "CX41")]


def test_a_move_taken_back_takes_its_trouble_with_it() -> None:
    _hall, _store, board = stock.shelf()
    thing = stock.helmet()
    move_object(PROGRAM, thing.pk, place_id=board.pk, resting="stack")
    correct_move(PROGRAM, Movement.objects.get().pk, reason="another helmet was meant")
    assert wrong() == []


def test_what_is_held_goes_into_quarantine_and_nowhere_else() -> None:
    """A hold refuses what is planned; isolating is a safe step, which it lets pass."""
    hall, _store, board = stock.shelf()
    apart = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-Q", name="Quarantine", parent_id=hall.pk, use="quarantine")
    thing = stock.helmet()
    report_hazard(PROGRAM, thing.pk, code="ASBESTOS", level=3)
    with pytest.raises(PlacingRefused):
        move_object(PROGRAM, thing.pk, place_id=board.pk, planned=True)
    assert move_object(PROGRAM, thing.pk, place_id=apart.pk, planned=True) == []
    assert move_object(PROGRAM, thing.pk, place_id=board.pk) == []


def text(answer: Any) -> str:
    return str(answer.content.decode())


def test_the_page_warns_before_it_stores_and_keeps_what_was_typed(volunteer: Person, as_person: Browser) -> None:
    _hall, _store, board = stock.shelf()
    thing, browser = stock.helmet(), as_person(volunteer)
    address = f"/things/{thing.pk}/move/"
    asked = text(browser.post(address, {"ask": "1", "to": "place", "place": str(board.pk), "resting": "stack", "reason": "the shelf is full"}))
    assert "What speaks against it" in asked
    assert "CX36" in asked
    assert 'value="the shelf is full"' in asked
    assert 'formmethod="get"' not in asked, "else what was typed, and the form's token, would stand in the address"
    assert not Movement.objects.exists()
    form = {"id": str(uuid7()), "to": "place", "place": str(board.pk), "resting": "stack"}
    refused = browser.post(address, form)
    assert refused.status_code == 400
    assert "Instead" in text(refused)
    assert not Movement.objects.exists()
    assert browser.post(address, form | {"stands": "on"}).status_code == 302
    assert "As it stands now" in text(browser.get(address))


def test_the_place_and_the_list_show_what_stands_wrong(curator: Person, volunteer: Person, as_person: Browser) -> None:
    _hall, _store, board = stock.shelf()
    thing = stock.helmet()
    move_object(PROGRAM, thing.pk, place_id=board.pk, resting="hanging")
    assert "Urgent:" in text(as_person(curator).get(f"/places/{board.pk}/"))
    assert "1974.12.3" in text(as_person(volunteer).get("/places/wrong/"))


def test_programs_are_refused_too_and_say_that_it_stands_already(volunteer: Person, curator: Person, as_person: Browser) -> None:
    _hall, _store, board = stock.shelf()
    thing, browser = stock.helmet(), as_person(volunteer)
    body = {"id": str(uuid7()), "object": str(thing.pk), "place": str(board.pk), "resting": "brim"}
    refused = browser.post("/api/movements/", body, content_type="application/json")
    assert (refused.status_code, refused.json()["code"]) == (409, "placing_refused")
    stored = browser.post("/api/movements/", body | {"stands_already": True}, content_type="application/json")
    assert stored.status_code == 201
    assert stored.json()["warnings"]
    listed = browser.get("/api/places/wrong/").json()["misplaced"] if Actor.of(volunteer).may("place.see_exact") else None
    assert listed is None
    assert as_person(curator).get("/api/places/wrong/").json()["misplaced"][0]["code"] == "CX38"
    like = {"id": str(uuid7()), "version": 1, "spot": "cellar"}
    assert as_person(curator).post(f"/api/places/{board.pk}/like/", like, content_type="application/json").json()["spot"] == "cellar"
