"""What happened to a room, told by a person: it makes looks due, once, and of days that were."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client

from conservation.checks.models import Event
from locations.places.actions import move_object
from museum import clock
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from museum.people.models import Person
from tests import stock

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]


def test_a_day_to_come_or_a_mistyped_year_is_asked_about_and_what_was_typed_stays(volunteer: Person, as_person: Browser) -> None:
    *_, board = stock.shelf()
    client = as_person(volunteer)
    for day, words in ((clock.today() + timedelta(days=3), "still to come"), (clock.today().replace(year=1900, day=1), "Look at the year again")):
        answer = client.post("/events/new/", {"kind": "leak", "place": str(board.pk), "on": day.isoformat(), "note": "a drip"})
        page = answer.content.decode()
        assert answer.status_code == 400
        assert words in page
        assert "a drip" in page
        assert f'<option value="{board.pk}" selected>' in page
    assert not Event.objects.exists()


def test_told_twice_by_a_double_click_it_happened_once(volunteer: Person, as_person: Browser) -> None:
    *_, board = stock.shelf()
    move_object(PROGRAM, stock.helmet().pk, place_id=board.pk)
    sent = {"act": str(uuid7()), "kind": "leak", "place": str(board.pk), "on": clock.today().isoformat(), "note": "a drip"}
    for _ in range(2):
        assert as_person(volunteer).post("/events/new/", sent).status_code == 302
    assert Event.objects.count() == 1
