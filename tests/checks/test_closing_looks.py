"""A look that was asked for is closed without looking: by a curator only, with the reason, from the page and by programs."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

import pytest
from django.test import Client

from collection.objects.models import Object
from conservation.checks.actions.cards import start_card
from conservation.checks.actions.events import report_event
from conservation.checks.actions.record import record_check
from conservation.checks.models import Call, CallAnswer, Due
from museum import clock
from museum.history.models import Change
from museum.history.verify import verify
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]
WHY = "it lay in a sealed bag all week"


@pytest.fixture
def call(society: Any) -> Call:
    """Something fell near a helmet: a look the same day."""
    thing = stock.helmet("1974.1")
    report_event(PROGRAM, kind="shock", happened_on=clock.today(), object_id=thing.pk)
    return Call.objects.get(object=thing)


def page_of(call: Call) -> str:
    return f"/looks/{call.pk}/close/"


def test_a_curator_closes_it_with_the_reason_and_the_time_line_keeps_it(call: Call, as_person: Browser, curator: Person) -> None:
    client = as_person(curator)
    due, thing = client.get("/rounds/due/").content.decode(), client.get(f"/things/{call.object_id}/").content.decode()
    assert page_of(call) in due
    assert page_of(call) in thing
    shown = client.get(page_of(call)).content.decode()
    assert "it may have been shaken: look the same day" in shown
    assert "To look is the safe answer." in shown
    answer = client.post(page_of(call), {"reason": WHY}, follow=True)
    text = answer.content.decode()
    assert "Closed without a look" in text
    assert "said that a look asked for is not needed" in text
    assert WHY in text
    assert not Due.objects.filter(call=call).exists()
    told = Change.objects.get(what="call.answered")
    assert (told.reason, told.who) == (WHY, curator.pk)
    assert verify().broken_at is None
    assert f"without a look: {WHY}" in client.get(page_of(call)).content.decode()
    assert page_of(call) not in client.get("/rounds/due/").content.decode()


def test_without_a_reason_it_stays_open_and_the_page_says_so(call: Call, as_person: Browser, curator: Person) -> None:
    answer = as_person(curator).post(page_of(call), {"reason": "  "})
    assert answer.status_code == 400
    assert "Say why no look is needed." in answer.content.decode()
    assert Due.objects.filter(call=call).exists()


@pytest.mark.parametrize("role", ["volunteer", "registrar", "reader", "administrator"])
def test_nobody_else_closes_one(call: Call, role: str, request: pytest.FixtureRequest, as_person: Browser) -> None:
    client = as_person(request.getfixturevalue(role))
    for answer in (
        client.get(page_of(call)), client.post(page_of(call), {"reason": WHY}),
        client.post(f"/api/looks/{call.pk}/close/", {"id": str(uuid7()), "reason": WHY}, content_type="application/json"),
    ):  # fmt: skip
        assert answer.status_code in (403, 404)
    assert not CallAnswer.objects.exists()
    assert page_of(call) not in client.get(f"/things/{call.object_id}/").content.decode()


def test_programs_read_what_is_asked_and_close_it_once(call: Call, as_person: Browser, curator: Person, volunteer: Person) -> None:
    said = as_person(volunteer).get("/api/looks/").json()
    assert [(one["id"], one["sort"], one["why"], one["due_on"]) for one in said["looks"]] == [(str(call.pk), "quick", "event", str(clock.today()))]
    client, key = as_person(curator), str(uuid7())
    for _again in range(2):
        answer = client.post(f"/api/looks/{call.pk}/close/", {"id": key, "reason": WHY}, content_type="application/json")
        assert (answer.status_code, answer.json()["reason"]) == (200, WHY)
    assert CallAnswer.objects.count() == 1
    assert Change.objects.filter(what="call.answered").count() == 1
    assert client.get("/api/looks/").json() == {"looks": [], "all": 0}
    missing = client.post(f"/api/looks/{call.pk}/close/", {"id": str(uuid7())}, content_type="application/json")
    assert missing.json()["check"] is None, "it is closed already: what stands is answered"


def test_a_card_that_lies_is_read_and_not_closed(society: Any, as_person: Browser, curator: Person) -> None:
    thing: Object = stock.helmet("1974.1")
    start_card(Actor.of(curator), thing.pk, test_id=uuid7())
    call = Call.objects.get(why="card")
    client = as_person(curator)
    assert page_of(call) not in client.get(f"/things/{thing.pk}/").content.decode()
    assert "A card laid out is read" in client.get(page_of(call)).content.decode()
    assert client.post(page_of(call), {"reason": WHY}).status_code == 400


def test_one_that_was_taken_back_or_never_was_is_not_found(call: Call, as_person: Browser, curator: Person) -> None:
    assert as_person(curator).get(f"/looks/{UUID(int=7)}/close/").status_code == 404


def test_what_was_answered_meanwhile_is_said_to_be(call: Call, as_person: Browser, curator: Person, volunteer: Person) -> None:
    """Two tablets: somebody looks while the curator writes why no look is needed."""
    client = as_person(curator)
    client.get(page_of(call))
    record_check(Actor.of(volunteer), stock.full_check(call.object))
    text = client.post(page_of(call), {"reason": WHY}, follow=True).content.decode()
    assert "Closed without a look." not in text
    assert "which answered it already. Your reason was not stored." in text
    assert not Change.objects.filter(what="call.answered").exists()


def test_what_another_closed_with_another_reason_keeps_that(call: Call, as_person: Browser, curator: Person) -> None:
    client = as_person(curator)
    client.post(page_of(call), {"reason": WHY})
    assert "Closed without a look." in client.post(page_of(call), {"reason": WHY}, follow=True).content.decode(), "sent twice, closed once"
    text = client.post(page_of(call), {"reason": "the alarm was wrong"}, follow=True).content.decode()
    assert f"closed without a look already: {WHY}. Your reason was not stored." in text
    assert CallAnswer.objects.get().reason == WHY
