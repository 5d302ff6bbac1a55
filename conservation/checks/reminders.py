"""One mail a person a day with what is theirs: claimed before it is sent, so never sent twice.

What happens when the worker dies between claim and sending is not known to anybody; such a mail is not
repeated but shown on the person's start page as 'sending not known'.
"""

import logging
from datetime import date, timedelta
from smtplib import SMTPRecipientsRefused, SMTPResponseException
from typing import Any, NamedTuple

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.db import InterfaceError, OperationalError, transaction
from django.db.models import QuerySet
from django.db.models.functions import TruncDate
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import gettext as _

from conservation.checks.models import AlarmMail, Reminder
from conservation.checks.todo import Todo, todo_of
from museum import clock
from museum.people.actor import Actor
from museum.people.models import Person, Society

log = logging.getLogger(__name__)


def send_all(day: date) -> int:
    """Sends what is due to everybody who wants it; answers how many went. Safe to run twice, or at once."""
    people = Person.objects.filter(mail_reminders=True).order_by("id")
    return sum(_sent(person, day) for person in people if person.is_active)


def _sent(person: Person, day: date) -> bool:
    """One person's mail; what breaks it off keeps nobody else waiting."""
    try:
        return send_one(person, day)
    except (OperationalError, InterfaceError):
        raise
    except Exception:
        log.exception("the reminder of %s to person %s broke off", day, person.pk)
        return False


def send_one(person: Person, day: date) -> bool:
    """Sends one person's mail of a day, unless it was claimed before or there is nothing to say."""
    actor = Actor.of(person)
    if not actor.may("round.walk"):
        return False
    todo = todo_of(actor)
    if todo.empty or not claimed(person=person, day=day):
        return False
    return sent(_message(person, todo, day), Reminder.objects.filter(person=person, day=day))


class Unsettled(NamedTuple):
    """A mail of a day of which it is not known, or known not, that it went."""

    day: date
    state: str


def unsettled(person: Person) -> list[Unsettled]:
    """Those of the last week, of alarms too, the oldest first."""
    since = clock.today() - timedelta(days=7)
    day = TruncDate("claimed_at", tzinfo=clock.zone())
    alarms = AlarmMail.objects.annotate(on=day).filter(person=person, on__gte=since).exclude(state=Reminder.State.SENT).values_list("on", "state")
    daily = Reminder.objects.filter(person=person, day__gte=since).exclude(state=Reminder.State.SENT).values_list("day", "state")
    return [Unsettled(*row) for row in daily.union(alarms).order_by("day")]


def claimed(**key: Any) -> bool:
    """Whether this call is the one that may send the reminder of this key; committed before anything leaves the house."""
    with transaction.atomic():
        _row, made = Reminder.objects.get_or_create(**key)
    return made


def sent(message: EmailMessage, claim: "QuerySet[Reminder] | QuerySet[AlarmMail]") -> bool:
    """Sends what was claimed and writes down what came of it. Of a line that broke while the server had the mail nobody knows whether it took it."""
    reached = False
    try:
        with get_connection() as line:
            reached = True
            line.send_messages([message])
    except OSError as error:
        log.warning("mail %s not sent: %s", message.extra_headers["Message-ID"], type(error).__name__)
        if not reached or isinstance(error, SMTPResponseException | SMTPRecipientsRefused):
            claim.update(state=Reminder.State.FAILED, error=_("The mail server did not take it."))
        return False
    claim.update(state=Reminder.State.SENT, error="")
    return True


def _message(person: Person, todo: Todo, day: date) -> EmailMessage:
    society = Society.load()
    with translation.override(person.language):
        context = {"person": person, "todo": todo, "day": day, "society": society, "address": settings.SITE_URL}
        body = render_to_string("checks/reminder.txt", context)
        subject = _("%(society)s: what is yours today") % {"society": society.short_name or society.name}
    return EmailMessage(subject, body, settings.DEFAULT_FROM_EMAIL, [person.email], headers={"Message-ID": _message_id(person, day)})


def _message_id(person: Person, day: date) -> str:
    """The same for one person and day, so that a mail server too can see a double."""
    return f"<reminder-{day:%Y%m%d}-{person.pk}@{settings.DEFAULT_FROM_EMAIL.rpartition('@')[2]}>"
