"""An unfinished check is its author's: thrown away on their word, and never begun by a look."""

import re
import threading
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from collection.objects.models import Object
from collection.objects.queries import zones_of
from conservation.checks.actions.rounds import make_round
from conservation.checks.models import ConditionCheck, Draft
from museum import clock
from museum.ids import uuid7
from museum.people.actor import Actor
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


def walk_of(thing: Object) -> str:
    return reverse("checks:full", args=[thing.pk])


def key_on(page: str) -> str:
    """The key of the check that the page would begin or goes on with."""
    (key,) = set(re.findall(r'name="check" value="([0-9a-f-]{36})"', page))
    return key


def zones(thing: Object) -> list[str]:
    return [zone.key for zone in zones_of(thing)]


@pytest.fixture
def seen_before(phone: Client, thing: Object, volunteer: Person) -> Object:
    """A thing whose ten questions are answered and of which no check is unfinished."""
    for zone in zones(thing):
        phone.post(reverse("checks:touch", args=[thing.pk]), {"zone": zone, "do": "nothing"})
    assert phone.post(reverse("checks:finish", args=[thing.pk])).status_code == 302
    assert not Draft.objects.exists()
    return thing


def test_looking_at_a_check_begins_none(seen_before: Object, phone: Client, curator: Person, as_person: Any) -> None:
    other = stock.helmet("1974.12.4")
    for browser, thing in ((phone, seen_before), (as_person(curator), other)):
        for name in ("checks:full", "checks:screen", "checks:finish", "checks:quick", "checks:stop"):
            assert browser.get(reverse(name, args=[thing.pk])).status_code in (200, 302)
    assert browser.get(walk_of(other))["Location"] == reverse("checks:screen", args=[other.pk])
    assert not Draft.objects.exists()
    page = phone.get(walk_of(seen_before)).content.decode()
    assert "Throw this check away" not in page
    assert "Unfinished check" not in phone.get("/").content.decode()


def test_the_first_answer_begins_it_as_the_page_said(seen_before: Object, phone: Client) -> None:
    key = key_on(phone.get(walk_of(seen_before)).content.decode())
    said = {"zone": zones(seen_before)[0], "do": "not_visible", "check": key}
    for _ in range(2):
        assert phone.post(reverse("checks:touch", args=[seen_before.pk]), said).status_code == 302
    draft = Draft.objects.get()
    assert (draft.content["check"], draft.content["zones"]) == (key, {said["zone"]: "not_visible"})
    page = phone.get(walk_of(seen_before)).content.decode()
    assert key_on(page) == key
    assert "Throw this check away" in page
    assert "Unfinished check" in phone.get("/").content.decode()


def test_two_pages_opened_before_the_first_answer_share_one_check(seen_before: Object, phone: Client, volunteer: Person, as_person: Any) -> None:
    tablet, touch = as_person(volunteer), reverse("checks:touch", args=[seen_before.pk])
    first, second = (key_on(browser.get(walk_of(seen_before)).content.decode()) for browser in (phone, tablet))
    assert first != second
    one, other = zones(seen_before)[:2]
    phone.post(touch, {"zone": one, "do": "nothing", "check": first})
    tablet.post(touch, {"zone": other, "do": "not_checked", "check": second})
    assert Draft.objects.get().content["zones"] == {one: "nothing", other: "not_checked"}
    assert Draft.objects.get().content["check"] == first


def test_what_waited_on_a_device_begins_the_check_it_was_said_in(seen_before: Object, phone: Client) -> None:
    api, key = reverse("checks:api_touch", args=[seen_before.pk]), str(uuid7())
    said = {"zone": zones(seen_before)[0], "do": "nothing"}
    assert phone.post(api, said, content_type="application/json").status_code == 404, "of no check that anybody named"
    assert phone.post(api, said | {"check": key}, content_type="application/json").json()["answered"] == 1
    assert Draft.objects.get().content["check"] == key


def test_an_answer_after_the_check_was_stored_is_told_of_and_begins_none(seen_before: Object, phone: Client) -> None:
    stored = ConditionCheck.objects.get()
    said = {"zone": zones(seen_before)[0], "do": "not_visible", "check": str(stored.pk)}
    page = phone.post(reverse("checks:touch", args=[seen_before.pk]), said, follow=True)
    assert page.redirect_chain[-1][0] == reverse("checks:result", args=[stored.pk])
    assert "What you said just now is not in it" in page.content.decode()
    answer = phone.post(reverse("checks:api_touch", args=[seen_before.pk]), said, content_type="application/json")
    assert (answer.status_code, answer.json()["code"]) == (409, "check_stored")
    assert not Draft.objects.exists()


def test_storing_twice_shows_the_one_check(seen_before: Object, phone: Client) -> None:
    finish, key = reverse("checks:finish", args=[seen_before.pk]), str(ConditionCheck.objects.get().pk)
    assert phone.post(finish, {"check": key, "note": "twice"})["Location"] == reverse("checks:result", args=[key])
    assert ConditionCheck.objects.count() == 1
    fresh = key_on(phone.get(walk_of(seen_before)).content.decode())
    page = phone.get(f"{finish}?check={fresh}")
    assert page.status_code == 200, "the end of a check not begun is no other check"
    assert "have no answer" in page.content.decode()


def test_what_is_typed_at_the_end_of_a_check_not_begun_is_kept(seen_before: Object, phone: Client) -> None:
    key = str(uuid7())
    refused = phone.post(reverse("checks:finish", args=[seen_before.pk]), {"check": key, "note": "the strap is new"})
    assert refused.status_code == 400
    assert "the strap is new" in refused.content.decode()
    assert Draft.objects.get().content["check"] == key


def test_a_check_begun_at_a_stop_ends_it(seen_before: Object, phone: Client, curator: Person, volunteer: Person) -> None:
    walk = make_round(Actor.of(curator), name="Store", due_by=clock.today() + timedelta(days=9_000), walkers=[volunteer.pk])
    stop = walk.stops.get(object=seen_before)
    stop.sort = "full"
    stop.save()
    assert phone.post(reverse("checks:stand_at", args=[stop.pk])).status_code == 302
    for zone in zones(seen_before):
        phone.post(reverse("checks:touch", args=[seen_before.pk]), {"zone": zone, "do": "nothing", "check": str(uuid7())})
    phone.post(reverse("checks:finish", args=[seen_before.pk]))
    stop.refresh_from_db()
    assert stop.done_by == ConditionCheck.objects.latest("recorded_at")


def test_a_check_begun_while_another_stands_at_the_thing_is_no_stop_of_theirs(
    seen_before: Object, phone: Client, curator: Person, volunteer: Person, as_person: Any
) -> None:
    walk = make_round(Actor.of(curator), name="Store", due_by=clock.today() + timedelta(days=9_000), walkers=[volunteer.pk, curator.pk])
    stop = walk.stops.get(object=seen_before)
    stop.sort = "full"
    stop.save()
    assert as_person(curator).post(reverse("checks:stand_at", args=[stop.pk])).status_code == 302
    said = {"zone": zones(seen_before)[0], "do": "nothing", "check": str(uuid7())}
    assert phone.post(reverse("checks:touch", args=[seen_before.pk]), said).status_code == 302
    assert Draft.objects.get(person=volunteer).round_stop_id is None


@pytest.mark.django_db(transaction=True)
def test_storing_is_tapped_twice_at_once(phone: Client, thing: Object, volunteer: Person, as_person: Any) -> None:
    key = str(Draft.objects.get().content["check"])
    for zone in zones(thing):
        phone.post(reverse("checks:touch", args=[thing.pk]), {"zone": zone, "do": "nothing", "check": key})
    gate, answers = threading.Barrier(3), list[str]()

    def tap(browser: Client) -> None:
        gate.wait()
        try:
            answers.append(browser.post(reverse("checks:finish", args=[thing.pk]), {"check": key})["Location"])
        finally:
            connection.close()

    taps = [threading.Thread(target=tap, args=[as_person(volunteer)]) for _ in range(3)]
    for one in taps:
        one.start()
    for one in taps:
        one.join()
    assert answers == [reverse("checks:result", args=[key])] * 3
    assert ConditionCheck.objects.count() == 1
