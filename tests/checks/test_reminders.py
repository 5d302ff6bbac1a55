"""Reminders over a real mail server on this machine: one mail a person a day, never two, and what is not known is said."""

from datetime import timedelta
from typing import Any

import pytest

from conservation.checks import reminders
from conservation.checks.actions.record import record_check
from conservation.checks.actions.rounds import make_round
from conservation.checks.models import Reminder
from conservation.checks.tasks import send_reminders
from conservation.checks.todo import Todo
from museum import clock
from museum.people.actor import Actor
from museum.people.models import Person
from tests import stock
from tests.checks.conftest import Letterbox

pytestmark = pytest.mark.django_db


@pytest.fixture
def walk(volunteer: Person, curator: Person) -> None:
    thing = stock.helmet()
    record_check(Actor.of(volunteer), stock.full_check(thing))
    make_round(Actor.of(curator), name="Cold store", due_by=clock.today() + timedelta(days=800), walkers=[volunteer.pk])


def test_each_gets_one_mail_with_what_is_theirs(walk: None, letterbox: Letterbox, reader: Person) -> None:
    assert send_reminders() == 2
    to = sorted(address for addresses, _mail in letterbox.mails for address in addresses)
    assert to == ["ivo@example.org", "marit@example.org"]
    body = next(mail for addresses, mail in letterbox.mails if addresses == ["marit@example.org"]).get_payload(decode=True)
    assert b"Cold store: 1 of 1 left" in body


def test_running_twice_sends_nothing_twice(walk: None, letterbox: Letterbox) -> None:
    send_reminders()
    assert send_reminders() == 0
    assert len(letterbox.mails) == 2


def test_what_was_claimed_and_never_settled_is_not_repeated_but_told(walk: None, letterbox: Letterbox, volunteer: Person) -> None:
    """The worker died between claim and sending: nobody knows whether it went."""
    Reminder.objects.create(person=volunteer, day=clock.today())
    send_reminders()
    assert [addresses for addresses, _mail in letterbox.mails] == [["ivo@example.org"]]
    assert [row.state for row in reminders.unsettled(volunteer)] == [Reminder.State.CLAIMED]


def test_nothing_to_say_sends_nothing(letterbox: Letterbox, volunteer: Person) -> None:
    assert send_reminders() == 0


def test_who_does_not_want_mail_gets_none(walk: None, letterbox: Letterbox, volunteer: Person) -> None:
    Person.objects.filter(pk=volunteer.pk).update(mail_reminders=False)
    send_reminders()
    assert [addresses for addresses, _mail in letterbox.mails] == [["ivo@example.org"]]


def test_a_server_that_is_away_is_told_and_breaks_nothing(walk: None, settings: Any, volunteer: Person) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9
    assert send_reminders() == 0
    assert [row.state for row in reminders.unsettled(volunteer)] == [Reminder.State.FAILED]


def test_one_whose_mail_breaks_off_keeps_nobody_else_waiting(walk: None, letterbox: Letterbox, volunteer: Person, monkeypatch: pytest.MonkeyPatch) -> None:
    original = reminders.todo_of

    def todo_of(actor: Actor) -> Todo:
        if actor.person == volunteer.pk:
            raise ValueError("a fault in the program")
        return original(actor)

    monkeypatch.setattr(reminders, "todo_of", todo_of)
    assert send_reminders() == 1
    assert [addresses for addresses, _mail in letterbox.mails] == [["ivo@example.org"]]
