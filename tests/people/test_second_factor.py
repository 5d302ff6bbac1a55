"""The second proof for those who can change the register or other people's accounts."""

import time
from base64 import b32decode
from typing import Any

import pytest
from django.test import Client
from django_otp.oath import TOTP

from museum.errors import Forbidden, Invalid
from museum.people import actions
from museum.people.actor import Actor
from museum.people.models import Person
from museum.people.secret import Secret
from tests.conftest import PASSWORD

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _asked(settings: Any) -> None:
    settings.SECOND_FACTOR = True


def signed_in(person: Person) -> Client:
    client = Client()
    assert client.post("/sign-in/", {"email": person.email, "password": PASSWORD}).status_code == 302
    return client


def key_of(client: Client) -> bytes:
    page = client.get("/second-factor/enrol/")
    return b32decode("".join(page.context["groups"]))


def code_at(key: bytes, steps: int = 0) -> str:
    totp = TOTP(key)
    totp.time = time.time() + 30 * steps
    return f"{totp.token():06}"


def enrolled(client: Client) -> tuple[bytes, list[str]]:
    key = key_of(client)
    page = client.post("/second-factor/enrol/", {"code": code_at(key, -1)})
    return key, page.context["codes"]


@pytest.mark.parametrize("who", ["registrar", "administrator"])
def test_who_needs_it_enrols_before_anything_else(request: pytest.FixtureRequest, who: str) -> None:
    client = signed_in(request.getfixturevalue(who))
    for address in ("/account/", "/people/", "/society/", "/"):
        assert client.get(address)["Location"].startswith("/second-factor/enrol/?next=")
    assert client.post("/account/", {"form": "pin", "password": PASSWORD, "pin": "2580"}).status_code == 302
    assert client.get("/api/people").json()["code"] == "second_factor_wanted"
    assert client.get("/api/me").status_code == 403


@pytest.mark.parametrize("who", ["volunteer", "curator", "reader"])
def test_who_does_not_need_it_is_not_asked(request: pytest.FixtureRequest, who: str) -> None:
    assert signed_in(request.getfixturevalue(who)).get("/account/").status_code == 200


def test_the_whole_way(registrar: Person) -> None:
    first = signed_in(registrar)
    _, codes = enrolled(first)
    assert len(codes) == 10
    assert first.get("/account/").status_code == 200

    second = signed_in(registrar)
    assert second.get("/account/")["Location"] == "/second-factor/?next=%2Faccount%2F"
    assert "does not fit" in second.post("/second-factor/", {"code": "000000"}).content.decode()
    second = signed_in(registrar)
    assert second.get("/second-factor/enrol/")["Location"] == "/second-factor/", "a password alone enrols no other phone"


def test_the_phone_s_code_opens_once(registrar: Person) -> None:
    key, _ = enrolled(signed_in(registrar))
    code = code_at(key, 0)
    one, other = signed_in(registrar), signed_in(registrar)
    assert one.post("/second-factor/", {"code": code, "next": "/account/"})["Location"] == "/account/"
    assert one.get("/account/").status_code == 200
    assert other.post("/second-factor/", {"code": code}).status_code == 200
    assert other.get("/account/").status_code == 302


def test_a_paper_code_opens_once_however_it_is_typed(registrar: Person) -> None:
    _, codes = enrolled(signed_in(registrar))
    one, other = signed_in(registrar), signed_in(registrar)
    assert one.post("/second-factor/", {"code": codes[0].upper().replace("-", " ")}).status_code == 302
    assert one.get("/account/").status_code == 200
    assert other.post("/second-factor/", {"code": codes[0]}).status_code == 200


def test_a_wrong_code_enrols_nothing(registrar: Person) -> None:
    client = signed_in(registrar)
    key_of(client)
    assert "not the code" in client.post("/second-factor/enrol/", {"code": "abc"}).content.decode()
    assert client.get("/account/").status_code == 302


def test_the_picture_is_a_file_of_our_own(registrar: Person) -> None:
    client = signed_in(registrar)
    assert client.get("/second-factor/enrol/picture.svg").status_code == 404
    key_of(client)
    picture = client.get("/second-factor/enrol/picture.svg")
    assert picture["Content-Type"] == "image/svg+xml"
    assert "no-store" in picture["Cache-Control"]
    assert "data:" not in client.get("/second-factor/enrol/").content.decode()


def test_a_lost_phone_is_taken_away_with_a_reason(registrar: Person, administrator: Person) -> None:
    enrolled(signed_in(registrar))
    actor = Actor.of(administrator)
    with pytest.raises(Invalid):
        actions.take_second_factor(actor, registrar.id, reason=" ")
    actions.take_second_factor(actor, registrar.id, reason="asked in person at the desk")
    assert signed_in(registrar).get("/account/")["Location"].startswith("/second-factor/enrol/")


def test_whoever_becomes_registrar_is_asked_from_then_on(curator: Person, administrator: Person) -> None:
    client = signed_in(curator)
    assert client.get("/account/").status_code == 200
    actions.give_role(Actor.of(administrator), curator.id, "registrar")
    assert client.get("/account/")["Location"].startswith("/second-factor/enrol/")


def test_leaving_without_the_proof_is_possible(registrar: Person) -> None:
    client = signed_in(registrar)
    assert client.post("/sign-out/").status_code == 302
    assert client.get("/account/")["Location"].startswith("/sign-in/")


def test_nothing_is_enrolled_on_a_shared_tablet(curator: Person) -> None:
    with pytest.raises(Forbidden):
        actions.enrol_second_factor(Actor.of(curator, tablet=True), key=Secret("00" * 20), recovery=[])
