"""Programs send files of loggers and what dials show: repeatable by their key, refused whole and in words."""

import base64
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from locations.climate.actions.files import take_file
from locations.climate.models import ClimateFile, Reading, Spot
from locations.climate.tasks import climate_file
from museum.ids import uuid7
from museum.jobs import running
from museum.papers.files import Upload
from museum.people.actor import Actor
from museum.people.models import Person
from tests import stock
from tests.climate.test_bringing_in import HOURS, logger, text

pytestmark = pytest.mark.django_db
AsPerson = Callable[[Person], Client]


def post(client: Client, path: str, body: Any) -> Any:
    return client.post(path, body, content_type="application/json")


def test_a_file_is_taken_once_and_read_by_the_job(volunteer: Person, as_person: AsPerson) -> None:
    it, client = logger(), as_person(volunteer)
    body = {"id": str(uuid7()), "name": "T-7.csv", "logger": str(it.pk), "content": base64.b64encode(text(HOURS)).decode()}
    first, again = (post(client, "/api/climate/files/", body) for _ in range(2))
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json() == again.json()
    row = ClimateFile.objects.get()
    assert row.job
    assert climate_file
    running.run(row.job)
    assert Reading.objects.filter(logger=it.number).count() == 24
    assert client.get(f"/api/climate/files/{row.pk}/").json()["state"] == "done"
    assert client.get(f"/api/climate/files/{uuid7()}/").status_code == 404


def test_a_file_is_fetched_byte_for_byte_as_it_came(volunteer: Person, reader: Person, as_person: AsPerson) -> None:
    data = b"\xef\xbb\xbf" + text(HOURS).replace(b"\n", b"\r\n") + b"\x00\x00"
    row = take_file(Actor.of(volunteer), Upload("T-1 cellar.csv", data))
    for address in (f"/climate/files/{row.pk}/original/", f"/api/climate/files/{row.pk}/original/"):
        answer = as_person(volunteer).get(address)
        assert b"".join(answer.streaming_content) == data
        assert 'attachment; filename="T-1 cellar.csv"' in answer["Content-Disposition"]
        assert as_person(reader).get(address).status_code in (403, 404)
        assert as_person(volunteer).get(address.replace(str(row.pk), str(uuid7()))).status_code == 404


@pytest.mark.parametrize(("content", "said"), [("no base64 at all", "base64"), (base64.b64encode(b"name,colour\nhelmet,red\n").decode(), "day and an hour")])
def test_what_is_no_file_of_a_logger_is_refused_and_not_kept(volunteer: Person, as_person: AsPerson, content: str, said: str) -> None:
    answer = post(as_person(volunteer), "/api/climate/files/", {"id": str(uuid7()), "name": "x.csv", "content": content})
    assert answer.status_code == 400
    assert said in answer.content.decode()
    assert not ClimateFile.objects.exists()


def test_dials_are_stored_all_or_none(volunteer: Person, reader: Person, as_person: AsPerson) -> None:
    hall, store, _ = stock.shelf()
    readings = [{"id": str(uuid7()), "place": str(place.pk), "t": 12.5, "rh": rh} for place, rh in ((hall, 61), (store, 300))]
    body = {"id": str(uuid7()), "readings": readings}
    assert post(as_person(volunteer), "/api/climate/spots/", body).status_code == 400
    assert not Spot.objects.exists()
    readings[1]["rh"] = 70
    assert post(as_person(reader), "/api/climate/spots/", body).status_code == 403
    for _ in range(2):
        assert post(as_person(volunteer), "/api/climate/spots/", body).status_code == 201
    assert sorted(Spot.objects.values_list("rh", flat=True)) == [61, 70]
