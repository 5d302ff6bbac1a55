"""A mail to each curator of the alarms of the climate that were raised, and of those that are over: claimed before it is sent, as reminders are.

What begins or is over for a person by one look is one mail with a part an alarm (`alarm_letter`), each told once. A part is claimed with all
others of its mail, and of a mail that the server did not take all are told anew, with what has come meanwhile.

An alarm that was over before anybody knew of it is told once, and not at all where it ended long ago: old files are no news. That one
is over is told after two days, for air about the limit goes on within them as the same alarm. What goes on after all, since a later file says
so, is told once more; a new one of a season that had such alarms says the how many-th it is.
"""

import logging
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Final
from uuid import UUID

from django.db import InterfaceError, OperationalError, transaction
from django.db.models import Exists, OuterRef, Q

from conservation.checks.alarm_letter import Key, News, Part, letter, part_of
from conservation.checks.models import AlarmMail, Reminder
from conservation.checks.reminders import sent
from locations.climate.actions.alarms import standing_alarms
from locations.climate.alarms import QUIET
from locations.climate.models import ClimateAlarm
from museum import clock
from museum.people.models import Person
from museum.people.permissions import Role

#: what ended longer ago is history, not news
NEWS: Final = timedelta(days=7)
#: until then after its end the same alarm may go on
HELD_BACK: Final = timedelta(hours=QUIET)
#: a mail that failed is tried again so long after, or with anything new
PAUSE: Final = timedelta(hours=1)
Says = AlarmMail.Says
FAILED: Final = Reminder.State.FAILED
log = logging.getLogger(__name__)


@dataclass(slots=True)
class Told:
    """What one person had: of each alarm that it was raised or over, for the how many-th time; what failed so lately that it rests."""

    had: dict[UUID, set[tuple[str, int]]] = field(default_factory=lambda: defaultdict(set))
    rests: set[Key] = field(default_factory=set)


def send_all() -> int:
    """Sends what has not been told yet; answers how many mails went. Safe to run twice, or at once."""
    people = [person for person in Person.objects.filter(mail_reminders=True).order_by("id") if person.is_active and Role.CURATOR in person.roles()]
    alarms, told = _told_of(people), defaultdict[UUID, Told](Told)
    for one in AlarmMail.objects.filter(person__in=people, thread__in=[alarm.thread for alarm in alarms]):
        if one.state != FAILED:
            told[one.person_id].had[one.thread].add((one.says, one.times))
        elif one.claimed_at > clock.now() - PAUSE:
            told[one.person_id].rests.add((one.thread, one.says, one.times))
    return sum(_sent(person, alarms, told[person.pk]) for person in people)


def _told_of(people: Sequence[Person]) -> Sequence[ClimateAlarm]:
    """The alarms that go on, those that ended lately, and those over or withdrawn of which one of these people was told that they go on."""
    reached = AlarmMail.objects.exclude(state=FAILED)
    over_told = reached.filter(person=OuterRef("person"), thread=OuterRef("thread"), says=Says.OVER, times=OuterRef("times"))
    waits = reached.filter(~Exists(over_told), person__in=people, says=Says.RAISED).values("thread")
    ended, now = Q(ended_at__lte=clock.now() - HELD_BACK), clock.now()
    over = ended & (Q(ended_at__gte=now - NEWS) | Q(thread__in=waits))
    told = Q(withdraws=False) & (Q(ended_at=None) | over) | Q(withdraws=True, thread__in=waits)
    rows = ClimateAlarm.objects.filter(told, corrected_by=None).select_related("place__parent__parent__parent").order_by("raised_at", "id")
    return [one for one in rows if not (one.withdraws and _told_by_another(one))]


def _told_by_another(alarm: ClimateAlarm) -> bool:
    """Whether one that was taken back goes on as part of another: a later file joined them."""
    same = standing_alarms().filter(place=alarm.place_id, kind=alarm.kind, level=alarm.level, begin__lte=alarm.raised_at)
    return bool(same.filter(Q(ended_at=None) | Q(ended_at__gte=alarm.raised_at)).exists())


def _sent(person: Person, alarms: Iterable[ClimateAlarm], told: Told) -> bool:
    """One mail; what breaks it off keeps nobody else waiting."""
    news = [one for alarm in alarms if (one := _news(alarm, told.had[alarm.thread]))]
    if told.rests.issuperset(one.key for one in news):
        return False
    try:
        parts = _claimed(person, [part for one in news if (part := _part(person, one))])
        return bool(parts) and sent(letter(person, [part for part, _key in parts]), AlarmMail.objects.filter(pk__in=[key for _part, key in parts]))
    except (OperationalError, InterfaceError):
        raise
    except Exception:
        log.exception("the mail of alarms to person %s broke off", person.pk)
        return False


def _part(person: Person, news: News) -> Part | None:
    """None for one that breaks: the others are told without it."""
    try:
        return part_of(person, news)
    except (OperationalError, InterfaceError):
        raise
    except Exception:
        log.exception("of alarm %s person %s cannot be told", news.alarm.thread, person.pk)
        return None


def _claimed(person: Person, parts: Iterable[Part]) -> list[tuple[Part, int]]:
    """Those that this call may send, with the keys of their claims: all committed at once, before anything leaves the house."""
    with transaction.atomic():
        claims = [(part, _claim(person, part.news)) for part in sorted(parts, key=lambda one: one.news.key)]
    return [(part, key) for part, key in claims if key is not None]


def _claim(person: Person, news: News) -> int | None:
    row, made = AlarmMail.objects.get_or_create(person=person, thread=news.alarm.thread, says=news.says, times=news.times)
    failed = AlarmMail.objects.filter(pk=row.pk, state=FAILED)
    return row.pk if made or failed.update(state=Reminder.State.CLAIMED, claimed_at=clock.now(), error="") else None


def _news(alarm: ClimateAlarm, told: set[tuple[str, int]]) -> News | None:
    """What somebody who had these mails of it has not been told; None where there is nothing, as of what was long over before they were to be told."""
    last = max((times for _says, times in told), default=0)
    over = (Says.OVER, last) in told
    if alarm.ended_at is None and not alarm.withdraws:
        return News(alarm, Says.RAISED, last + 1) if over or not last else None
    old = alarm.withdraws or (alarm.ended_at is not None and alarm.ended_at < clock.now() - NEWS)
    return None if over or (old and not last) else News(alarm, Says.OVER, max(last, 1))
