"""The acts for programs."""

from collections.abc import Callable
from typing import Any

import pytest
import redis.exceptions
from django.test import Client

from museum import clock
from museum.ids import uuid7
from museum.people.models import Person, Society
from museum.people.permissions import Role
from museum.web.throttle import APerson
from tests.conftest import PASSWORD

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]


def send(client: Client, address: str, **body: Any) -> Any:
    return client.post(address, body, content_type="application/json")


def test_a_request_sent_twice_is_stored_once(as_person: Browser, administrator: Person) -> None:
    client, key = as_person(administrator), str(uuid7())
    body = {
        "id": key,
        "name": "Ansel",
        "email": "ansel@example.org",
        "password": "a rope and a bucket",
        "roles": ["curator"],
    }
    first, again = send(client, "/api/people", **body), send(client, "/api/people", **body)
    assert first.json() == again.json()
    assert Person.objects.filter(email="ansel@example.org").count() == 1
    other = send(client, "/api/people", **body | {"name": "Other"})
    assert (other.status_code, other.json()["code"]) == (409, "same_key_other_content")


def test_the_administrator_s_acts(as_person: Browser, administrator: Person, volunteer: Person) -> None:
    client, address = as_person(administrator), f"/api/people/{volunteer.id}"
    assert send(client, f"{address}/roles", role="curator").json()["roles"] == ["curator", "volunteer"]
    assert send(client, f"{address}/roles", role="volunteer", given=False, reason="more now").json()["roles"] == ["curator"]
    assert send(client, address, version=1, name="Marit Holm", email=volunteer.email).json()["version"] == 2
    assert send(client, f"{address}/password", password="a rope and a bucket").status_code == 200
    left = send(client, f"{address}/leaving", version=2, on=clock.today().isoformat())
    assert left.json()["left_on"] == clock.today().isoformat()
    assert send(client, f"{address}/leaving", version=3, on=None).json()["left_on"] is None
    assert [person["name"] for person in client.get("/api/people").json()] == ["Oda", "Marit Holm"]


def test_the_society(as_person: Browser, administrator: Person, society: Society) -> None:
    client = as_person(administrator)
    assert client.get("/api/society").json()["version"] == 1
    assert send(client, "/api/society", version=1, name="New", opening_days=[3]).json()["opening_days"] == [3]
    told = send(client, "/api/society", version=1, name="Other").json()
    assert (told["code"], told["theirs"]["name"], told["mine"]["name"]) == ("version_conflict", "New", "Other")


def test_one_s_own_account(as_person: Browser, volunteer: Person) -> None:
    client = as_person(volunteer)
    assert send(client, "/api/me/account", version=1, language="de", mail_reminders=False).json()["language"] == "de"
    assert send(client, "/api/me/pin", password=PASSWORD, pin="2580").status_code == 200
    wrong = send(client, "/api/me/password", old="no", new="a ladder against the wall")
    assert (wrong.status_code, wrong.json()["field"]) == (400, "old")


def test_a_body_that_cannot_be_read(as_person: Browser, administrator: Person) -> None:
    client = as_person(administrator)
    missing = send(client, "/api/people", name="Ansel").json()
    assert missing["code"] == "invalid"
    assert set(missing["fields"]) == {"email", "password"}
    broken = client.post("/api/people", "{", content_type="application/json")
    assert (broken.status_code, broken["Content-Type"]) == (400, "application/problem+json")
    assert client.delete("/api/people").status_code == 405


def test_what_i_may(as_person: Browser, reader: Person) -> None:
    answer = as_person(reader).get("/api/me").json()
    assert (answer["name"], answer["roles"]) == ("Tove", [Role.READER])
    assert "catalogue.see" in answer["may"]
    assert "check.record" not in answer["may"]


def test_another_site_cannot_act_for_a_signed_in_person(administrator: Person, settings: Any) -> None:
    settings.SECOND_FACTOR = False
    client = Client(enforce_csrf_checks=True)
    client.force_login(administrator, backend="museum.people.backends.ByPassword")
    answer = send(client, "/api/people", name="x", email="x@example.org", password="a rope and a bucket")
    assert (answer.status_code, answer.json()["code"]) == (403, "forbidden")
    assert Person.objects.count() == 1


def test_a_program_that_asks_too_often_is_told_when_to_go_on(as_person: Browser, volunteer: Person, curator: Person, monkeypatch: Any) -> None:
    monkeypatch.setattr(APerson, "THROTTLE_RATES", {"user": "2/min"})
    browser = as_person(volunteer)
    answers = [browser.get("/api/jobs") for _ in range(3)]
    assert [answer.status_code for answer in answers] == [200, 200, 429]
    assert 0 < int(answers[2]["Retry-After"]) <= 60
    assert answers[2].json()["code"] == "too_often"
    assert as_person(curator).get("/api/jobs").status_code == 200


def test_without_the_cache_nobody_is_kept_from_work(as_person: Browser, volunteer: Person, monkeypatch: Any) -> None:
    def gone(*_args: Any) -> None:
        raise redis.exceptions.ConnectionError

    monkeypatch.setattr(APerson, "THROTTLE_RATES", {"user": "1/min"})
    monkeypatch.setattr(APerson.cache, "get", gone)
    assert [as_person(volunteer).get("/api/jobs").status_code for _ in range(2)] == [200, 200]
