"""The care plan for a year: month by month what is due in which room, and of each thing in which months."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final
from uuid import UUID

from django.db.models import Max
from django.urls import reverse
from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from collection.objects.models import Card
from conservation.checks.models import CardTest, Due, Round, State
from conservation.rules import intervals
from conservation.rules.leave import same_day_later
from conservation.rules.ruleset import rules_in_force
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.rules.treatment_tables import Step
from conservation.treatments.asking import approvals_standing
from conservation.treatments.models import Batch, StandingApproval
from conservation.treatments.stock import held_of
from conservation.treatments.wording import zones_in
from locations.climate.models import Logger
from locations.places.models import Place
from locations.places.queries import path_of
from museum import clock
from museum.errors import Invalid, NotFound
from museum.people import competence
from museum.people.actor import Actor
from museum.people.models import Society
from reports.documents import treating
from reports.documents.year import MINUTES, Look, end_of, looks, months_from
from reports.registry import Gathered, document

#: so many things have a line of their own; the rooms count all
MOST_NAMED: Final = 600
LETTERS: Final = {"full": gettext_lazy("F"), "quick": gettext_lazy("Q"), "follow_up": gettext_lazy("W"), "card": gettext_lazy("C")}
SORTS: Final = ("full", "quick", "follow_up", "card")


@dataclass(frozen=True, slots=True)
class Planned:
    """A thing with its room and its looks."""

    card: Card
    room: str
    order: str
    urgency: int
    looks: Sequence[Look]


@document(
    "care_plan", title=gettext_lazy("Care plan for a year"), version="1", permission="round.make", seen_by="place.see_exact", options=("begin",)
)  # fmt: skip
def care_plan(subject: UUID, actor: Actor, begin: str = "") -> Gathered:
    """Of the whole house, for twelve months from the month of `begin` on, else from this one."""
    if subject != UUID(Society.KEY):
        raise NotFound
    today = clock.today()
    first = _begin(begin, today)
    months, last = months_from(first), end_of(first)
    things = _things(actor, today, first, last)
    data = {
        "first": first.isoformat(), "last": last.isoformat(), "made_on": today.isoformat(), "months": [month.isoformat() for month in months],
        "letters": {sort: str(letter) for sort, letter in LETTERS.items()}, "plan": [_month(month, things) for month in months],
        "rooms": _rooms(things, months), "count": len(things), "named": min(len(things), MOST_NAMED),
        "others": _others(first, last), "asked": {"begin": first.isoformat()},
    }  # fmt: skip
    title = _("Care plan, %(first)s to %(last)s") % {"first": formats.date_format(first, "F Y"), "last": formats.date_format(last, "F Y")}
    return Gathered(data, title, reverse("checks:due"), [("society", subject)])


def _begin(text: str, today: date) -> date:
    """The first day of the month asked for: this one at the earliest, a year ahead at most."""
    try:
        day = date.fromisoformat(text) if text else today
    except ValueError:
        raise Invalid(_("'%(text)s' is no day of the calendar. Write it as 2026-11-25; nothing was issued."), field="begin", text=text) from None
    if not today.replace(day=1) <= day <= same_day_later(today, months=12):
        raise Invalid(_("A plan begins in this month at the earliest and a year from now at the latest; nothing was issued."), field="begin")
    return day.replace(day=1)


def _things(actor: Actor, today: date, first: date, last: date) -> list[Planned]:
    """Everything that is in the house, in walking order, with its looks from `first` on, as if all that is due before is done on its day."""
    due: dict[UUID, list[Due]] = defaultdict(list)
    for row in Due.objects.filter(object__card__in=Card.objects.visible_to(actor)).select_related("call").order_by("on", "sort"):
        due[row.object_id].append(row)
    states = State.objects.in_bulk(list(due))
    rooms = _Rooms()
    found = []
    for card in Card.objects.visible_to(actor).filter(object__in=list(due)).select_related("object").order_by("number_sort", "object"):
        rows = due[card.object_id]
        room, order = rooms.of(next((row.place_id for row in rows if row.place_id), None))
        planned = [one for one in _looks(card, rows, states.get(card.object_id), today, last) if one.on >= first]
        found.append(Planned(card, room, order, max(row.urgency for row in rows), planned))
    return sorted(found, key=lambda one: (one.order, one.card.number_sort, str(one.card.object_id)))


class _Rooms:
    """The room of a place, each asked once."""

    def __init__(self) -> None:
        self._known: dict[UUID, tuple[str, str]] = {}

    def of(self, place_id: UUID | None) -> tuple[str, str]:
        """Its name with its building, and where it stands in the walk; what has no place comes last."""
        if place_id is None:
            return _("no place is told"), "~"
        if place_id not in self._known:
            path = path_of(place_id)
            named = [place for place in reversed(path) if place.level in (Place.Level.BUILDING, Place.Level.ROOM)]
            self._known[place_id] = ", ".join(place.name for place in named) or path[-1].name, (named[-1] if named else path[-1]).path_key
        return self._known[place_id]


def _looks(card: Card, rows: Sequence[Due], state: State | None, today: date, last: date) -> list[Look]:
    """The looks by interval as they follow each other, then those that were called for; what is overdue today."""
    by_sort = {row.sort: row.on for row in rows if row.call_id is None}
    called = [Look(max(row.on, today), _sort(row), first=True, overdue=row.on < today) for row in rows if row.call_id and row.on <= last]
    if not {"full", "quick"} <= set(by_sort):
        return called
    full, quick = _days(card, by_sort, state)
    return sorted([*looks((by_sort["full"], full), (by_sort["quick"], quick), today, last), *called], key=lambda one: (one.on, SORTS.index(one.sort)))


def _sort(row: Due) -> str:
    return "card" if row.why == "card" else row.sort


def _days(card: Card, by_sort: dict[str, date], state: State | None) -> tuple[int, int]:
    """Days from one look to the next: as it was dated last, else by the rules for a thing of which nobody knows the grade."""
    rules = rules_in_force()
    full = intervals.full_check_days(0, 0, card.materials, "store", hold=False, rules=rules).days
    if state and state.last_full and by_sort["full"] > state.last_full:
        full = (by_sort["full"] - state.last_full).days
    quick = intervals.quick_look_days(full, card.materials, "store", rules).days
    if state and state.last_any and by_sort["quick"] > state.last_any:
        quick = (by_sort["quick"] - state.last_any).days
    return full, quick


def _month(month: date, things: Iterable[Planned]) -> dict[str, Any]:
    """What falls in a month, in all and room by room."""
    rooms: dict[str, Counter[str]] = {}
    overdue = 0
    for thing in things:
        for look in thing.looks:
            if (look.on.year, look.on.month) == (month.year, month.month):
                rooms.setdefault(thing.room, Counter())[look.sort] += 1
                overdue += look.overdue
    total = sum(rooms.values(), Counter[str]())
    return {
        "month": month.isoformat(), "overdue": overdue, "minutes": sum(MINUTES[sort] * n for sort, n in total.items()), **{sort: total[sort] for sort in SORTS},
        "rooms": [{"room": room, **{sort: counted[sort] for sort in SORTS}} for room, counted in rooms.items()],
    }  # fmt: skip


def _rooms(things: Sequence[Planned], months: Sequence[date]) -> list[dict[str, Any]]:
    """Room by room each thing with the letters of its looks, a month a column."""
    groups: list[dict[str, Any]] = []
    for thing in things[:MOST_NAMED]:
        if not groups or groups[-1]["room"] != thing.room:
            groups.append({"room": thing.room, "things": []})
        groups[-1]["things"].append({
            "number": thing.card.number, "name": thing.card.name, "held": thing.card.hazard_level >= 3, "urgency": thing.urgency,
            "cells": [_cell([one for one in thing.looks if (one.on.year, one.on.month) == (month.year, month.month)]) for month in months],
        })  # fmt: skip
    return groups


def _cell(found: Sequence[Look]) -> dict[str, Any]:
    return {"words": " ".join(dict.fromkeys(str(LETTERS[one.sort]) for one in found)), "overdue": any(one.overdue for one in found)}


def _others(first: date, last: date) -> list[dict[str, Any]]:
    """What else ends or is due: refreshers, leave, batches, cards laid out, checks of loggers, rounds; by day."""
    found = [*_people(first, last), *_leave(first, last), *_stock(first, last), *_cards(first, last), *_loggers(first, last), *_walks(first, last)]
    return [{"on": on.isoformat(), "month": on.replace(day=1).isoformat(), "sort": sort, "words": words} for on, sort, words in sorted(found)]


def _people(first: date, last: date) -> list[tuple[date, str, str]]:
    latest: dict[tuple[UUID, str], Any] = {}
    for row in competence.on_file():
        held = latest.get((row.person_id, row.step))
        latest[row.person_id, row.step] = row if held is None or row.valid_to > held.valid_to else held
    words = _("%(who)s is shown %(step)s again")
    return [
        (row.valid_to, _("refresher"), words % {"who": row.person.name, "step": competence.INDUCTION.get(row.step, row.step)})
        for row in latest.values()
        if first <= row.valid_to <= last and row.person.is_active
    ]


def _leave(first: date, last: date) -> list[tuple[date, str, str]]:
    given = list(approvals_standing().filter(until__range=(first, last)).select_related("object__card"))
    zones, steps = zones_in(given), treatment_rules_in_force().steps
    ending = [
        (row.until, _("leave ends"), f"{row.object.card.number}, {zones[row.zone_key]} ({row.zone}): {_for_what(row.deed, row.agents, steps)}") for row in given
    ]
    rows = StandingApproval.objects.filter(until__range=(first, last), end=None, corrected_by=None, withdraws=False).select_related("person")
    return ending + [(row.until, _("standing leave ends"), f"{row.person.name}: {_for_what(row.step, (), steps)}") for row in rows]


def _for_what(deed: str, agents: Iterable[str], steps: Mapping[str, Step]) -> str:
    """A step by its code and what it is for; without a step what was to be brought."""
    return f"{deed} {_(steps[deed].problem)}" if deed in steps else ", ".join(treating.agents_in_words(agents, treatment_rules_in_force())) or deed


def _stock(first: date, last: date) -> list[tuple[date, str, str]]:
    rows = list(Batch.objects.filter(expires_on__range=(first, last)))
    held = held_of(rows)
    return [
        (row.expires_on, _("batch ends"), f"{treating.supply_name(row.supply)}, {row.number}") for row in rows if row.expires_on and not held[row.pk].used_up
    ]


def _cards(first: date, last: date) -> list[tuple[date, str, str]]:
    rows = CardTest.objects.filter(read_on=None, due_on__range=(first, last)).select_related("object__card")
    return [(row.due_on, _("card to be read"), f"{row.object.card.number} {row.object.card.name}") for row in rows]


def _walks(first: date, last: date) -> list[tuple[date, str, str]]:
    rows = Round.objects.filter(closed_at=None, due_by__range=(first, last))
    return [(row.due_by, _("round"), row.name) for row in rows]


def _loggers(first: date, last: date) -> list[tuple[date, str, str]]:
    """A check against known humidity every twelve months (ours)."""
    rows = Logger.objects.filter(ended_on=None).annotate(checked=Max("calibrations__happened_on"))
    due = [(same_day_later(row.checked, months=12) if row.checked else first, row) for row in rows]
    return [(max(on, first), _("logger to be checked"), row.name) for on, row in due if on <= last]
