"""What one person is told of a day: how much is due, in a house of any size."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client

from conservation.checks import todo
from conservation.checks.actions.record import record_check
from museum import clock
from museum.people.actor import Actor
from museum.people.models import Person
from tests import stock

pytestmark = pytest.mark.django_db


@pytest.fixture
def three_things(volunteer: Person) -> None:
    for number in ("1974.1.1", "1974.1.2", "1974.1.3"):
        record_check(Actor.of(volunteer), stock.full_check(stock.helmet(number)))


@pytest.mark.parametrize("dates", [4_000, 6])
def test_things_are_counted_once_whatever_falls_due_of_them(three_things: None, monkeypatch: pytest.MonkeyPatch, dates: int) -> None:
    """Each of the three is due for a full and a quick look: six dates."""
    monkeypatch.setattr(todo, "DATES_READ", dates + 1)
    with clock.at(clock.now() + timedelta(days=3_000)):
        assert todo.due_counts() == {"overdue": 3, "soon": 0, "urgent": 0}


def test_of_very_many_no_more_are_counted_and_it_says_so(
    three_things: None, curator: Person, as_person: Callable[[Person], Client], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(todo, "MOST_COUNTED", 2)
    with clock.at(clock.now() + timedelta(days=3_000)):
        assert todo.due_counts()["overdue"] == 2
        assert "2 or more looks are overdue" in as_person(curator).get("/").content.decode()
        monkeypatch.setattr(todo, "DATES_READ", 2)
        assert todo.due_counts()["overdue"] == 2
