"""An unfinished check is its author's: thrown away on their word, and not left behind by a look."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from collection.objects.models import Object
from conservation.checks.models import Draft
from conservation.checks.tasks import clear_drafts
from museum import clock
from museum.people.models import Person
from tests import stock


@pytest.fixture
def thing(society: Any) -> Object:
    return stock.helmet()


@pytest.fixture
def phone(thing: Object, volunteer: Person, as_person: Any) -> Client:
    client: Client = as_person(volunteer)
    client.post(reverse("checks:screen", args=[thing.pk]), {f"{n}": "no" for n in range(1, 11)})
    return client


def test_an_unfinished_check_is_thrown_away_and_only_one_s_own(phone: Client, thing: Object, curator: Person, as_person: Any) -> None:
    drop, walk = reverse("checks:drop", args=[thing.pk]), reverse("checks:full", args=[thing.pk])
    assert "Throw this check away" in phone.get(walk).content.decode()
    assert as_person(curator).post(drop).status_code == 302
    assert Draft.objects.count() == 1, "another person's word does not count"
    assert phone.get(drop).status_code == 405
    assert phone.post(drop)["Location"] == reverse("desk:thing", args=[thing.pk])
    assert not Draft.objects.exists()


def test_a_check_that_was_only_opened_is_cleared_after_some_days(phone: Client, thing: Object, curator: Person, as_person: Any) -> None:
    other = stock.helmet("1974.12.4")
    as_person(curator).get(reverse("checks:screen", args=[other.pk]))
    Draft.objects.update(saved_at=clock.now() - timedelta(days=3))
    assert clear_drafts() == 1
    assert Draft.objects.get().object == thing, "what was said stays, however old"
