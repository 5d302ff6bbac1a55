"""A mail to each curator once an alarm of the climate was raised, and once it is over: claimed before it is sent, as reminders are.

An alarm that was over before anybody knew of it is told in one mail, and not at all where it ended long ago: old files are no news.
"""

import logging
from collections.abc import Sequence
from datetime import timedelta
from typing import Final

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import InterfaceError, OperationalError
from django.db.models import Q
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import gettext as _

from conservation.checks.models import AlarmMail
from conservation.checks.reminders import claimed, sent
from locations.climate.alarm_lines import words_of
from locations.climate.models import ClimateAlarm
from museum import clock
from museum.people.models import Person, Society
from museum.people.permissions import Role

#: what ended longer ago is history, not news
NEWS: Final = timedelta(days=7)
Says = AlarmMail.Says
log = logging.getLogger(__name__)


def send_all() -> int:
    """Sends what has not been told yet; answers how many mails went. Safe to run twice, or at once."""
    people = [person for person in Person.objects.filter(mail_reminders=True).order_by("id") if person.is_active and Role.CURATOR in person.roles()]
    alarms = _told_of()
    return sum(_sent(person, alarm) for person in people for alarm in alarms)


def _told_of() -> Sequence[ClimateAlarm]:
    """The alarms that go on, those that ended lately, and those that were told and are over or withdrawn."""
    over = AlarmMail.objects.filter(says=Says.OVER).values("thread")
    begun = AlarmMail.objects.filter(says=Says.RAISED).exclude(thread__in=over).values("thread")
    going = Q(ended_at=None, withdraws=False) | Q(ended_at__gte=clock.now() - NEWS, withdraws=False) | Q(thread__in=begun)
    return list(ClimateAlarm.objects.filter(going, corrected_by=None).select_related("place").order_by("raised_at", "id"))


def _sent(person: Person, alarm: ClimateAlarm) -> bool:
    """One mail; what breaks it off keeps nobody else waiting."""
    try:
        return _send(person, alarm)
    except (OperationalError, InterfaceError):
        raise
    except Exception:
        log.exception("the mail of alarm %s to person %s broke off", alarm.thread, person.pk)
        return False


def _send(person: Person, alarm: ClimateAlarm) -> bool:
    goes_on = alarm.ended_at is None and not alarm.withdraws
    says = Says.RAISED if goes_on else Says.OVER
    if alarm.withdraws and not AlarmMail.objects.filter(person=person, thread=alarm.thread, says=Says.RAISED).exists():
        return False
    if not claimed(AlarmMail, person=person, thread=alarm.thread, says=says):
        return False
    return sent(_message(person, alarm, says), AlarmMail.objects.filter(person=person, thread=alarm.thread, says=says))


def _message(person: Person, alarm: ClimateAlarm, says: str) -> EmailMessage:
    society = Society.load()
    with translation.override(person.language):
        told = {"place": alarm.place.name, "level": alarm.get_level_display()}
        subject = _("%(place)s: %(level)s alarm") % told if says == Says.RAISED else _("%(place)s: %(level)s alarm is over") % told
        context = {
            "person": person, "alarm": alarm, "words": words_of(alarm), "over": says == Says.OVER, "mould": alarm.kind == ClimateAlarm.Kind.MOULD,
            "society": society, "address": settings.SITE_URL,
        }  # fmt: skip
        body = render_to_string("checks/alarm_mail.txt", context)
    host = settings.DEFAULT_FROM_EMAIL.rpartition("@")[2]
    headers = {"Message-ID": f"<alarm-{says}-{alarm.thread}-{person.pk}@{host}>"}
    return EmailMessage(subject, body, settings.DEFAULT_FROM_EMAIL, [person.email], headers=headers)
