"""What lower parts changed is followed, however much stands there."""

import pytest

from conservation.checks.actions.record import record_check
from conservation.checks.follow import catch_up
from conservation.checks.models import Due
from locations.places import actions
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock


def test_another_use_of_a_place_dates_all_in_it_anew(db: None, volunteer: Person, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also those whom the entry does not name: an entry names only so many."""
    _hall, store, board = stock.shelf()
    thing = stock.helmet()
    actions.move_object(PROGRAM, thing.pk, place_id=board.pk)
    record_check(Actor.of(volunteer), stock.full_check(thing))
    catch_up()
    before = Due.objects.get(object=thing, sort="quick").on
    monkeypatch.setattr(actions, "MOST_TOLD", 0)
    actions.change_place(PROGRAM, store.pk, version=store.version, code=store.code, name=store.name, use="display", walk=store.walk)
    catch_up()
    assert Due.objects.get(object=thing, sort="quick").on < before
