"""The photograph of a finding goes with the finding: by the form alone, by the page's script, refused in plain words."""

import io
from typing import Any
from uuid import UUID

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from collection.objects.models import Object, Photograph
from collection.objects.queries import photographs_of
from conservation.checks.models import Draft
from museum.ids import uuid7
from museum.people.models import Person
from tests import stock
from tests.objects.pictures import made


@pytest.fixture
def thing(society: Any) -> Object:
    return stock.helmet()


@pytest.fixture
def phone(thing: Object, volunteer: Person, as_person: Any) -> Client:
    """A volunteer's phone in the middle of the walk."""
    client: Client = as_person(volunteer)
    client.post(reverse("checks:screen", args=[thing.pk]), {f"{n}": "no" for n in range(1, 11)})
    assert client.get(reverse("checks:full", args=[thing.pk])).status_code == 200
    return client


def finding_of(thing: Object) -> dict[str, str]:
    """The fields of the form for a spot of rust on the rim."""
    return {
        "zone": str(stock.zone(thing, "RB")), "view": "front", "go": "next", "id": str(uuid7()), "finding": str(uuid7()), "term": "RUST_SPOT",
        "percent": "3", "severity": "2", "activity": "1", "change": "new", "do": "save",
    }  # fmt: skip


def picture(name: str, taken: str = "") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, made(taken=taken), content_type="image/jpeg")


def test_photographs_are_kept_with_the_finding_they_were_taken_for(phone: Client, thing: Object) -> None:
    fields = finding_of(thing)
    two = [picture("a.jpg"), picture("b.jpg", "2025:03:05 14:20:00")]
    answer = phone.post(reverse("checks:touch", args=[thing.pk]), {**fields, "photo": two}, follow=True)
    assert "2 photographs are kept." in answer.content.decode()
    assert photographs_of("finding", UUID(fields["finding"])).count() == 2
    assert {row.view for row in photographs_of("object", thing.pk)} == {"V13"}
    assert Draft.objects.get().content["seen"]


def test_a_refused_picture_is_said_and_the_finding_is_kept(phone: Client, thing: Object) -> None:
    broken = SimpleUploadedFile("broken.jpg", made()[:400], content_type="image/jpeg")
    answer = phone.post(reverse("checks:touch", args=[thing.pk]), {**finding_of(thing), "photo": [broken]}, follow=True)
    assert "broken.jpg is damaged" in answer.content.decode()
    assert not Photograph.objects.exists()
    assert Draft.objects.get().content["seen"]


def test_a_finding_that_lacks_something_does_not_lose_its_photograph(phone: Client, thing: Object) -> None:
    fields = {**finding_of(thing), "percent": "a third"}
    answer = phone.post(reverse("checks:touch", args=[thing.pk]), {**fields, "photo": [picture("a.jpg")]}, follow=True)
    page = answer.content.decode()
    assert "Not stored yet" in page
    assert f'name="finding" value="{fields["finding"]}"' in page
    assert photographs_of("finding", UUID(fields["finding"])).count() == 1


def test_the_page_tells_its_script_where_photographs_go(phone: Client, thing: Object) -> None:
    page = phone.get(reverse("checks:full", args=[thing.pk])).content.decode()
    assert f'data-photo="{reverse("objects:api_photos")}"' in page
    fields = finding_of(thing)
    body = {"id": str(uuid7()), "view": "V13", "finding": fields["finding"], "object": str(thing.pk)}
    for _again in range(2):
        sent = phone.post(reverse("objects:api_photos"), {**body, "photo": io.BytesIO(made())})
        assert sent.status_code == 201, sent.content
    assert photographs_of("finding", UUID(fields["finding"])).count() == 1
