"""A tablet that several people use: a tap and a PIN, cut rights, a short session, the name on screen."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from axes.models import AccessAttempt
from django.test import Client

from museum import clock
from museum.errors import Invalid
from museum.people import actions
from museum.people.actor import Actor
from museum.people.models import Person, Tablet
from museum.people.permissions import Role
from museum.people.secret import Secret
from tests.conftest import PASSWORD

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]


@pytest.fixture
def tablet(as_person: Browser, curator: Person) -> Client:
    """A browser that a curator has made a shared tablet."""
    client = as_person(curator)
    assert client.post("/tablet/", {"name": "cold store"})["Location"] == "/who/"
    return client


@pytest.fixture
def marit(volunteer: Person) -> Person:
    actions.set_pin(Actor.of(volunteer), pin=Secret("2580"))
    volunteer.refresh_from_db()
    return volunteer


def tap(client: Client, person: Person, pin: str = "2580", **more: str) -> Any:
    return client.post("/who/", {"person": str(person.id), "pin": pin} | more)


def me(client: Client) -> Any:
    return client.get("/api/me").json()


def test_the_one_who_shares_it_is_signed_out(tablet: Client) -> None:
    assert tablet.get("/account/")["Location"] == "/who/?next=%2Faccount%2F"


def test_those_with_a_pin_are_listed(tablet: Client, marit: Person, curator: Person) -> None:
    page = tablet.get("/who/").content.decode()
    assert "Marit" in page
    assert "Ivo" not in page, "has no PIN"


def test_another_browser_lists_nobody(client: Client, marit: Person) -> None:
    assert client.get("/who/")["Location"] == "/sign-in/"
    assert tap(client, marit)["Location"] == "/sign-in/"
    client.cookies["tablet"] = "made-up"
    assert client.get("/who/")["Location"] == "/sign-in/"


def test_a_tap_and_a_pin_change_the_person(tablet: Client, marit: Person) -> None:
    assert tap(tablet, marit, next="/account/")["Location"] == "/account/"
    assert me(tablet)["name"] == "Marit"
    page = tablet.get("/account/").content.decode()
    assert "Marit" in page
    assert 'class="mast-who" href="/who/"' in page, "one tap to change person, from every page"
    assert tablet.get("/who/").status_code == 200
    assert tap(tablet, marit, "0000").status_code == 200
    assert me(tablet)["name"] == "Marit", "a wrong PIN changes nobody"


def test_a_pin_is_no_password(client: Client, marit: Person) -> None:
    answer = client.post("/sign-in/", {"email": marit.email, "password": "2580"})
    assert answer.status_code == 200
    assert client.post("/sign-in/", {"email": marit.email, "pin": "2580"}).status_code == 200
    assert client.get("/api/me").status_code == 401


def test_guessing_a_pin_is_stopped(tablet: Client, marit: Person, settings: Any) -> None:
    for number in range(settings.AXES_FAILURE_LIMIT):
        answer = tap(tablet, marit, f"{number:04}")
    assert answer.status_code == 429
    assert tap(tablet, marit).status_code == 429, "the right one does not help meanwhile"
    assert "0003" not in str(AccessAttempt.objects.values_list("post_data", flat=True)), "tries are not kept readable"


def test_rights_are_cut_to_volunteer_and_curator(tablet: Client, curator: Person, administrator: Person, settings: Any) -> None:
    settings.SECOND_FACTOR = True
    actor = Actor.of(administrator)
    actions.give_role(actor, curator.id, "registrar")
    actions.give_role(actor, curator.id, "administrator")
    actions.set_pin(Actor.of(curator), pin=Secret("2580"))
    assert tap(tablet, curator).status_code == 302
    assert me(tablet)["roles"] == ["curator"], "and no second factor is asked for so little"
    assert tablet.get("/people/").status_code == 403


def test_a_password_on_the_tablet_gives_no_more(tablet: Client, administrator: Person, volunteer: Person) -> None:
    actions.give_role(Actor.of(administrator), administrator.id, "curator")
    tablet.post("/sign-in/", {"email": administrator.email, "password": PASSWORD})
    assert me(tablet)["roles"] == ["curator"]


def test_taking_the_mark_off_by_hand_gives_no_more(tablet: Client, marit: Person, administrator: Person) -> None:
    actions.give_role(Actor.of(administrator), marit.id, "registrar")
    tap(tablet, marit)
    del tablet.cookies["tablet"]
    assert me(tablet)["roles"] == ["volunteer"]


def test_after_a_quarter_of_an_hour_it_asks_again(tablet: Client, marit: Person) -> None:
    tap(tablet, marit)
    start = clock.now()
    with clock.at(start + timedelta(minutes=14)):
        assert tablet.get("/account/").status_code == 200
    with clock.at(start + timedelta(minutes=28)):
        assert tablet.get("/account/").status_code == 200, "the touch before counts"
    with clock.at(start + timedelta(minutes=44)):
        assert tablet.get("/account/")["Location"] == "/who/?next=%2Faccount%2F"
    assert tablet.get("/api/me").status_code == 401


def test_a_page_that_asks_by_itself_is_nobody_s_touch(tablet: Client, marit: Person) -> None:
    tap(tablet, marit)
    start = clock.now()
    for minutes in (5, 10, 14):
        with clock.at(start + timedelta(minutes=minutes)):
            assert tablet.get("/api/me", headers={"sec-fetch-dest": "empty"}).status_code == 200
    with clock.at(start + timedelta(minutes=16)):
        assert tablet.get("/api/me", headers={"sec-fetch-dest": "empty"}).status_code == 401


def test_ending_it_needs_the_password_and_the_role(tablet: Client, marit: Person, curator: Person) -> None:
    tap(tablet, marit)
    assert tablet.post("/tablet/", {"password": PASSWORD}).status_code == 403
    actions.set_pin(Actor.of(curator), pin=Secret("2580"))
    tap(tablet, curator)
    assert "not your password" in tablet.post("/tablet/", {"password": "2580"}).content.decode()
    assert tablet.post("/tablet/", {"password": PASSWORD})["Location"] == "/sign-in/"
    assert tablet.get("/who/")["Location"] == "/sign-in/"


def test_a_lost_tablet_is_ended_from_elsewhere(tablet: Client, marit: Person, administrator: Person, as_person: Browser) -> None:
    tap(tablet, marit)
    desk = as_person(administrator)
    assert "cold store" in desk.get("/tablet/").content.decode()
    desk.post(f"/tablet/{Tablet.objects.get().id}/end/", {"reason": "left on the bus"})
    assert tablet.get("/api/me").status_code == 401
    assert tablet.get("/who/")["Location"] == "/sign-in/"


@pytest.mark.parametrize("who", ["volunteer", "registrar", "reader"])
def test_not_everybody_may_share_a_browser(request: pytest.FixtureRequest, as_person: Browser, who: str) -> None:
    client = as_person(request.getfixturevalue(who))
    assert client.post("/tablet/", {"name": "mine"}).status_code == 403
    assert not Tablet.objects.exists()


def test_a_pin_replaces_no_second_factor(tablet: Client, marit: Person, administrator: Person) -> None:
    actions.give_role(Actor.of(administrator), marit.id, "registrar")
    tap(tablet, marit)
    assert tablet.get("/second-factor/enrol/").status_code == 403


def test_leavers_are_not_listed(tablet: Client, marit: Person, administrator: Person) -> None:
    actions.mark_left(Actor.of(administrator), marit.id, version=marit.version, on=clock.today())
    assert "Marit" not in tablet.get("/who/").content.decode()
    assert tap(tablet, marit).status_code == 200
    assert tablet.get("/api/me").status_code == 401


@pytest.mark.parametrize("pin", ["12", "123456789", "12a4", "1111", "٤٤٥٥"])
def test_what_is_no_pin(volunteer: Person, pin: str) -> None:
    with pytest.raises(Invalid) as told:
        actions.set_pin(Actor.of(volunteer), pin=Secret(pin))
    assert told.value.field == "pin"


def test_an_empty_pin_takes_it_away(tablet: Client, marit: Person) -> None:
    actions.set_pin(Actor.of(marit), pin=Secret(""))
    assert "Marit" not in tablet.get("/who/").content.decode()


def test_the_actor_of_a_tablet_has_no_more_than_both_roles(administrator: Person) -> None:
    assert Actor.of(administrator, tablet=True).roles == frozenset()
    assert Role.ADMINISTRATOR in Actor.of(administrator).roles


def test_no_password_and_no_pin_is_typed_on_a_shared_tablet(tablet: Client, marit: Person) -> None:
    tap(tablet, marit)
    assert 'name="old"' not in tablet.get("/account/").content.decode()
    for sent in ({"form": "pin", "password": PASSWORD, "pin": "4711"}, {"form": "password", "old": PASSWORD, "new": "a ladder against the wall"}):
        assert tablet.post("/account/", sent).status_code == 403
    marit.refresh_from_db()
    assert marit.check_password(PASSWORD)
    assert tap(tablet, marit).status_code == 302
