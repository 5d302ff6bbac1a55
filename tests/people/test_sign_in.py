"""Signing in and out, who may come in where, and what a program is told."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client, RequestFactory
from django.urls import reverse

from museum import clock
from museum.ids import uuid7
from museum.people import actions
from museum.people.actor import Actor
from museum.people.address import address_of
from museum.people.models import Person
from tests.conftest import PASSWORD

pytestmark = pytest.mark.django_db
SIGN_IN = "/sign-in/"


def send(client: Client, person: Person, password: str = PASSWORD, **more: str) -> Any:
    return client.post(SIGN_IN, {"email": person.email, "password": password} | more)


def test_who_signs_in_goes_where_they_were_going(client: Client, volunteer: Person) -> None:
    asked = client.get("/account/?from=label")
    assert asked.status_code == 302
    assert asked["Location"] == "/sign-in/?next=%2Faccount%2F%3Ffrom%3Dlabel"
    assert send(client, volunteer, next="/account/?from=label")["Location"] == "/account/?from=label"
    assert volunteer.name in client.get("/account/").content.decode()


def test_the_case_of_the_address_does_not_matter(client: Client, volunteer: Person) -> None:
    assert client.post(SIGN_IN, {"email": "MARIT@Example.org", "password": PASSWORD}).status_code == 302


@pytest.mark.parametrize("elsewhere", ["https://elsewhere.example.org/", "//elsewhere.example.org", "javascript:alert(1)", "\\\\elsewhere"])
def test_nobody_is_sent_elsewhere(client: Client, volunteer: Person, elsewhere: str) -> None:
    assert send(client, volunteer, next=elsewhere)["Location"] == reverse("desk:today")


def test_a_wrong_password_keeps_the_address_and_says_what_to_do(client: Client, volunteer: Person) -> None:
    page = send(client, volunteer, "not this one").content.decode()
    assert "do not go together" in page
    assert volunteer.email in page
    assert "not this one" not in page


def test_a_stranger_and_a_wrong_password_read_the_same(client: Client, volunteer: Person) -> None:
    wrong = send(client, volunteer, "not this one").content.decode().replace(volunteer.email, "")
    stranger = client.post(SIGN_IN, {"email": "nobody@example.org", "password": "x"}).content.decode()
    assert "do not go together" in wrong
    assert "do not go together" in stranger


def test_too_many_tries_are_told_in_plain_words(client: Client, volunteer: Person, settings: Any) -> None:
    for number in range(settings.AXES_FAILURE_LIMIT):
        email = volunteer.email.upper() if number % 2 else volunteer.email
        answer = client.post(SIGN_IN, {"email": email, "password": "wrong"})
    assert answer.status_code == 429
    assert answer["Retry-After"] == "900"
    assert "For 15 minutes" in answer.content.decode()
    assert send(client, volunteer).status_code == 429, "the right password does not help meanwhile"


def test_the_other_account_is_not_locked_with_it(client: Client, volunteer: Person, curator: Person, settings: Any) -> None:
    for _ in range(settings.AXES_FAILURE_LIMIT):
        send(client, volunteer, "wrong")
    assert send(client, curator).status_code == 302


def test_behind_a_proxy_tries_are_counted_by_who_tries(client: Client, volunteer: Person, settings: Any) -> None:
    """A stranger who tries locks out nobody but themselves, and cannot give themselves another address for each try."""
    settings.PROXIES, proxy = 1, {"REMOTE_ADDR": "127.0.0.1"}
    tries = [f"192.0.2.{number}, 198.51.100.7" for number in range(settings.AXES_FAILURE_LIMIT)]
    for told in tries:
        answer = client.post(SIGN_IN, {"email": volunteer.email, "password": "wrong"}, HTTP_X_FORWARDED_FOR=told, **proxy)
    assert answer.status_code == 429
    assert client.post(SIGN_IN, {"email": volunteer.email, "password": PASSWORD}, HTTP_X_FORWARDED_FOR="203.0.113.5", **proxy).status_code == 302


@pytest.mark.parametrize(
    ("proxies", "told", "address"),
    [
        (0, "198.51.100.7", "127.0.0.1"),
        (1, "192.0.2.1, 198.51.100.7", "198.51.100.7"),
        (2, "192.0.2.1, 198.51.100.7, 10.0.0.2", "198.51.100.7"),
        (2, "198.51.100.7", "127.0.0.1"),
        (1, "", "127.0.0.1"),
        (1, "somebody", "127.0.0.1"),
        (1, "2001:db8::7", "2001:db8::7"),
    ],
)
def test_only_what_our_own_proxies_heard_is_believed(rf: RequestFactory, settings: Any, proxies: int, told: str, address: str) -> None:
    settings.PROXIES = proxies
    assert address_of(rf.get("/", HTTP_X_FORWARDED_FOR=told, REMOTE_ADDR="127.0.0.1")) == address


def test_a_leaver_cannot_sign_in(client: Client, volunteer: Person, administrator: Person) -> None:
    actions.mark_left(Actor.of(administrator), volunteer.id, version=1, on=clock.today())
    assert "do not go together" in send(client, volunteer).content.decode()


def test_a_leaver_is_signed_out_at_once(as_person: Callable[[Person], Client], volunteer: Person, administrator: Person) -> None:
    client = as_person(volunteer)
    assert client.get("/account/").status_code == 200
    actions.mark_left(Actor.of(administrator), volunteer.id, version=1, on=clock.today())
    assert client.get("/account/")["Location"].startswith(SIGN_IN)
    actions.mark_back(Actor.of(administrator), volunteer.id, version=2)
    assert send(client, volunteer).status_code == 302


def test_who_leaves_next_week_is_still_here(client: Client, volunteer: Person, administrator: Person) -> None:
    actions.mark_left(Actor.of(administrator), volunteer.id, version=1, on=clock.today() + timedelta(days=7))
    assert send(client, volunteer).status_code == 302


def test_signing_out_ends_the_session_and_clears_kept_pages(as_person: Callable[[Person], Client], volunteer: Person) -> None:
    client = as_person(volunteer)
    answer = client.post("/sign-out/")
    assert answer["Clear-Site-Data"] == '"cache"', "never what waits on the device to be sent"
    assert client.get("/account/")["Location"].startswith(SIGN_IN)


def test_a_link_does_not_sign_anybody_out(as_person: Callable[[Person], Client], volunteer: Person) -> None:
    client = as_person(volunteer)
    assert client.get("/sign-out/").status_code == 405
    assert client.get("/account/").status_code == 200


def test_a_new_password_ends_other_sessions(as_person: Callable[[Person], Client], volunteer: Person) -> None:
    here, elsewhere = as_person(volunteer), as_person(volunteer)
    sent = {"form": "password", "old": PASSWORD, "new": "a ladder against the wall"}
    assert here.post("/account/", sent).status_code == 302
    assert here.get("/account/").status_code == 200
    assert elsewhere.get("/account/").status_code == 302


def test_a_sign_in_writes_no_fact_and_no_person(client: Client, volunteer: Person) -> None:
    before = Person.objects.values().get(pk=volunteer.pk)
    send(client, volunteer)
    assert Person.objects.values().get(pk=volunteer.pk) == before


def test_pages_come_in_the_person_s_language(as_person: Callable[[Person], Client], volunteer: Person) -> None:
    actions.change_own_account(Actor.of(volunteer), version=1, language="de", mail_reminders=True)
    answer = as_person(volunteer).get("/account/")
    assert answer["Content-Language"] == "de"


def test_a_visitor_s_browser_says_its_language(client: Client) -> None:
    assert client.get(SIGN_IN, headers={"accept-language": "fr-CH,fr;q=0.9"})["Content-Language"] == "fr"


def test_who_asks_is_known_by_one_query_beside_the_session(as_person: Callable[[Person], Client], volunteer: Person, django_assert_num_queries: Any) -> None:
    client = as_person(volunteer)
    client.get("/api/me")
    with django_assert_num_queries(2):
        assert client.get("/api/me").json()["roles"] == ["volunteer"]


def test_the_device_is_named_in_what_it_does(as_person: Callable[[Person], Client], volunteer: Person) -> None:
    from museum.history.models import Act

    client = as_person(volunteer)
    client.get("/account/")
    client.post("/account/", {"form": "pin", "password": PASSWORD, "pin": "2580"})
    assert Act.objects.get(action="people.set_pin").device.startswith("browser:")
    client.post("/api/me/pin", {"password": PASSWORD, "pin": "2581"}, content_type="application/json", headers={"x-device": "cold-store-phone"})
    assert Act.objects.filter(action="people.set_pin", device="cold-store-phone").exists()


def test_a_made_up_device_is_not_believed(client: Client, volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    from museum.history.models import Act

    client = as_person(volunteer)
    client.cookies["device"] = "somebody-else"
    client.post("/account/", {"form": "pin", "password": PASSWORD, "pin": "2580"})
    assert Act.objects.get(action="people.set_pin").device == ""


def test_a_program_is_told_401(client: Client) -> None:
    answer = client.get("/api/me")
    assert (answer.status_code, answer["Content-Type"]) == (401, "application/problem+json")
    assert answer.json()["code"] == "signed_out"


def test_a_program_is_told_403_and_who_could(as_person: Callable[[Person], Client], volunteer: Person) -> None:
    answer = as_person(volunteer).get("/api/people")
    assert (answer.status_code, answer["Content-Type"]) == (403, "application/problem+json")
    assert "administrator" in answer.json()["detail"]


def test_a_page_says_who_could(as_person: Callable[[Person], Client], volunteer: Person) -> None:
    answer = as_person(volunteer).get("/people/")
    assert answer.status_code == 403
    assert "administrator" in answer.content.decode()


def test_what_is_absent_looks_like_any_404(as_person: Callable[[Person], Client], administrator: Person) -> None:
    client = as_person(administrator)
    key = uuid7()
    absent, unknown = client.get(f"/people/{key}/"), client.get("/no/such/address/")
    assert (absent.status_code, unknown.status_code) == (404, 404)
    assert absent.content == unknown.content
    answer = client.post(f"/api/people/{key}", {"version": 1, "name": "x", "email": "x@example.org"}, content_type="application/json")
    assert answer.json()["code"] == "not_found"


def test_every_answer_forbids_what_is_not_ours(client: Client) -> None:
    for address in (SIGN_IN, "/api/me", "/no/such/address/"):
        policy = client.get(address)["Content-Security-Policy"]
        assert "default-src 'self'" in policy
        assert "frame-ancestors 'none'" in policy
        assert "unsafe" not in policy


def test_an_open_session_changes_no_pin_and_no_password_without_the_password(as_person: Callable[[Person], Client], volunteer: Person, settings: Any) -> None:
    client = as_person(volunteer)
    for field, sent in (("password", {"form": "pin", "pin": "4711"}), ("old", {"form": "password", "new": "a ladder against the wall"})):
        answer = client.post("/account/", sent | {field: "wrong"})
        assert (answer.status_code, "not your present password" in answer.content.decode()) == (200, True)
    for _ in range(settings.AXES_FAILURE_LIMIT):
        answer = client.post("/api/me/pin", {"password": "wrong", "pin": "4711"}, content_type="application/json")
    assert answer.status_code == 429, "as many tries as at the sign-in"
    volunteer.refresh_from_db()
    assert (volunteer.pin, volunteer.check_password(PASSWORD)) == ("", True)
