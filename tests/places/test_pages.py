"""Pages and API of places, as the people of the house use them."""

import re
from collections.abc import Callable
from datetime import UTC, datetime
from itertools import pairwise
from typing import Any

import pytest
from django.test import Client

from collection.objects.actions.parts import add_component
from collection.objects.models import Component
from locations.places import derived, views
from locations.places.actions import correct_move, make_place, move_box, move_object
from locations.places.models import Movement, Place, Stay
from locations.places.queries import objects_below, path_of, room_mates, where_is, where_on, without_place, words_of
from museum import clock
from museum.errors import Forbidden, Invalid
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]


def crate(code: str = "B1", place: Place | None = None) -> Place:
    made = make_place(PROGRAM, place_id=uuid7(), level="box", code=code, name=f"Box {code}", mobile=True, closed_container=True)
    if place:
        move_box(PROGRAM, made.pk, place_id=place.pk)
    return made


def text(answer: Any) -> str:
    return str(answer.content.decode())


# what the actions promise


def test_loose_parts_go_with_the_whole_as_long_as_they_stand_with_it() -> None:
    _hall, store, board = stock.shelf()
    thing = stock.helmet()
    strap = add_component(PROGRAM, thing.pk, sort="loose", name="strap", lettered=True)
    badge = add_component(PROGRAM, thing.pk, sort="retained", name="badge", lettered=True)
    move_object(PROGRAM, thing.pk, place_id=board.pk)
    assert {where_on(part.pk).place for part in (strap, badge)} == {board}
    move_object(PROGRAM, thing.pk, place_id=store.pk, parts=[badge.pk])
    hall = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-G", name="Gallery", parent_id=_hall.pk, use="display")
    move_object(PROGRAM, thing.pk, place_id=hall.pk)
    assert (where_is(thing).place, where_on(strap.pk).place, where_on(badge.pk).place) == (hall, hall, store)


def test_a_fixed_part_is_moved_with_what_it_is_fixed_to() -> None:
    _hall, store, board = stock.shelf()
    thing = stock.helmet()
    move_object(PROGRAM, thing.pk, place_id=board.pk)
    visor = add_component(PROGRAM, thing.pk, sort="fixed", name="visor")
    for parts in ([visor.pk], [uuid7()]):
        with pytest.raises(Invalid):
            move_object(PROGRAM, thing.pk, place_id=store.pk, parts=parts)


def test_boxes_in_boxes_are_walked_through_on_any_day() -> None:
    hall, store, board = stock.shelf()
    start = datetime(2025, 1, 1, 12, tzinfo=UTC)

    def at(day: int) -> datetime:
        return start.replace(day=day)

    with clock.at(start):
        inner, outer = crate("B1"), crate("B2", board)
    thing = stock.helmet()
    with clock.at(at(2)):
        move_object(PROGRAM, thing.pk, place_id=inner.pk)
    with clock.at(at(3)):
        move_box(PROGRAM, inner.pk, place_id=outer.pk)
    with clock.at(at(10)):
        move_box(PROGRAM, outer.pk, place_id=store.pk)
    assert [place.code for place in where_is(thing, at(5)).path] == ["B1", "B2", "H-S-1", "H-S", "H"]
    assert [place.code for place in where_is(thing, at(11)).path] == ["B1", "B2", "H-S", "H"]
    assert objects_below(board.pk, at(5)) == [thing.pk]
    assert objects_below(board.pk, at(11)) == []
    assert objects_below(hall.pk, at(2)) == []
    assert where_is(thing).use == "store"
    thing.card.refresh_from_db()
    assert (thing.card.place, thing.card.place_text) == (inner.pk, "Hose hall › Cold store › Box B2 › Box B1")


def test_a_box_never_stands_in_itself() -> None:
    _hall, _store, board = stock.shelf()
    outer = crate("B2", board)
    inner = crate("B1", outer)
    for target in (outer, inner):
        with pytest.raises(Invalid):
            move_box(PROGRAM, outer.pk, place_id=target.pk)


def test_what_lies_in_a_box_that_is_away_is_away() -> None:
    _hall, _store, board = stock.shelf()
    box = crate("B1", board)
    thing = stock.helmet()
    move_object(PROGRAM, thing.pk, place_id=box.pk)
    move_box(PROGRAM, box.pk, to="on_loan", reason="to the harbour museum")
    assert (words_of(where_is(thing), exact=True), where_is(thing).use) == ("away on loan", "on_loan")
    thing.card.refresh_from_db()
    assert (thing.card.place_text, thing.card.building_text) == ("away on loan", "away on loan")
    assert Movement.objects.filter(component__object=thing).count() == 1


@pytest.mark.parametrize("to", ["transit", "on_loan", "with_others", "unlocated", "gone"])
def test_a_thing_may_be_in_no_place_of_ours(to: str) -> None:
    _hall, _store, board = stock.shelf()
    thing = stock.helmet()
    move_object(PROGRAM, thing.pk, place_id=board.pk)
    move_object(PROGRAM, thing.pk, to=to)
    assert (where_is(thing).to, where_is(thing).place) == (to, None)
    assert objects_below(board.pk) == []
    assert list(without_place(PROGRAM)) == ([thing.card] if to == "unlocated" else [])


def test_a_withdrawn_move_leaves_the_thing_where_it_was_before() -> None:
    _hall, store, board = stock.shelf()
    thing = stock.helmet()
    move_object(PROGRAM, thing.pk, place_id=board.pk)
    move_object(PROGRAM, thing.pk, place_id=store.pk)
    wrong = Movement.objects.get(place=store)
    fact = correct_move(PROGRAM, wrong.pk, reason="another helmet was carried")
    assert fact.withdraws
    assert where_is(thing).place == board
    assert Movement.objects.count() == 3


def test_every_placed_component_has_one_current_stay_whatever_was_told_late() -> None:
    _hall, store, board = stock.shelf()
    thing = stock.helmet()
    days = [datetime(2025, 3, day, tzinfo=UTC).date() for day in (20, 5, 20, 9)]
    for n, day in enumerate(days):
        move_object(PROGRAM, thing.pk, place_id=(board, store)[n % 2].pk, happened_on=day)
    stays = Stay.objects.filter(component__object=thing).order_by("during")
    assert [stay.during.lower.date() for stay in stays] == sorted(set(days))
    assert stays.filter(during__upper_inf=True).count() == 1
    assert all(one.during.upper == other.during.lower for one, other in pairwise(stays))


def test_the_walk_orders_the_whole_tree() -> None:
    def make(level: str, code: str, within: Place | None = None, walk: int = 0) -> Place:
        return make_place(PROGRAM, place_id=uuid7(), level=level, code=code, name=code, parent_id=within.pk if within else None, walk=walk)

    house = make("building", "A")
    late, early = make("room", "A-1", house, 2), make("room", "A-2", house, 1)
    make("shelf", "A-1-1", late)
    make("shelf", "A-2-1", early)
    make("building", "0")
    assert list(Place.objects.order_by("path_key").values_list("code", flat=True)) == ["0", "A", "A-2", "A-2-1", "A-1", "A-1-1"]


def test_levels_stand_in_what_can_hold_them() -> None:
    hall, _store, board = stock.shelf()
    for level, within in (("shelf", hall), ("room", board), ("room", None), ("building", hall)):
        with pytest.raises(Invalid):
            make_place(PROGRAM, place_id=uuid7(), level=level, code="X", name="X", parent_id=within.pk if within else None)


def test_the_administrator_sets_up_places_until_the_first_thing_stands(administrator: Person) -> None:
    by = Actor.of(administrator)
    make_place(by, place_id=uuid7(), level="building", code="Z", name="Annex")
    _hall, _store, board = stock.shelf()
    move_object(PROGRAM, stock.helmet().pk, place_id=board.pk)
    with pytest.raises(Forbidden):
        make_place(by, place_id=uuid7(), level="building", code="Y", name="Yard")


def test_cards_are_rebuilt_to_equal_words_also_of_what_was_never_placed() -> None:
    _hall, _store, board = stock.shelf()
    placed, never = stock.helmet(), stock.helmet("1974.12.4")
    move_object(PROGRAM, placed.pk, place_id=board.pk)

    def words() -> list[Any]:
        return [(card.place, card.place_text, card.building_text) for card in (placed.card, never.card) if not card.refresh_from_db()]

    before = words()
    derived.rebuild()
    assert words() == before
    assert before[1] == (None, "", "")


def test_a_box_of_forty_is_moved_by_few_questions(django_assert_max_num_queries: Callable[[int], Any]) -> None:
    _hall, store, board = stock.shelf()
    box = crate("B1", board)
    for n in range(40):
        move_object(PROGRAM, stock.helmet(f"1974.1.{n + 1}").pk, place_id=box.pk)
    with django_assert_max_num_queries(45):
        move_box(PROGRAM, box.pk, place_id=store.pk)
    assert len(objects_below(store.pk)) == 40


def test_room_mates_are_found_through_shelves_and_boxes() -> None:
    _hall, store, board = stock.shelf()
    one, other = stock.helmet(), stock.helmet("1974.12.4")
    move_object(PROGRAM, one.pk, place_id=crate("B1", board).pk)
    move_object(PROGRAM, other.pk, place_id=store.pk)
    assert room_mates(one.pk) == [other.pk]
    assert [place.code for place in path_of(board.pk)] == ["H-S-1", "H-S", "H"]


# what people see and do


def test_from_then_on_the_administrator_reads_nowhere_what_places_there_are(administrator: Person, curator: Person, as_person: Browser) -> None:
    """The list for programs answered as if the administrator cared for the collection, and so did the choices of the form."""
    _hall, _store, board = stock.shelf()
    browser, addresses = as_person(administrator), ("/places/new/", "/api/places/")
    assert [browser.get(address).status_code for address in addresses] == [200, 200]
    move_object(PROGRAM, stock.helmet().pk, place_id=board.pk)
    answers = [browser.get(address) for address in (*addresses, f"/places/{board.pk}/", f"/api/places/{board.pk}/")]
    assert [answer.status_code for answer in answers] == [403] * 4
    assert not any("Cold store" in answer.content.decode() for answer in answers)
    assert [as_person(curator).get(address).status_code for address in addresses] == [200, 200]


def test_the_tree_is_shown_as_far_as_one_may_see_it(curator: Person, volunteer: Person, reader: Person, administrator: Person, as_person: Browser) -> None:
    stock.shelf()
    crate()
    assert "Cold store" in text(as_person(curator).get("/places/"))
    page = text(as_person(volunteer).get("/places/"))
    assert "The list of a round says on which shelf" in page
    assert "The list of a round" not in text(as_person(reader).get("/places/")), "who walks no round is sent to none"
    assert "Hose hall" in page
    assert "Cold store" not in page
    assert "Box B1" not in page
    assert as_person(administrator).get("/places/").status_code in (403, 404)


def test_the_tree_counts_what_stands_in_each_place_and_all_below(curator: Person, volunteer: Person, reader: Person, as_person: Browser) -> None:
    """A box counts where it stands; who sees no exact place is told of the building only, a guest of what is shown to all."""
    _hall, store, board = stock.shelf()
    box = crate(place=board)
    for number, place in (("1974.1.1", board), ("1974.1.2", box), ("1974.1.3", store)):
        move_object(PROGRAM, stock.helmet(number).pk, place_id=place.pk)
    page = as_person(curator).get("/places/").content.decode()
    assert re.findall(r">(\d) things?<", page) == ["3", "3", "2", "1"]
    assert re.findall(r">(\d) things?<", as_person(volunteer).get("/places/").content.decode()) == ["3"]
    assert ">3 things<" not in as_person(reader).get("/places/").content.decode()


def test_of_a_large_house_the_tree_shows_the_rooms(curator: Person, as_person: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    _hall, store, board = stock.shelf()
    move_object(PROGRAM, stock.helmet().pk, place_id=board.pk)
    monkeypatch.setattr(views, "WHOLE_TREE", 2)
    page = text(as_person(curator).get("/places/"))
    assert board.code not in page
    assert re.findall(r">(\d) things?<", page) == ["1", "1"]
    assert board.code in text(as_person(curator).get(f"/places/{store.pk}/"))
    inside, away = (make_place(PROGRAM, place_id=uuid7(), level="box", code=code, name="Box", mobile=True) for code in ("BOX-7", "BOX-8"))
    move_box(PROGRAM, inside.pk, place_id=board.pk)
    page = text(as_person(curator).get("/places/"))
    assert inside.code not in page
    assert away.code in page, "it stands on no page of a room"


def test_a_place_shows_what_stood_there_on_a_day(curator: Person, volunteer: Person, as_person: Browser) -> None:
    _hall, store, board = stock.shelf()
    thing = stock.helmet()
    with clock.at(datetime(2025, 3, 1, 12, tzinfo=UTC)):
        move_object(PROGRAM, thing.pk, place_id=board.pk)
    move_object(PROGRAM, thing.pk, place_id=store.pk)
    address = f"/places/{board.pk}/"
    assert "1974.12.3</a>" not in text(as_person(curator).get(address))
    assert "1974.12.3</a>" in text(as_person(curator).get(address, {"on": "2025-03-02"}))
    assert "1974.12.3</a>" not in text(as_person(curator).get(address, {"on": "2025-02-27"}))
    assert as_person(volunteer).get(address).status_code == 403


def test_places_are_made_named_anew_and_closed_by_hand(curator: Person, as_person: Browser) -> None:
    client = as_person(curator)
    client.post("/places/new/", {"id": str(uuid7()), "level": "building", "code": "H", "name": "Hose hall"})
    house = Place.objects.get()
    for _ in range(2):
        form = {"id": "01890000-0000-7000-8000-000000000001", "level": "room", "code": "H-S", "name": "Cold store", "parent": str(house.pk)}
        client.post("/places/new/", form)
    room = Place.objects.get(code="H-S")
    change = {"version": "1", "code": "H-C", "name": "Cold room", "use": "store", "walk": "3"}
    client.post(f"/places/{room.pk}/change/", change)
    room.refresh_from_db()
    assert (room.code, room.name, room.walk, room.version) == ("H-C", "Cold room", 3, 2)
    second = client.post(f"/places/{room.pk}/change/", change | {"name": "Ice room"})
    assert second.status_code == 409
    assert "Ice room" in text(second)
    client.post(f"/places/{room.pk}/close/", {"reason": "damp"})
    room.refresh_from_db()
    assert room.closed_on == clock.today()
    taken = client.post("/places/new/", {"level": "building", "code": "H", "name": "Another"})
    assert taken.status_code == 400
    assert "Another place has the code H" in text(taken)


def test_who_describes_a_place_second_sees_both(curator: Person, as_person: Browser) -> None:
    _hall, _store, board = stock.shelf()
    client, address = as_person(curator), f"/places/{board.pk}/like/"
    assert client.post(address, {"version": "1", "spot": "attic", "sun": "on"}).status_code == 302
    second = client.post(address, {"version": "1", "spot": "attic", "off_floor_cm": "40"})
    assert second.status_code == 409
    shown = text(second)
    assert re.search(r"reaches it\s*</th><td[^>]*>yes</td><td[^>]*>no</td>", shown)
    assert "40" in shown
    again = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)">', second.content.decode()))
    assert client.post(address, again).status_code == 302
    board.refresh_from_db()
    assert (board.sun, board.off_floor_cm, board.version) == (False, 40, 3)


@pytest.mark.parametrize("wrong", [{"off_floor_cm": "90000"}, {"off_floor_cm": "waist"}])
def test_a_height_that_is_none_is_refused_in_words(curator: Person, as_person: Browser, wrong: dict[str, str]) -> None:
    _hall, _store, board = stock.shelf()
    page = as_person(curator).post(f"/places/{board.pk}/like/", {"version": "1", "spot": "attic"} | wrong, follow=True)
    assert "whole number of centimetres" in text(page)
    board.refresh_from_db()
    assert (board.spot, board.off_floor_cm) == ("", None)


@pytest.mark.parametrize("wrong", [{"code": " "}, {"name": ""}, {"use": "cellar of wines"}, {"walk": "first"}, {"walk": "99999"}])
def test_a_place_keeps_its_names_where_others_make_no_sense(curator: Person, as_person: Browser, wrong: dict[str, str]) -> None:
    _hall, _store, board = stock.shelf()
    as_person(curator).post(f"/places/{board.pk}/change/", {"version": "1", "code": "X", "name": "Board", "use": "store", "walk": "3"} | wrong)
    board.refresh_from_db()
    assert (board.code, board.name, board.version) == ("H-S-1", "Shelf 1", 1)


def test_a_box_is_made_where_it_stands_and_carried_on_loan(curator: Person, as_person: Browser) -> None:
    _hall, store, board = stock.shelf()
    client = as_person(curator)
    client.post("/places/new/", {"level": "box", "code": "B1", "name": "Box 1", "closed": "on", "stands": str(board.pk)})
    box = Place.objects.get(code="B1")
    assert [place.code for place in path_of(box.pk)][1] == "H-S-1"
    client.post(f"/places/{box.pk}/move/", {"place": str(store.pk), "to": "place"})
    assert [place.code for place in path_of(box.pk)][1] == "H-S"
    client.post(f"/places/{box.pk}/move/", {"to": "on_loan", "reason": "harbour museum"})
    assert Stay.objects.get(mobile=box, during__upper_inf=True).to == "on_loan"


def test_a_volunteer_tells_a_move_and_a_second_tap_changes_nothing(volunteer: Person, as_person: Browser) -> None:
    _hall, _store, board = stock.shelf()
    thing = stock.helmet()
    form = {"id": str(uuid7()), "to": "place", "place": str(board.pk), "reason": "shelf cleared", "on": "2025-03-05"}
    for _ in range(2):
        assert as_person(volunteer).post(f"/things/{thing.pk}/move/", form).status_code == 302
    move = Movement.objects.get()
    assert (str(move.happened_on), move.happened_at, move.by) == ("2025-03-05", None, volunteer)
    wrong = as_person(volunteer).post(f"/things/{thing.pk}/move/", {"to": "place", "reason": "I forgot where"})
    assert wrong.status_code == 400
    assert "I forgot where" in text(wrong)


def test_a_move_told_wrongly_is_corrected_on_its_page(curator: Person, volunteer: Person, as_person: Browser) -> None:
    _hall, store, board = stock.shelf()
    thing = stock.helmet()
    move_object(PROGRAM, thing.pk, place_id=board.pk)
    page = text(as_person(curator).get(f"/things/{thing.pk}/move/"))
    address = f"/movements/{Movement.objects.get().pk}/correct/"
    assert address in page
    assert address not in text(as_person(volunteer).get(f"/things/{thing.pk}/move/"))
    as_person(curator).post(address, {"place": str(store.pk), "reason": "one shelf further"})
    assert where_is(thing).place == store


def test_several_things_are_moved_by_their_numbers(volunteer: Person, as_person: Browser) -> None:
    _hall, _store, board = stock.shelf()
    things = [stock.helmet(f"1974.1.{n}") for n in (1, 2)]
    form = {"act": str(uuid7()), "place": str(board.pk), "numbers": "1974.1.1\r\n 1974 . 1 . 2\r\n1974.1.1\r\n1999.9.9\r\n"}
    for _ in range(2):
        page = text(as_person(volunteer).post("/places/move/", form))
    assert objects_below(board.pk) == sorted(thing.pk for thing in things)
    assert Movement.objects.count() == 2
    assert "Nothing here carries this number" in page
    assert ">1999.9.9</textarea>" in page


def test_a_part_with_its_number_is_moved_alone(volunteer: Person, as_person: Browser) -> None:
    _hall, store, board = stock.shelf()
    thing = stock.helmet("1974.1.1")
    strap = add_component(PROGRAM, thing.pk, sort="loose", name="strap", lettered=True)
    move_object(PROGRAM, thing.pk, place_id=board.pk)
    as_person(volunteer).post("/places/move/", {"place": str(store.pk), "numbers": "1974.1.1b"})
    assert (where_is(thing).place, where_on(strap.pk).place) == (board, store)
    assert Component.objects.get(pk=strap.pk).letter == "b"


def test_things_without_a_place_are_listed(volunteer: Person, curator: Person, as_person: Browser) -> None:
    thing = stock.helmet()
    assert "1 thing is without a place" in text(as_person(curator).get("/places/"))
    assert f"/things/{thing.pk}/move/" in text(as_person(volunteer).get("/places/nowhere/"))
    _hall, _store, board = stock.shelf()
    move_object(PROGRAM, thing.pk, place_id=board.pk)
    assert "Everything has its place" in text(as_person(volunteer).get("/places/nowhere/"))


# what programs send


def send(client: Client, address: str, **body: Any) -> tuple[int, dict[str, Any]]:
    plain = {name: str(value) if not isinstance(value, (int, list, type(None))) else value for name, value in body.items()}
    answer = client.post(address, plain, content_type="application/json")
    return answer.status_code, answer.json()


def test_a_device_tells_moves_as_often_as_it_must(volunteer: Person, as_person: Browser) -> None:
    _hall, store, board = stock.shelf()
    box, thing, client = crate("B1", board), stock.helmet(), as_person(volunteer)
    key = uuid7()
    for _ in range(2):
        told = send(client, "/api/movements/", id=key, object=thing.pk, place=box.pk, happened_at="2025-03-05T10:00:00Z")
        assert told == (201, {"id": str(key), "warnings": []})
    assert Movement.objects.filter(component__object=thing).count() == 1
    assert send(client, "/api/movements/", id=key, object=thing.pk, place=store.pk)[1]["code"] == "same_key_other_content"
    assert send(client, "/api/movements/", id=uuid7(), box=box.pk, place=store.pk)[0] == 201
    assert where_is(thing).path[1] == store
    status, body = send(client, "/api/movements/", id=uuid7(), object=thing.pk, place=board.pk, happened_on="2999-01-01")
    assert (status, body["field"]) == (400, "happened_on")
    assert send(client, "/api/movements/", id=uuid7(), object=thing.pk, box=box.pk, to="gone")[0] == 400
    assert send(client, "/api/movements/", id=uuid7(), object=uuid7(), to="gone")[0] == 404
    wrong = Movement.objects.get(component__object=thing)
    assert send(client, f"/api/movements/{wrong.pk}/correct/", id=uuid7(), reason="other shelf", place=board.pk)[0] == 201
    assert where_is(thing).place == board


def test_a_program_makes_changes_and_closes_places(registrar: Person, volunteer: Person, as_person: Browser) -> None:
    client, key = as_person(registrar), uuid7()
    for _ in range(2):
        status, body = send(client, "/api/places/", id=key, level="building", code="H", name="Hose hall")
        assert (status, body["id"], body["version"]) == (201, str(key), 1)
    assert send(client, "/api/places/", id=uuid7(), level="building", code="H", name="Other")[1]["code"] == "code_taken"
    assert send(client, f"/api/places/{key}/", id=uuid7(), version=1, code="H", name="Hose tower", use="", walk=1)[1]["name"] == "Hose tower"
    assert send(client, f"/api/places/{key}/", id=uuid7(), version=1, code="H", name="Tower", use="", walk=1)[0] == 409
    assert client.get("/api/places/").json()["places"][0]["code"] == "H"
    assert send(client, f"/api/places/{key}/close/", id=uuid7(), reason="sold")[1]["closed_on"] == str(clock.today())
    assert as_person(volunteer).get("/api/places/").status_code == 403
