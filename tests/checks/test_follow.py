"""What lower parts changed is followed, however much stands there."""

from collections.abc import Callable
from datetime import timedelta
from uuid import UUID

import pytest
from django.test import Client

from conservation.checks import derived
from conservation.checks.actions.record import record_check
from conservation.checks.facts import Facts
from conservation.checks.follow import catch_up
from conservation.checks.models import Due
from conservation.checks.queries import unjudged
from conservation.rules.ruleset import RuleSet
from locations.places import actions
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock

Browser = Callable[[Person], Client]


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


def _breaks_at(broken: UUID, original: Callable[[Facts, RuleSet], None]) -> Callable[[Facts, RuleSet], None]:
    def refresh(facts: Facts, rules: RuleSet) -> None:
        if facts.object_id == broken:
            raise ValueError("a fault in the program")
        original(facts, rules)

    return refresh


def test_one_thing_that_breaks_the_work_off_keeps_no_other_waiting_and_is_shown(
    db: None, volunteer: Person, curator: Person, as_person: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    _hall, _store, board = stock.shelf()
    whole, broken = stock.helmet(), stock.helmet("1974.12.4")
    record_check(Actor.of(volunteer), stock.full_check(whole))
    catch_up()
    with monkeypatch.context() as patched:
        patched.setattr(derived, "_refresh", _breaks_at(broken.pk, derived._refresh))
        for thing in (broken, whole):
            actions.move_object(PROGRAM, thing.pk, place_id=board.pk)
        catch_up()
    assert Due.objects.get(object=whole, sort="quick").place == board
    assert [card.number for card in unjudged()] == ["1974.12.4"]
    assert "The program could not judge these again" in as_person(curator).get("/").content.decode()
    catch_up()
    assert unjudged(), "it is tried again each day, not each minute"
    monkeypatch.setattr("conservation.checks.follow.ANOTHER_TRY", timedelta(0))
    catch_up()
    assert not unjudged()
    assert Due.objects.filter(object=broken).exists()
