"""What is planned with a thing presses what is open on it; the cases of the reference reach it through the action."""

from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import pytest

from collection.objects.actions.bookings import LentAlready, book, cancel_booking, change_booking
from collection.objects.models import Booking, Object
from conservation.checks import follow
from conservation.checks.actions.overrule import overrule
from conservation.checks.actions.record import record_check
from conservation.checks.models import Judgement, State
from museum import clock
from museum.errors import Forbidden, Invalid, VersionConflict
from museum.ids import uuid7
from museum.people.actor import Actor
from museum.people.models import Person
from tests import stock
from tests.reference.condition import CASES

PLANNED: list[dict[str, Any]] = [case for case in CASES if case["context"].get("planned_use")]


def booked(by: Person, thing: Object, *, kind: str = "display", days: int = 60, length: int = 10, standing: str = "firm") -> Booking:
    first = clock.today() + timedelta(days)
    return book(Actor.of(by), thing.pk, booking_id=uuid7(), kind=kind, from_on=first, until_on=first + timedelta(length), standing=standing)


def rusty(volunteer: Person) -> Object:
    """Grade 1, activity 1: urgency 1 of itself (conservation.md 3.8)."""
    thing = stock.helmet()
    entry = stock.full_check(thing, stock.seen(thing, "RB", "RUST_SPOT", "2"))
    record_check(Actor.of(volunteer).keyed(entry.id), entry)
    follow.catch_up()
    return thing


def urgency(thing: Object) -> int | None:
    follow.catch_up()
    return State.objects.get(object=thing).urgency


@pytest.mark.parametrize("kind", ["loan", "display", "move"])
def test_a_use_that_is_booked_escalates_and_one_that_goes_does_not(curator: Person, volunteer: Person, kind: str) -> None:
    thing = rusty(volunteer)
    assert urgency(thing) == 1
    booking = booked(curator, thing, kind=kind)
    assert urgency(thing) == 2
    reasons = {row["code"] for row in Judgement.objects.order_by("-recorded_at", "-id")[0].reasons}
    assert {"planned_use", "escalated"} <= reasons
    cancel_booking(Actor.of(curator), booking.pk, version=1, reason="the gallery is closed")
    assert urgency(thing) == 1
    assert Judgement.objects.count() == 3


@pytest.mark.parametrize(("days", "expected"), [(0, 2), (90, 2), (91, 1)])
def test_within_90_days_both_included(curator: Person, volunteer: Person, days: int, expected: int) -> None:
    """conservation.md 3.8: 'within 90 days' is day 0 to day 90."""
    thing = rusty(volunteer)
    booked(curator, thing, days=days)
    assert urgency(thing) == expected


@pytest.mark.parametrize("kind", ["work", "use"])
def test_work_and_handling_do_not_press(curator: Person, volunteer: Person, kind: str) -> None:
    thing = rusty(volunteer)
    booked(curator, thing, kind=kind)
    assert urgency(thing) == 1


def test_the_day_itself_brings_it_near_and_takes_it_away(curator: Person, volunteer: Person) -> None:
    thing = rusty(volunteer)
    first = booked(curator, thing, days=120).from_on
    assert urgency(thing) == 1
    for day, expected in ((first - timedelta(91), 1), (first - timedelta(90), 2), (first, 2), (first + timedelta(1), 1)):
        with clock.at(datetime.combine(day, time(12), UTC)):
            assert urgency(thing) == expected, day


def test_ones_own_urgency_stays_until_the_next_graded_check(curator: Person, volunteer: Person) -> None:
    thing = rusty(volunteer)
    overrule(Actor.of(curator), thing.pk, judgement_id=Judgement.objects.get().pk, what="urgency", value=3, reason="it goes on the lorry")
    booked(curator, thing)
    assert urgency(thing) == 3
    again = stock.full_check(thing, stock.seen(thing, "RB", "RUST_SPOT", "2"))
    record_check(Actor.of(volunteer).keyed(again.id), again)
    assert urgency(thing) == 2


@pytest.mark.parametrize("case", PLANNED, ids=lambda case: str(case["id"]))
def test_the_cases_of_the_reference_by_booking(curator: Person, case: dict[str, Any]) -> None:
    """The planned use that the judgement takes in is the one that the booking says."""
    from conservation.checks.facts import Facts
    from conservation.checks.judging import context_of

    thing, planned = stock.helmet(), case["context"]["planned_use"]
    booked(curator, thing, kind=planned["type"], days=planned["in_days"])
    found = context_of(Facts(thing.pk), None).planned
    assert found is not None
    assert (found.kind, found.days) == (planned["type"], planned["in_days"])


def test_there_are_such_cases() -> None:
    assert PLANNED


def test_one_part_is_lent_once_at_a_time(curator: Person, registrar: Person) -> None:
    thing = stock.helmet()
    first = booked(registrar, thing, kind="loan", days=10, length=10)
    with pytest.raises(LentAlready) as refused:
        booked(curator, thing, kind="loan", days=20, length=5)
    assert first.until_on.isoformat() in refused.value.sentence
    asked = booked(curator, thing, kind="loan", days=20, length=5, standing="asked")
    with pytest.raises(LentAlready):
        change_booking(Actor.of(curator), asked.pk, version=1, changes={"standing": "firm"}, reason="they said yes")
    booked(curator, thing, kind="display", days=12)
    free = first.until_on + timedelta(1)
    wish = {"standing": "firm", "from_on": free, "until_on": free + timedelta(8)}
    later = change_booking(Actor.of(curator), asked.pk, version=1, changes=wish, reason="they said yes")
    assert later.version == 2
    cancel_booking(Actor.of(curator), first.pk, version=1, reason="their roof leaks")
    booked(curator, thing, kind="loan", days=10, length=5)


def test_bad_days_a_missing_reason_an_old_version_a_wrong_person(curator: Person, volunteer: Person) -> None:
    thing = stock.helmet()
    with pytest.raises(Invalid):
        booked(curator, thing, length=-1)
    with pytest.raises(Invalid):
        booked(curator, thing, kind="party")
    with pytest.raises(Forbidden):
        booked(volunteer, thing)
    booking = booked(curator, thing)
    with pytest.raises(Invalid):
        cancel_booking(Actor.of(curator), booking.pk, version=1, reason=" ")
    change_booking(Actor.of(curator), booking.pk, version=1, changes={"purpose": "Fire week"}, reason="said")
    with pytest.raises(VersionConflict):
        change_booking(Actor.of(curator), booking.pk, version=1, changes={"purpose": "Harbour day"}, reason="said")
    assert Booking.objects.get().purpose == "Fire week"


def test_the_page_and_the_program_door(curator: Person, volunteer: Person, as_person: Any) -> None:
    thing, browser = stock.helmet(), as_person(curator)
    first, last = date(2099, 5, 1), date(2099, 5, 20)
    typed = {"kind": "display", "from_on": first.isoformat(), "until_on": last.isoformat(), "standing": "firm", "purpose": "Fire week"}
    assert browser.post(f"/things/{thing.pk}/planned/new/", typed | {"until_on": ""}).status_code == 400
    page = browser.post(f"/things/{thing.pk}/planned/new/", typed, follow=True).content.decode()
    assert "Display from 1 May 2099 until 20 May 2099, firm" in page
    row = browser.get(f"/api/objects/{thing.pk}/bookings/").json()["bookings"][0]
    sent = typed | {"id": str(uuid7()), "version": row["version"], "reason": "one day longer", "until_on": "2099-05-21"}
    assert browser.post(f"/api/bookings/{row['id']}/", sent, content_type="application/json").json()["version"] == 2
    assert browser.get(f"/things/{thing.pk}/planned/{row['id']}/").status_code == 200
    deed = {"do": "cancel", "version": "2", "reason": "closed"}
    assert "cancelled" in browser.post(f"/things/{thing.pk}/planned/{row['id']}/", deed, follow=True).content.decode()
    timeline = browser.get(f"/things/{thing.pk}/").content.decode()
    assert "planned a use of it" in timeline
    assert "cancelled what was planned" in timeline
    reads = as_person(volunteer)
    assert reads.get(f"/things/{thing.pk}/planned/").status_code == 200
    assert reads.get(f"/things/{thing.pk}/planned/new/").status_code == 403
