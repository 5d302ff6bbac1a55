"""What somebody typed into a form while their session ended: kept for them, sent again by their own hand, never shown to another."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from locations.climate.models import Spot
from museum import clock
from museum.ids import uuid7
from museum.people import actions
from museum.people.actor import Actor
from museum.people.models import Person
from museum.people.permissions import Role
from museum.people.secret import Secret
from tests import stock
from tests.conftest import PASSWORD, cast

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]


@pytest.fixture
def marit(volunteer: Person) -> Person:
    actions.set_pin(Actor.of(volunteer), pin=Secret("2580"))
    volunteer.refresh_from_db()
    return volunteer


@pytest.fixture
def tablet(as_person: Browser, curator: Person) -> Client:
    client = as_person(curator)
    client.post("/tablet/", {"name": "cold store"})
    return client


def tap(client: Client, person: Person) -> Any:
    return client.post("/who/", {"person": str(person.id), "pin": "2580"})


def litres(client: Client, **more: str) -> tuple[str, Any]:
    """A form sent after the tablet had signed its person out."""
    path = f"/climate/rooms/{stock.shelf()[1].pk}/machine/"
    client.get(path)
    with clock.at(clock.now() + timedelta(minutes=20)):
        return path, client.post(path, {"act": str(uuid7()), "entry": str(uuid7()), "litres": "4,5", "note": "after the walk", **more})


def test_what_was_typed_while_the_tablet_signed_out_is_shown_and_sent_as_it_was(tablet: Client, marit: Person) -> None:
    tap(tablet, marit)
    path, answer = litres(tablet)
    assert answer["Location"].startswith("/who/")
    assert tap(tablet, marit)["Location"] == "/held/"
    page = tablet.get("/held/").content.decode()
    assert "4,5" in page
    assert "after the walk" in page
    assert "This was not stored" in page
    typed = {"litres": "4,5", "note": "after the walk", "act": str(uuid7()), "entry": str(uuid7())}
    sent = tablet.post("/held/", typed, follow=False)
    assert (sent.status_code, sent["Location"]) == (307, path)
    tablet.post("/held/", typed, follow=True)
    tablet.post(path, typed)
    assert [(spot.litres, spot.note) for spot in Spot.objects.all()] == [(4.5, "after the walk")]
    assert "Nothing of yours waits" in tablet.get("/held/").content.decode()


def test_nobody_else_reads_it(tablet: Client, marit: Person) -> None:
    bo = cast("Bo", Role.VOLUNTEER)
    actions.set_pin(Actor.of(bo), pin=Secret("2580"))
    tap(tablet, marit)
    litres(tablet)
    assert not tap(tablet, bo)["Location"].startswith("/held/")
    assert "after the walk" not in tablet.get("/held/").content.decode()


def test_a_password_is_never_kept(tablet: Client, marit: Person) -> None:
    tap(tablet, marit)
    litres(tablet, password="my secret one")
    assert not tap(tablet, marit)["Location"].startswith("/held/")


def test_it_may_be_left(tablet: Client, marit: Person) -> None:
    tap(tablet, marit)
    litres(tablet)
    tap(tablet, marit)
    assert tablet.post("/held/", {"leave-it": "1"}).status_code == 302
    assert not Spot.objects.exists()
    assert "Nothing of yours waits" in tablet.get("/held/").content.decode()


def test_also_at_a_desk_whose_session_ended(client: Client, volunteer: Person) -> None:
    client.post("/sign-in/", {"email": volunteer.email, "password": PASSWORD})
    client.get("/account/")
    del client.cookies["sessionid"]
    client.post("/events/new/", {"what": "a leak at rack 2"})
    assert client.post("/sign-in/", {"email": volunteer.email, "password": PASSWORD})["Location"] == "/held/"
    assert "a leak at rack 2" in client.get("/held/").content.decode()


def test_a_stranger_fills_no_sessions(client: Client, society: Any) -> None:
    client.post("/events/new/", {"what": "spam"})
    assert "sessionid" not in client.cookies


def test_what_a_script_sends_by_itself_is_not_kept(client: Client, volunteer: Person) -> None:
    client.post("/sign-in/", {"email": volunteer.email, "password": PASSWORD})
    client.get("/account/")
    del client.cookies["sessionid"]
    client.post("/events/new/", {"what": "a leak"}, headers={"Sec-Fetch-Mode": "cors"})
    assert client.post("/sign-in/", {"email": volunteer.email, "password": PASSWORD})["Location"] == "/"
