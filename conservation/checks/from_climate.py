"""Alarms of the climate become looks: at the things that were there while one ran and hold what mould grows on.

The alarm is the one source: nothing is counted here. Reads the history since its own mark; a move asks again of the alarms that are
open. What was away is not asked for, nor what was looked at since the alarm was raised, nor what an open look of another alarm stands for.
Damp that is amber asks for none: two days over 65 % are a fiftieth or less of the time that mould takes. It counts where it adds up (`damp_sums`).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final
from uuid import UUID

from django.db.models import Max, Q, QuerySet
from django.utils import translation
from django.utils.translation import gettext

from collection.objects.models import Component, Object
from conservation.checks import derived
from conservation.checks.actions.calls import CLIMATE, call_for, said_already, withdraw_calls
from conservation.checks.follow import SOME, with_each
from conservation.checks.models import Call, ConditionCheck, Mark
from conservation.rules.book import held
from conservation.rules.ruleset import rules_in_force
from conservation.rules.tables import EventRule
from locations.climate.actions.alarms import standing_alarms
from locations.climate.alarm_lines import GRAVER, asks_for_looks, rule_of, words_of
from locations.climate.models import AT_WALL, ClimateAlarm
from locations.climate.present import things_there
from museum import clock
from museum.errors import NotFound
from museum.history.models import Change
from museum.history.record import alone
from museum.people.action import Act, action
from museum.people.actor import PROGRAM
from museum.people.models import Society

#: an amber alarm that ended longer ago is left to the looks of every year (ours): the first files of an old house bring years of them
STALE: Final = timedelta(days=90)
#: what brings a thing into a room, or tells otherwise where it was or what it is made of, by the first word of the entry
MOVES: Final = ("movement", "made_of", "component", "object")


def catch_up() -> int:
    """Asks for the looks that alarms told, corrected or withdrawn since the last call make due; answers of how many things.

    Some hundreds a commit, the mark last: nobody waits for the history meanwhile, and what breaks off is asked for again.
    """
    with held(), alone("looks after alarms") as mine:
        if not mine:
            return 0
        mark, _made = Mark.objects.get_or_create(name=CLIMATE)
        last = Change.objects.aggregate(last=Max("n"))["last"] or 0
        told = sum(_follow(thread) for thread in _threads(Change.objects.filter(n__gt=mark.n, n__lte=last)))
        mark.n = last
        mark.save(update_fields=["n"])
        return told


def _threads(entries: QuerySet[Change]) -> list[UUID]:
    """The alarms to ask for, what is due first in front, of one day the graver: a look that is asked for stands for those due after it."""
    facts = [subject.partition(":")[2] for subject in entries.filter(what__startswith="alarm.").values_list("subject", flat=True)]
    told = Q(pk__in=facts)
    if entries.filter(what__regex=rf"^({'|'.join(MOVES)})\.").exists():
        told |= Q(ended_at=None, corrected_by=None, withdraws=False)
    rows = sorted(ClimateAlarm.objects.filter(told), key=lambda one: (_due(one, rule_of(one)), GRAVER.index((one.level, one.kind)), one.raised_at, one.pk))
    return list(dict.fromkeys(one.thread for one in rows))


@dataclass(frozen=True, slots=True)
class Wanted:
    """Things to be asked for, and those whose looks are taken back."""

    asked: Sequence[UUID]
    taken_back: Sequence[UUID]


def _follow(thread: UUID) -> int:
    wanted = _wanted(thread)
    keys = sorted({*wanted.asked, *wanted.taken_back})
    for start in range(0, len(keys), SOME):
        with_each(keys[start : start + SOME], lambda part: _ask(thread, part))
    return len(keys)


def _ask(thread: UUID, keys: Sequence[UUID]) -> None:
    follow_alarm(PROGRAM, thread, object_ids=keys)
    derived.refresh(keys)


@action("checks.follow_alarm", may="event.report")
def follow_alarm(act: Act, thread: UUID, *, object_ids: Sequence[UUID]) -> int:
    """Asks for looks at those of these things that an alarm concerns, takes back those it does not concern; answers how many. Raises NotFound."""
    if not ClimateAlarm.objects.filter(thread=thread).exists():
        raise NotFound
    wanted, alarm = _wanted(thread), standing_alarms().filter(thread=thread).first()
    mine = [key for key in wanted.asked if key in set(object_ids)]
    if alarm is not None and mine:
        rule = rule_of(alarm)
        call_for(act, mine, why=CLIMATE, sort=rule.sort, due_on=_due(alarm, rule), reason=reason_of(alarm, rule), source=thread)
    back = list(_open(thread).filter(object__in=[key for key in wanted.taken_back if key in set(object_ids)]))
    withdraw_calls(act, back, reason=_taken_back(alarm))
    return len(mine) + len(back)


def _wanted(thread: UUID) -> Wanted:
    alarm = standing_alarms().filter(thread=thread).first()
    there = _at_risk(alarm) if alarm and asks_for_looks(alarm) else set()
    back = [key for key in _open(thread).values_list("object_id", flat=True) if key not in there]
    if alarm is None or not there or _long_over(alarm):
        return Wanted((), back)
    asked = set(Call.objects.filter(source=thread, why=CLIMATE, corrected_by=None, withdraws=False).values_list("object_id", flat=True))
    covered = said_already(there, rule_of(alarm), _due(alarm, rule_of(alarm)))
    return Wanted(sorted(there - asked - covered - _looked_at(there, alarm) - _told_by_walls(alarm)), back)


def _told_by_walls(alarm: ClimateAlarm) -> set[UUID]:
    """Of a room's alarm of mould, the things for which that of a wall of the same time speaks as gravely."""
    if alarm.kind != ClimateAlarm.Kind.MOULD or alarm.at_wall:
        return set()
    walls = standing_alarms().filter(kind=alarm.kind, level__in={alarm.level, ClimateAlarm.Level.RED}, figures__has_any_keys=AT_WALL)
    walls = walls.filter(Q(ended_at=None) | Q(ended_at__gt=alarm.begin), begin__lt=alarm.ended_at or clock.now())
    return {key for one in walls for key in _at_risk(one)}


def _open(thread: UUID) -> QuerySet[Call]:
    return Call.objects.filter(source=thread, why=CLIMATE, answer=None, corrected_by=None, withdraws=False)


def _at_risk(alarm: ClimateAlarm) -> set[UUID]:
    """The things of which a part on which mould grows was there during the run."""
    damp = rules_in_force().damp_materials
    there = [one.component for one in things_there(alarm.place_id, alarm.begin, alarm.ended_at or clock.now()) if one.material in damp]
    return set(Object.objects.filter(pk__in=Component.objects.filter(pk__in=there).values("object"), withdrawn="").values_list("pk", flat=True))


def _long_over(alarm: ClimateAlarm) -> bool:
    return alarm.level == ClimateAlarm.Level.AMBER and alarm.ended_at is not None and alarm.ended_at < clock.now() - STALE


def _looked_at(keys: Iterable[UUID], alarm: ClimateAlarm) -> set[UUID]:
    """Those somebody looked at after the alarm was raised; a reading of a card is no look at the whole.

    Of mould that is presumed from the days that went by, after they began to: what came before a look is not added to what came after it.
    """
    since = alarm.begin if "share" in alarm.figures else alarm.raised_at
    day = clock.day_of(since)
    rows = ConditionCheck.objects.filter(object__in=keys, corrected_by=None, withdraws=False).exclude(purpose=ConditionCheck.Purpose.CARD)
    return set(rows.filter(Q(happened_on__gt=day) | Q(happened_at__gt=since)).values_list("object_id", flat=True))


def _due(alarm: ClimateAlarm, rule: EventRule) -> date:
    """So many days after it was raised; today where that came to light late, since nobody can look yesterday."""
    return max(clock.day_of(alarm.raised_at) + timedelta(days=rule.days), clock.today())


def reason_of(alarm: ClimateAlarm, rule: EventRule) -> str:
    """Why, in the society's language, without the name of the place, which not everybody may read who may read the reason."""
    with translation.override(Society.load().language):
        return gettext("Where it stood: %(alarm)s; %(do)s") % {"alarm": words_of(alarm), "do": gettext(rule.reason)}


def _taken_back(alarm: ClimateAlarm | None) -> str:
    """Why looks of an alarm are not asked for any more: it does not stand, or does not concern them."""
    with translation.override(Society.load().language):
        if alarm is None or not asks_for_looks(alarm):
            return gettext("The readings do not say any more that it was damp where this stood.")
        return gettext("As its record, its places and its materials are told now, the damp there does not concern it.")
