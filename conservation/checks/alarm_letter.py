"""The mail that tells a person what began and what is over: of one alarm or of many, a part each, what is gravest first, places together."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final
from uuid import UUID, uuid5

from django.conf import settings
from django.core.mail import EmailMessage
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from conservation.checks.actions.calls import CLIMATE
from conservation.checks.models import AlarmMail, Call
from locations.climate.actions.alarms import standing_alarms
from locations.climate.alarm_lines import GRAVER, asks_for_looks, page_of, place_in_room, words_of
from locations.climate.models import ClimateAlarm, LoggerStay
from locations.places.models import Place
from museum import clock
from museum.people.models import Person, Society

#: alarms of a place that follow each other within so many days are of one damp season (ours)
SEASON: Final = timedelta(days=90)
Says = AlarmMail.Says
#: an alarm, that it was raised or over, for the how many-th time
Key = tuple[UUID, str, int]


@dataclass(frozen=True, slots=True)
class News:
    """What is told of an alarm, for which time: raised and over are told in turn."""

    alarm: ClimateAlarm
    says: str
    times: int

    @property
    def key(self) -> Key:
        """By which it is known that it was told."""
        return self.alarm.thread, self.says, self.times

    @property
    def over(self) -> bool:
        """Of what ended, or was taken back."""
        return self.says == Says.OVER


@dataclass(frozen=True, slots=True)
class Part:
    """What a mail says of one alarm: a line that could be its subject, and the sentences."""

    news: News
    heading: str
    text: str
    page: UUID | None
    looks: bool

    @property
    def place(self) -> Place:
        return self.news.alarm.place

    @property
    def begun(self) -> bool:
        """Whether something is to be done about it: the gravest of a place says what, once."""
        return not self.news.over

    @property
    def mould(self) -> bool:
        """Whether cautions of mould belong to it."""
        return self.news.alarm.kind == ClimateAlarm.Kind.MOULD and not self.news.alarm.withdraws

    @property
    def order(self) -> tuple[bool, int]:
        """What began before what is over, the graver first."""
        return self.news.over, GRAVER.index((self.news.alarm.level, self.news.alarm.kind))


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


def part_of(person: Person, news: News) -> Part:
    """In the person's language."""
    alarm, season = news.alarm, season_of(news.alarm)
    name, looks = place_in_room(alarm.place), _asks(news)
    with translation.override(person.language):
        where = f"{name} ({alarm.get_kind_display()})" if alarm.kind == ClimateAlarm.Kind.MOULD else name
        heading = _heading(news, season, {"place": where, "level": str(alarm.get_level_display())})
        context = {
            "alarm": alarm, "name": name, "words": words_of(alarm), "over": news.over, "after_all": news.times > 1, "season": season,
            "looks": looks,
        }  # fmt: skip
        text = render_to_string("checks/alarm_part.txt", context).strip()
    return Part(news, heading, text, page_of(alarm.place, LoggerStay.objects.filter(place=alarm.place).exists()), looks)


def _asks(news: News) -> bool:
    """Whether looks are to be told of: of one that began that it asks for them, of one that is over that some it asked for are still to be made."""
    if not news.over:
        return asks_for_looks(news.alarm)
    return Call.objects.filter(source=news.alarm.thread, why=CLIMATE, answer=None, corrected_by=None, withdraws=False).exists()


def letter(person: Person, parts: Sequence[Part]) -> EmailMessage:
    """One mail of one or more parts. The same parts make the same Message-ID, so that a mail server too can see a double."""
    ordered = sorted(parts, key=lambda one: one.order)
    with translation.override(person.language):
        context = {
            "person": person, "places": _by_place(ordered), "several": len(ordered) > 1, "mould": any(one.mould for one in ordered),
            "looks": any(one.looks for one in ordered), "society": Society.load(), "address": settings.SITE_URL,
        }  # fmt: skip
        body, subject = render_to_string("checks/alarm_mail.txt", context), _subject(ordered)
    keys = sorted(f"{says}-{times}-{thread}" for thread, says, times in (one.news.key for one in ordered))
    name = keys[0] if len(keys) == 1 else str(uuid5(ordered[0].news.alarm.thread, " ".join(keys)))
    headers = {"Message-ID": f"<alarm-{name}-{person.pk}@{settings.DEFAULT_FROM_EMAIL.rpartition('@')[2]}>"}
    return EmailMessage(subject, body, settings.DEFAULT_FROM_EMAIL, [person.email], headers=headers)


def _by_place(ordered: Sequence[Part]) -> list[list[Part]]:
    found: dict[Any, list[Part]] = {}
    for one in ordered:
        found.setdefault(one.place.pk, []).append(one)
    return list(found.values())


def _heading(news: News, season: Season, told: dict[str, str]) -> str:
    if news.over:
        return _("%(place)s: %(level)s alarm is over") % told
    if news.times > 1:
        return _("%(place)s: %(level)s alarm goes on") % told
    return _("%(place)s: %(level)s alarm again") % told if season.times > 1 else _("%(place)s: %(level)s alarm") % told


def _subject(ordered: Sequence[Part]) -> str:
    """The gravest, and how many more there are: what began before what is over."""
    first, over = ordered[0].heading, sum(one.news.over for one in ordered)
    if over == len(ordered):
        more = over - 1
        return ngettext("%(first)s, and so is %(n)s more", "%(first)s, and so are %(n)s more", more) % {"first": first, "n": more} if more else first
    if more := len(ordered) - over - 1:
        first = ngettext("%(first)s, and %(n)s more", "%(first)s, and %(n)s more", more) % {"first": first, "n": more}
    return ngettext("%(begun)s; %(n)s is over", "%(begun)s; %(n)s are over", over) % {"begun": first, "n": over} if over else first
