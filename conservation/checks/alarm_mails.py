"""A mail to each curator once an alarm of the climate was raised, and once it is over: claimed before it is sent, as reminders are.

An alarm that was over before anybody knew of it is told in one mail, and not at all where it ended long ago: old files are no news. That one
is over is told after two days, for air about the limit goes on within them as the same alarm. What goes on after all, since a later file says
so, is told once more; a new one of a season that had such alarms says the how many-th it is.
"""

import logging
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final
from uuid import UUID

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import InterfaceError, OperationalError
from django.db.models import Exists, OuterRef, Q
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import gettext as _

from conservation.checks.models import AlarmMail
from conservation.checks.reminders import claimed, sent
from locations.climate.actions.alarms import standing_alarms
from locations.climate.alarm_lines import asks_for_looks, words_of
from locations.climate.alarms import QUIET
from locations.climate.models import ClimateAlarm, LoggerStay
from locations.places.models import Place
from museum import clock
from museum.people.models import Person, Society
from museum.people.permissions import Role

#: what ended longer ago is history, not news
NEWS: Final = timedelta(days=7)
#: until then after its end the same alarm may go on
HELD_BACK: Final = timedelta(hours=QUIET)
#: alarms of a place that follow each other within so many days are of one damp season (ours)
SEASON: Final = timedelta(days=90)
Says = AlarmMail.Says
#: what one person had of one alarm: that it was raised or over, for the how many-th time
Mails = set[tuple[str, int]]
log = logging.getLogger(__name__)


def send_all() -> int:
    """Sends what has not been told yet; answers how many mails went. Safe to run twice, or at once."""
    people = [person for person in Person.objects.filter(mail_reminders=True).order_by("id") if person.is_active and Role.CURATOR in person.roles()]
    alarms, told = _told_of(people), defaultdict[tuple[UUID, UUID], Mails](set)
    for one in AlarmMail.objects.filter(person__in=people, thread__in=[alarm.thread for alarm in alarms]):
        told[one.person_id, one.thread].add((one.says, one.times))
    return sum(_sent(person, alarm, told[person.pk, alarm.thread]) for person in people for alarm in alarms)


def _told_of(people: Sequence[Person]) -> Sequence[ClimateAlarm]:
    """The alarms that go on, those that ended lately, and those over or withdrawn of which one of these people was told that they go on."""
    over_told = AlarmMail.objects.filter(person=OuterRef("person"), thread=OuterRef("thread"), says=Says.OVER, times=OuterRef("times"))
    waits = AlarmMail.objects.filter(~Exists(over_told), person__in=people, says=Says.RAISED).values("thread")
    ended, now = Q(ended_at__lte=clock.now() - HELD_BACK), clock.now()
    over = ended & (Q(ended_at__gte=now - NEWS) | Q(thread__in=waits))
    told = Q(withdraws=False) & (Q(ended_at=None) | over) | Q(withdraws=True, thread__in=waits)
    rows = ClimateAlarm.objects.filter(told, corrected_by=None).select_related("place").order_by("raised_at", "id")
    return [one for one in rows if not (one.withdraws and _told_by_another(one))]


def _told_by_another(alarm: ClimateAlarm) -> bool:
    """Whether one that was taken back goes on as part of another: a later file joined them."""
    same = standing_alarms().filter(place=alarm.place_id, kind=alarm.kind, level=alarm.level, begin__lte=alarm.raised_at)
    return bool(same.filter(Q(ended_at=None) | Q(ended_at__gte=alarm.raised_at)).exists())


def _sent(person: Person, alarm: ClimateAlarm, told: Mails) -> bool:
    """One mail; what breaks it off keeps nobody else waiting."""
    try:
        return _send(person, alarm, told)
    except (OperationalError, InterfaceError):
        raise
    except Exception:
        log.exception("the mail of alarm %s to person %s broke off", alarm.thread, person.pk)
        return False


def _send(person: Person, alarm: ClimateAlarm, told: Mails) -> bool:
    news = _news(alarm, told)
    if news is None or not claimed(AlarmMail, person=person, thread=alarm.thread, says=news.says, times=news.times):
        return False
    claim = AlarmMail.objects.filter(person=person, thread=alarm.thread, says=news.says, times=news.times)
    return sent(_message(person, alarm, news), claim)


@dataclass(frozen=True, slots=True)
class News:
    """What is told of an alarm, for which time: raised and over are told in turn."""

    says: str
    times: int


def _news(alarm: ClimateAlarm, told: Mails) -> News | None:
    """What somebody who had these mails of it has not been told; None where there is nothing, as of what was long over before they were to be told."""
    last = max((times for _says, times in told), default=0)
    over = (Says.OVER, last) in told
    if alarm.ended_at is None and not alarm.withdraws:
        return News(Says.RAISED, last + 1) if over or not last else None
    old = alarm.withdraws or (alarm.ended_at is not None and alarm.ended_at < clock.now() - NEWS)
    return None if over or (old and not last) else News(Says.OVER, max(last, 1))


@dataclass(frozen=True, slots=True)
class Season:
    """The how many-th alarm of its kind and level this is in a place, since the day on which the first of the season was raised."""

    times: int
    since: date


def season_of(alarm: ClimateAlarm) -> Season:
    """Alarms with no more than a quarter of a year between them are of one season."""
    first, times = alarm, 1
    earlier = standing_alarms().filter(place=alarm.place_id, kind=alarm.kind, level=alarm.level, raised_at__lt=alarm.raised_at, ended_at__isnull=False)
    for before in earlier.order_by("-raised_at"):
        if before.ended_at < first.begin - SEASON:
            break
        first, times = before, times + 1
    return Season(times, clock.day_of(first.raised_at))


def _subject(news: News, season: Season, told: dict[str, str]) -> str:
    if news.says == Says.OVER:
        return _("%(place)s: %(level)s alarm is over") % told
    if news.times > 1:
        return _("%(place)s: %(level)s alarm goes on") % told
    return _("%(place)s: %(level)s alarm again") % told if season.times > 1 else _("%(place)s: %(level)s alarm") % told


def _message(person: Person, alarm: ClimateAlarm, news: News) -> EmailMessage:
    society, season = Society.load(), season_of(alarm)
    with translation.override(person.language):
        mould, place = alarm.kind == ClimateAlarm.Kind.MOULD, alarm.place
        where = f"{place.name} ({alarm.get_kind_display()})" if mould else place.name
        subject = _subject(news, season, {"place": where, "level": str(alarm.get_level_display())})
        context = {
            "person": person, "alarm": alarm, "words": words_of(alarm), "over": news.says == Says.OVER, "mould": mould,
            "after_all": news.times > 1, "season": season, "looks": asks_for_looks(alarm), "society": society, "address": settings.SITE_URL,
            "charted": place.level == Place.Level.ROOM or LoggerStay.objects.filter(place=place).exists(),
        }  # fmt: skip
        body = render_to_string("checks/alarm_mail.txt", context)
    host = settings.DEFAULT_FROM_EMAIL.rpartition("@")[2]
    headers = {"Message-ID": f"<alarm-{news.says}-{news.times}-{alarm.thread}-{person.pk}@{host}>"}
    return EmailMessage(subject, body, settings.DEFAULT_FROM_EMAIL, [person.email], headers=headers)
