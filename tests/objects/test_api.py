"""The catalogue for programs: repeatable, and as strict as the pages."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from collection.objects.models import Object, Statement
from museum.ids import uuid7
from museum.people.models import Person
from tests import stock

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]


def post(client: Client, address: str, **body: Any) -> Any:
    return client.post(address, body, content_type="application/json")


def test_a_thing_is_made_once_by_its_key(as_person: Browser, registrar: Person) -> None:
    client, key = as_person(registrar), str(uuid7())
    part = {"sort": "loose", "name": "liner shell", "lettered": True, "zones": ["SH", "IN"], "materials": ["leather"]}
    body = {"id": key, "kind": "armed_service", "number": "1974.12.3", "said": {"name": "steel helmet"}}
    body |= {"materials": ["steel"], "components": [part], "whose": "own"}
    first, again = (post(client, "/api/objects/", **body) for _twice in range(2))
    assert (first.status_code, again.json()) == (201, first.json())
    assert Object.objects.count() == 1
    other = post(client, "/api/objects/", **body | {"number": "1974.12.4"})
    assert (other.status_code, other.json()["code"]) == (409, "same_key_other_content")
    one = client.get(f"/api/objects/{key}/").json()
    assert [row["number"] for row in one["numbers"]] == ["1974.12.3", "1974.12.3b"]
    assert one["said"]["name"][0]["words"] == "steel helmet"
    assert {zone["part"] for zone in one["zones"]} == {"", "b liner shell"}


def test_a_taken_number_is_a_problem_with_a_code(as_person: Browser, registrar: Person) -> None:
    stock.helmet("1974.12.3")
    body = {"id": str(uuid7()), "kind": "fire", "number": "1974.12.3"}
    answer = post(as_person(registrar), "/api/objects/", **body)
    assert (answer.status_code, answer.json()["code"]) == (409, "number_taken")
    assert answer["Content-Type"] == "application/problem+json"


@pytest.mark.parametrize("wrong", [{"materials": "steel"}, {"components": ["a"]}, {"said": []}, {"as_written": "perhaps"}, {"id": "five"}])
def test_what_is_sent_wrongly_is_named(as_person: Browser, registrar: Person, wrong: dict[str, Any]) -> None:
    answer = post(as_person(registrar), "/api/objects/", **{"id": str(uuid7()), "kind": "fire", "number": "1974.12.3"} | wrong)
    assert (answer.status_code, answer.json()["field"]) == (400, *wrong)
    assert not Object.objects.exists()


def test_what_is_said_names_what_it_replaces(as_person: Browser, curator: Person) -> None:
    main = str(stock.helmet().components.get().pk)
    client, key = as_person(curator), str(uuid7())
    body = {"id": key, "component": main, "field": "description", "value": {"text": "steel bowl"}}
    first = post(client, "/api/statements/", **body)
    assert first.json() == post(client, "/api/statements/", **body).json()
    late = post(client, "/api/statements/", **body | {"id": str(uuid7()), "value": "grey bowl"})
    assert (late.status_code, late.json()["theirs"]) == (409, {"description": "steel bowl"})
    replaced = {"id": str(uuid7()), "value": None, "replaces": first.json()["acceptance"]}
    assert post(client, "/api/statements/", **body | replaced).status_code == 201
    assert Statement.objects.filter(field__code="description").count() == 2


def test_a_volunteer_s_statement_is_a_proposal(as_person: Browser, volunteer: Person) -> None:
    thing = stock.helmet()
    body = {"id": str(uuid7()), "component": str(thing.components.get().pk), "field": "title", "value": "the dome"}
    answer = post(as_person(volunteer), "/api/statements/", **body)
    assert answer.json() == {"id": answer.json()["id"], "accepted": False, "acceptance": None}
    rows = as_person(volunteer).get(f"/api/objects/{thing.pk}/statements/").json()["statements"]
    assert [row["words"] for row in rows] == ["the dome", "civil-defence helmet"]


def test_numbers_and_parts(as_person: Browser, registrar: Person, volunteer: Person) -> None:
    thing = stock.helmet("1974.12.3")
    client = as_person(registrar)
    given = post(client, f"/api/objects/{thing.pk}/numbers/", id=str(uuid7()), next_in="entry", year=2026)
    assert given.json()["number"] == "E2026.1"
    taken = post(client, f"/api/objects/{thing.pk}/numbers/", id=str(uuid7()), number="1974.12.9")
    assert taken.json()["code"] == "has_number"
    part = {"id": str(uuid7()), "sort": "loose", "name": "strap", "lettered": True, "zones": ["CS"]}
    assert post(client, f"/api/objects/{thing.pk}/components/", **part).json()["letter"] == "b"
    refused = post(as_person(volunteer), f"/api/objects/{thing.pk}/components/", **part | {"id": str(uuid7())})
    assert refused.status_code == 403


@pytest.mark.parametrize(
    "body",
    [[], {}, {"id": "x"}, {"id": str(uuid7()), "kind": 7}, {"id": str(uuid7()), "kind": "fire", "said": []},
     {"id": str(uuid7()), "kind": "fire", "said": {"name": 7}}, {"id": str(uuid7()), "kind": "fire", "materials": "steel"}],
)  # fmt: skip
def test_a_body_of_another_shape_is_refused_in_words(as_person: Browser, registrar: Person, body: Any) -> None:
    answer = as_person(registrar).post("/api/objects/", body, content_type="application/json")
    assert answer.status_code == 400
    assert answer.json()["detail"]
    assert not Object.objects.exists()


def test_readers_and_strangers(as_person: Browser, reader: Person) -> None:
    thing = stock.helmet()
    assert Client().get("/api/objects/").status_code == 401
    client = as_person(reader)
    assert client.get("/api/objects/").json()["objects"] == []
    absent, hidden = client.get(f"/api/objects/{uuid7()}/"), client.get(f"/api/objects/{thing.pk}/")
    assert (absent.status_code, absent.content) == (hidden.status_code, hidden.content) == (404, hidden.content)
    assert post(client, "/api/objects/", id=str(uuid7()), kind="fire").status_code == 403


def test_the_list_tells_the_way_on(as_person: Browser, curator: Person) -> None:
    for n in range(1, 53):
        stock.helmet(f"1974.1.{n}")
    client = as_person(curator)
    first = client.get("/api/objects/").json()
    second = client.get("/api/objects/", first["on"]).json()
    assert (len(first["objects"]), first["total"], len(second["objects"]), second["on"]) == (50, 52, 2, None)
