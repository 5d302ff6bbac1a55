"""Where things are: moved, in boxes, on a past day; nowhere twice."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.db.backends.postgresql.psycopg_any import DateTimeTZRange

from locations.places import derived
from locations.places.actions import CodeTaken, close_place, correct_move, make_place, move_box, move_object
from locations.places.models import Movement, Place, Stay
from locations.places.queries import neighbours, objects_below, place_words, where_is, words_of
from museum import clock
from museum.errors import Forbidden, Invalid, NotFound
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock

pytestmark = pytest.mark.django_db


def box(code: str = "B1") -> Place:
    return make_place(PROGRAM, place_id=uuid7(), level="box", code=code, name=f"Box {code}", mobile=True, closed_container=True)


def test_a_thing_stands_where_it_was_put(volunteer: Person) -> None:
    _hall, _store, board = stock.shelf()
    thing = stock.helmet()
    assert move_object(Actor.of(volunteer), thing.pk, place_id=board.pk) == []
    assert words_of(where_is(thing), exact=True) == "Hose hall › Cold store › Shelf 1"
    thing.card.refresh_from_db()
    assert (thing.card.place, thing.card.building_text) == (board.pk, "Hose hall")
    assert objects_below(board.pk) == [thing.pk]


def test_a_box_moves_with_its_contents_by_one_movement(db: None) -> None:
    _hall, store, board = stock.shelf()
    crate, things = box(), [stock.helmet(f"1974.1.{n}") for n in (1, 2, 3)]
    move_box(PROGRAM, crate.pk, place_id=board.pk)
    for thing in things:
        move_object(PROGRAM, thing.pk, place_id=crate.pk)
    before = Movement.objects.count()
    move_box(PROGRAM, crate.pk, place_id=store.pk)
    assert Movement.objects.count() == before + 1
    assert {where_is(thing).path[1].pk for thing in things} == {store.pk}
    assert objects_below(board.pk) == []
    assert set(neighbours(things[0].pk)) == {things[1].pk, things[2].pk}


def test_where_it_was_on_a_past_day(db: None) -> None:
    _hall, store, board = stock.shelf()
    thing, start = stock.helmet(), datetime(2025, 3, 1, 12, tzinfo=UTC)
    with clock.at(start):
        move_object(PROGRAM, thing.pk, place_id=board.pk)
    with clock.at(start + timedelta(days=10)):
        move_object(PROGRAM, thing.pk, place_id=store.pk)
    assert where_is(thing, start + timedelta(days=5)).place == board
    assert where_is(thing, start + timedelta(days=11)).place == store
    assert where_is(thing, start - timedelta(days=1)).place is None


def test_a_move_told_late_takes_its_turn(db: None) -> None:
    _hall, store, board = stock.shelf()
    thing = stock.helmet()
    with clock.at(datetime(2025, 3, 20, 12, tzinfo=UTC)):
        move_object(PROGRAM, thing.pk, place_id=store.pk)
        move_object(PROGRAM, thing.pk, place_id=board.pk, happened_on=datetime(2025, 3, 5, tzinfo=UTC).date())
    assert where_is(thing).place == store
    assert where_is(thing, datetime(2025, 3, 6, tzinfo=UTC)).place == board


def test_the_future_is_not_recorded(db: None) -> None:
    _hall, _store, board = stock.shelf()
    with pytest.raises(Invalid):
        move_object(PROGRAM, stock.helmet().pk, place_id=board.pk, happened_on=clock.today() + timedelta(days=1))


def test_the_database_lets_nothing_stand_twice(db: None) -> None:
    _hall, store, board = stock.shelf()
    thing = stock.helmet()
    move_object(PROGRAM, thing.pk, place_id=board.pk)
    with pytest.raises(IntegrityError), transaction.atomic():
        Stay.objects.create(component=thing.components.get(), to="place", place=store, movement=uuid7(), during=DateTimeTZRange(clock.now(), None))


def test_a_move_to_a_closed_place_is_stored_with_a_warning(db: None) -> None:
    _hall, _store, board = stock.shelf()
    close_place(PROGRAM, board.pk, reason="damp wall")
    thing = stock.helmet()
    assert len(move_object(PROGRAM, thing.pk, place_id=board.pk)) == 1
    assert where_is(thing).place == board


def test_a_place_with_something_in_it_is_not_closed(db: None) -> None:
    _hall, _store, board = stock.shelf()
    move_object(PROGRAM, stock.helmet().pk, place_id=board.pk)
    with pytest.raises(Invalid):
        close_place(PROGRAM, board.pk, reason="")


def test_a_wrong_move_is_corrected_and_both_stay(db: None) -> None:
    _hall, store, board = stock.shelf()
    thing = stock.helmet()
    move_object(PROGRAM, thing.pk, place_id=board.pk)
    correct_move(PROGRAM, Movement.objects.get().pk, reason="wrong shelf", place_id=store.pk)
    assert where_is(thing).place == store
    assert Movement.objects.count() == 2


def test_codes_are_unique_among_open_places(db: None) -> None:
    stock.shelf()
    with pytest.raises(CodeTaken):
        make_place(PROGRAM, place_id=uuid7(), level="building", code="H", name="Another")


def test_stays_are_rebuilt_to_equal_rows(db: None) -> None:
    _hall, store, board = stock.shelf()
    crate, thing = box(), stock.helmet()
    move_box(PROGRAM, crate.pk, place_id=board.pk)
    move_object(PROGRAM, thing.pk, place_id=crate.pk)
    move_box(PROGRAM, crate.pk, place_id=store.pk)
    columns = ("component", "mobile", "to", "place", "during", "movement")
    before = sorted(map(str, Stay.objects.values_list(*columns)))
    derived.rebuild()
    assert sorted(map(str, Stay.objects.values_list(*columns))) == before


def test_who_reads_which_place(volunteer: Person, curator: Person, reader: Person, administrator: Person) -> None:
    _hall, _store, board = stock.shelf()
    thing = stock.helmet()
    move_object(PROGRAM, thing.pk, place_id=board.pk)
    assert place_words(Actor.of(curator), thing).endswith("Shelf 1")
    assert place_words(Actor.of(volunteer), thing) == "Hose hall"
    assert place_words(Actor.of(volunteer), thing, on_round=True).endswith("Shelf 1")
    assert place_words(Actor.of(reader), thing) == "Hose hall"
    assert place_words(Actor.of(administrator), thing) == ""


def test_a_reader_moves_nothing(reader: Person) -> None:
    with pytest.raises(Forbidden):
        move_object(Actor.of(reader), uuid7(), to="unlocated")


def test_what_is_not_there_is_not_found(volunteer: Person) -> None:
    with pytest.raises(NotFound):
        move_object(Actor.of(volunteer), uuid7(), to="unlocated")


def test_a_correction_puts_no_box_into_itself(db: None) -> None:
    _hall, store, board = stock.shelf()
    outer, inner = box("B1"), box("B2")
    move_box(PROGRAM, outer.pk, place_id=board.pk)
    told = Movement.objects.get(mobile=outer)
    move_box(PROGRAM, inner.pk, place_id=outer.pk)
    move_box(PROGRAM, outer.pk, place_id=store.pk)
    move_box(PROGRAM, inner.pk, place_id=board.pk)
    with pytest.raises(Invalid):
        correct_move(PROGRAM, told.pk, place_id=outer.pk, reason="it was elsewhere")
