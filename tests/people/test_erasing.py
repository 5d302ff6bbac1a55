"""Personal texts can be erased: they are gone for ever, and the chain verifies all the same."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from museum import clock
from museum.errors import Forbidden, Invalid
from museum.history.models import Change, PersonalText
from museum.history.verify import verify
from museum.ids import uuid7
from museum.people import actions
from museum.people.actor import Actor
from museum.people.models import Person
from museum.people.secret import Secret

pytestmark = pytest.mark.django_db


@pytest.fixture
def gone(administrator: Person) -> Person:
    """Somebody who was renamed once and has left."""
    actor = Actor.of(administrator)
    person = actions.add_person(actor, name="Ansel Pike", email="ansel@example.org", password=Secret("a rope and a bucket"))
    person = actions.change_person(actor, person.pk, version=1, name="Ansel Reed", email="reed@example.org")
    return actions.mark_left(actor, person.pk, version=2, on=clock.today())


def held(person: Person) -> list[str]:
    return list(PersonalText.objects.filter(change__subject=f"person:{person.pk}").values_list("text", flat=True))


def test_what_is_erased_is_gone_and_the_history_proves_itself(gone: Person, registrar: Person) -> None:
    assert {"Ansel Pike", "ansel@example.org", "Ansel Reed", "reed@example.org"} <= set(held(gone))
    actions.erase_personal(Actor.of(registrar), gone.pk, reason="asked for it in writing")
    gone.refresh_from_db()
    assert held(gone) == []
    assert (gone.name, gone.email, gone.pin, gone.has_usable_password()) == ("Ansel Reed", f"{gone.pk}@erased.invalid", "", False)
    told = Change.objects.get(what="personal.erased")
    assert (told.who, told.reason) == (registrar.pk, "asked for it in writing")
    assert told.after["texts"] > 0
    assert verify().broken_at is None


def test_the_name_goes_too_where_one_says_so(gone: Person, administrator: Person) -> None:
    actions.erase_personal(Actor.of(administrator), gone.pk, reason="asked for it in writing", name_too=True)
    gone.refresh_from_db()
    assert gone.name == "Somebody who has left"
    assert verify().broken_at is None


@pytest.mark.parametrize("reason", ["", "  ", "Ansel Reed asked", "reed@example.org asked"])
def test_the_reason_is_given_and_names_nobody(gone: Person, registrar: Person, reason: str) -> None:
    with pytest.raises(Invalid):
        actions.erase_personal(Actor.of(registrar), gone.pk, reason=reason)
    assert held(gone)


def test_whoever_is_here_keeps_their_texts(volunteer: Person, gone: Person, administrator: Person, registrar: Person) -> None:
    with pytest.raises(Invalid):
        actions.erase_personal(Actor.of(registrar), volunteer.pk, reason="asked")
    actions.mark_left(Actor.of(administrator), volunteer.pk, version=volunteer.version, on=clock.today() + timedelta(days=3))
    with pytest.raises(Invalid):
        actions.erase_personal(Actor.of(registrar), volunteer.pk, reason="asked")


def test_it_is_done_once(gone: Person, registrar: Person) -> None:
    actions.erase_personal(Actor.of(registrar), gone.pk, reason="asked")
    with pytest.raises(Invalid):
        actions.erase_personal(Actor.of(registrar), gone.pk, reason="asked again")
    assert Change.objects.filter(what="personal.erased").count() == 1


def test_a_curator_may_not(gone: Person, curator: Person) -> None:
    with pytest.raises(Forbidden):
        actions.erase_personal(Actor.of(curator), gone.pk, reason="asked")
    assert held(gone)


def test_the_page_says_what_goes_and_what_stays(gone: Person, registrar: Person, as_person: Callable[[Person], Client]) -> None:
    browser = as_person(registrar)
    page = browser.get("/people/erase/").content.decode()
    assert "It cannot be undone" in page
    assert "What stays" in page
    typed: dict[str, Any] = {"person": str(gone.pk), "reason": "asked in writing"}
    assert browser.post("/people/erase/", typed).status_code == 400, "not without saying that one knows"
    assert held(gone)
    answer = browser.post("/people/erase/", typed | {"sure": "on"}, follow=True)
    assert "Erased." in answer.content.decode()
    assert held(gone) == []


def test_the_page_keeps_what_was_typed(gone: Person, registrar: Person, as_person: Callable[[Person], Client]) -> None:
    answer = as_person(registrar).post("/people/erase/", {"person": str(gone.pk), "reason": "Ansel Reed asked", "sure": "on"})
    assert answer.status_code == 400
    assert "Ansel Reed asked" in answer.content.decode()


def test_a_program_asks_twice_and_it_is_done_once(gone: Person, registrar: Person, as_person: Callable[[Person], Client]) -> None:
    browser, body = as_person(registrar), {"id": str(uuid7()), "reason": "asked in writing"}
    for _ in range(2):
        assert browser.post(f"/api/people/{gone.pk}/erasing", body, content_type="application/json").status_code == 200
    assert Change.objects.filter(what="personal.erased").count() == 1
