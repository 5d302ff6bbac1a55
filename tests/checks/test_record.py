"""Recording a check: stored once, judged, dated; two people's checks both stand."""

import threading
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client

from conservation.checks.actions.overrule import NotByNumber, overrule
from conservation.checks.actions.record import record_check
from conservation.checks.models import Call, ConditionCheck, Due, Judgement, State
from conservation.checks.queries import open_findings
from locations.places.actions import move_object
from museum import clock
from museum.desk.timeline import of_object
from museum.errors import DomainError, Forbidden, Invalid, SameKeyOtherContent
from museum.history.verify import verify
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock

ActorOf = Callable[[Person], Actor]
Browser = Callable[[Person], Client]


def test_a_check_is_graded_dated_and_told(db: None, volunteer: Person) -> None:
    """Case C02 of the reference without its loan: grade 2, urgency 1, full check in 180 days."""
    thing = stock.helmet()
    entry = stock.full_check(
        thing,
        stock.seen(thing, "RB", "RUST_SPOT", "2"),
        stock.seen(thing, "DC", "DECAL_LIFT", "5", severity=3, material="decal"),
        stock.seen(thing, "HB", "LEA_DRY", "100", activity=0, material="leather"),
    )
    check = record_check(Actor.of(volunteer).keyed(entry.id), entry)
    state = State.objects.get(object=thing)
    assert (state.grade, state.activity, state.urgency) == (2, 1, 1)
    due = {row.sort: row.on for row in Due.objects.filter(object=thing)}
    assert due == {"full": clock.today() + timedelta(180), "quick": clock.today() + timedelta(180)}
    judgement = Judgement.objects.get(of_check=check)
    assert judgement.result["rust"][str(stock.zone(thing, "RB"))] == {"percent": 2.0, "ri": 3, "d610": 5}
    thing.card.refresh_from_db()
    assert (thing.card.grade, thing.card.full_due) == (2, due["full"])
    assert verify().broken_at is None


def test_sent_twice_it_is_stored_once(db: None, volunteer: Person) -> None:
    thing = stock.helmet()
    entry = stock.full_check(thing)
    actor = Actor.of(volunteer).keyed(entry.id)
    assert record_check(actor, entry) == record_check(actor, entry)
    assert ConditionCheck.objects.count() == 1
    other = stock.full_check(thing, key=entry.id, note="something else")
    with pytest.raises(SameKeyOtherContent):
        record_check(actor, other)


def test_a_look_of_a_day_to_come_is_not_stored(db: None, volunteer: Person) -> None:
    """It would put off the next look to long after it is due."""
    thing = stock.helmet()
    entry = replace(stock.full_check(thing), happened_on=clock.today() + timedelta(days=1))
    with pytest.raises(Invalid) as refused:
        record_check(Actor.of(volunteer), entry)
    assert refused.value.field == "happened_on"
    assert not ConditionCheck.objects.exists()


def test_a_doubtful_clock_is_marked(db: None, volunteer: Person, as_person: Browser) -> None:
    """On the page of the check and on the thing's time-line; a clock that fits is not."""
    thing = stock.helmet()
    fits, ahead = stock.full_check(thing), replace(stock.full_check(thing), happened_at=clock.now() + timedelta(hours=3))
    other_day = replace(stock.full_check(thing), happened_at=clock.now() - timedelta(days=3))
    browser = as_person(volunteer)
    for entry, doubtful in ((fits, False), (ahead, True), (other_day, True)):
        check = record_check(Actor.of(volunteer).keyed(entry.id), entry)
        page = browser.get(f"/checks/{check.pk}/").content.decode()
        assert ("clock of the device was doubtful" in page) == doubtful
        assert ("clock of the device was doubtful" in of_object(thing.pk)[0].detail) == doubtful


def test_a_finding_stays_where_it_was_first_seen(db: None, volunteer: Person) -> None:
    """A key that a device made twice, or of another thing, moves no finding and is told in words."""
    actor, thing, other = Actor.of(volunteer), stock.helmet(), stock.helmet("1974.12.4")
    first = stock.seen(thing, "RB", "RUST_SPOT")
    record_check(actor, stock.full_check(thing, first))
    elsewhere = stock.full_check(other, stock.seen(other, "RB", "RUST_SPOT", finding=first.finding))
    next_zone = stock.full_check(thing, stock.seen(thing, "DC", "RUST_SPOT", finding=first.finding, change="same"))
    for entry in (elsewhere, next_zone):
        with pytest.raises(Invalid) as refused:
            record_check(actor, entry)
        assert refused.value.field == "finding"
    assert ConditionCheck.objects.count() == 1


def test_an_observation_is_told_once(db: None, volunteer: Person) -> None:
    actor, thing = Actor.of(volunteer), stock.helmet()
    first = stock.seen(thing, "RB", "RUST_SPOT")
    record_check(actor, stock.full_check(thing, first))
    same = replace(stock.seen(thing, "RB", "RUST_SPOT", finding=first.finding, change="same"), id=first.id)
    one = stock.seen(thing, "DC", "RUST_SPOT")
    for entry in (stock.full_check(thing, same), stock.full_check(thing, one, replace(stock.seen(thing, "RB", "RUST_SPOT"), id=one.id))):
        with pytest.raises(Invalid) as refused:
            record_check(actor, entry)
        assert refused.value.field == "seen"


def test_nothing_seen_is_said_not_assumed(db: None, volunteer: Person) -> None:
    thing = stock.helmet()
    entry = stock.full_check(thing)
    looks = dict(entry.looks)
    looks.pop(str(stock.zone(thing, "RB")))
    silent = stock.full_check(thing, key=uuid7())
    object.__setattr__(silent, "looks", looks)
    with pytest.raises(Invalid) as refused:
        record_check(Actor.of(volunteer), silent)
    assert "RB" in refused.value.sentence


def test_the_first_check_wants_the_hazard_screen(db: None, volunteer: Person) -> None:
    thing = stock.helmet()
    with pytest.raises(Invalid) as refused:
        record_check(Actor.of(volunteer), stock.full_check(thing, screen={}))
    assert refused.value.data["reason"] == "screen_missing"


def test_unsure_counts_as_suspected_and_fibre_holds(db: None, volunteer: Person) -> None:
    thing = stock.helmet()
    record_check(Actor.of(volunteer), stock.full_check(thing, screen={**stock.NO_TO_ALL, "1": "unsure", "1a": "unsure"}))
    thing.card.refresh_from_db()
    assert thing.card.hazard_codes == ["ASBESTOS"]
    assert thing.card.hazard_level == 3
    state = State.objects.get(object=thing)
    assert (state.hold, state.urgency) == (True, 3)


def test_two_people_at_one_helmet_both_stand(db: None, volunteer: Person, curator: Person) -> None:
    thing = stock.helmet()
    rust = stock.seen(thing, "RB", "RUST_SPOT")
    record_check(Actor.of(volunteer), stock.full_check(thing, rust))
    dent = stock.seen(thing, "SH", "DENT", "1")
    record_check(Actor.of(curator), stock.full_check(thing, dent, rust_again(thing, rust)))
    assert ConditionCheck.objects.filter(object=thing).count() == 2
    assert {row.term for row in open_findings(thing.pk)} == {"RUST_SPOT", "DENT"}


def rust_again(thing: Any, before: Any) -> Any:
    return stock.seen(thing, "RB", "RUST_SPOT", change="same", finding=before.finding)


def test_a_finding_not_visible_still_stands_and_gone_goes(db: None, volunteer: Person) -> None:
    thing, actor = stock.helmet(), Actor.of(volunteer)
    rust = stock.seen(thing, "RB", "RUST_SPOT")
    record_check(actor, stock.full_check(thing, rust))
    hidden = stock.seen(thing, "RB", "RUST_SPOT", change="not_visible", finding=rust.finding)
    record_check(actor, stock.full_check(thing, hidden))
    assert [row.term for row in open_findings(thing.pk)] == ["RUST_SPOT"]
    record_check(actor, stock.full_check(thing, stock.seen(thing, "RB", "RUST_SPOT", change="gone", finding=rust.finding)))
    assert open_findings(thing.pk) == []


def test_live_insects_call_for_looks_at_the_neighbours_and_the_room(db: None, volunteer: Person) -> None:
    _hall, store, board = stock.shelf()
    thing, beside, far = (stock.helmet(f"1974.1.{n}", kind="police", materials=["felt"]) for n in (1, 2, 3))
    for one in (thing, beside):
        move_object(PROGRAM, one.pk, place_id=board.pk)
    move_object(PROGRAM, far.pk, place_id=store.pk)
    record_check(Actor.of(volunteer), stock.full_check(thing, stock.seen(thing, "HB", "PEST_LIVE", "15", severity=3, material="felt")))
    calls = {call.object_id: call.due_on for call in Call.objects.filter(why="neighbour")}
    assert calls == {beside.pk: clock.today(), far.pk: clock.today() + timedelta(7)}
    assert State.objects.get(object=thing).urgency == 3


def test_a_person_may_overrule_with_a_reason_and_both_values_stay(db: None, volunteer: Person) -> None:
    thing, actor = stock.helmet(), Actor.of(volunteer)
    record_check(actor, stock.full_check(thing, stock.seen(thing, "RB", "RUST_SPOT", "20")))
    judgement = Judgement.objects.get(object=thing)
    with pytest.raises(Invalid):
        overrule(actor, thing.pk, judgement_id=judgement.pk, what="grade", value=3, reason=" ")
    overrule(actor, thing.pk, judgement_id=judgement.pk, what="grade", value=3, reason="the bead is through")
    state = State.objects.get(object=thing)
    assert (state.grade, judgement.grade) == (3, 2)
    record_check(actor, stock.full_check(thing, stock.seen(thing, "SH", "DENT", "1")))
    assert State.objects.get(object=thing).grade != 3


def test_safety_is_not_overruled_by_a_number(db: None, volunteer: Person) -> None:
    thing, actor = stock.helmet(), Actor.of(volunteer)
    record_check(actor, stock.full_check(thing, stock.seen(thing, "HB", "MOULD_ACTIVE", "1", material="leather")))
    with pytest.raises(NotByNumber):
        overrule(actor, thing.pk, judgement_id=Judgement.objects.get(object=thing).pk, what="urgency", value=0, reason="no")


def test_a_reader_records_nothing(db: None, reader: Person) -> None:
    thing = stock.helmet()
    with pytest.raises(Forbidden):
        record_check(Actor.of(reader), stock.full_check(thing))


@pytest.mark.django_db(transaction=True)
def test_one_check_sent_from_two_tabs_at_once_is_one(volunteer: Person) -> None:
    thing = stock.helmet()
    entry = stock.full_check(thing)
    actor, answers = Actor.of(volunteer).keyed(entry.id), []

    def send() -> None:
        try:
            answers.append(record_check(actor, entry).pk)
        except DomainError as error:  # pragma: no branch
            answers.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=send) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert answers == [entry.id] * 4
    assert ConditionCheck.objects.count() == 1
