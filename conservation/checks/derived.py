"""What is in force and what is due: pure functions of the facts, kept for speed and rebuilt at will."""

from collections.abc import Iterable
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet

from collection.objects import card
from collection.objects.models import Card, Object
from conservation.checks.facts import Facts
from conservation.checks.models import Call, ConditionCheck, Due, Judgement, Overrule, State
from conservation.checks.queries import open_calls_of
from conservation.rules import intervals
from conservation.rules.assess import in_force
from conservation.rules.ruleset import RuleSet, rules_in_force
from locations.places.models import Place
from museum.prepared import ANY_KEY, Prepared

#: kinds of look that are graded: the person's values before them do not count after them
GRADED = (ConditionCheck.Sort.FULL, ConditionCheck.Sort.FOLLOW_UP)


def refresh(object_ids: Iterable[UUID]) -> None:
    """State, due dates and card of these objects, from the facts of now."""
    rules = rules_in_force()
    for object_id in sorted(set(object_ids)):
        _refresh(Facts(object_id), rules)


def rebuild() -> int:
    """All of it anew; answers how many objects."""
    keys = list(Object.objects.values_list("pk", flat=True))
    State.objects.all().delete()
    Due.objects.all().delete()
    refresh(keys)
    return len(keys)


def refresh_by(facts: Facts) -> None:
    """The same for one object whose facts are at hand."""
    _refresh(facts, rules_in_force())


def _refresh(facts: Facts, rules: RuleSet) -> None:
    shown, object_id = facts.card, facts.object_id
    if shown is None:
        return
    state = _state(facts, shown, rules)
    State.objects.bulk_create([State(object_id=object_id, **state)], update_conflicts=True, unique_fields=["object"], update_fields=list(state))
    Due.objects.filter(object_id=object_id).delete()
    rows = [] if shown.withdrawn else _due(facts, shown, state, rules)
    Due.objects.bulk_create(rows)
    by_sort = {row.sort: row.on for row in rows if row.call_id is None}
    card.set_condition(
        object_id, grade=state["grade"], activity=state["activity"], urgency=state["urgency"], checked_on=state["last_full"],
        full_due=by_sort.get("full"), quick_due=by_sort.get("quick"),
    )  # fmt: skip


def _state(facts: Facts, shown: Card, rules: RuleSet) -> dict[str, Any]:
    judgement = facts.judgement
    full = [check.happened_on for check in facts.checks if check.sort == ConditionCheck.Sort.FULL]
    looks = [check.happened_on for check in facts.checks if check.sort in (ConditionCheck.Sort.FULL, ConditionCheck.Sort.QUICK)]
    values: dict[str, Any] = {
        "judgement": judgement, "grade": None, "activity": None, "urgency": None, "hold": shown.hazard_level >= rules.hold_level,
        "rules_version": rules.version, "last_full": max(full, default=None), "last_any": max(looks, default=None),
        "open_findings": sum(len(rows) for rows in facts.standing.values()),
    }  # fmt: skip
    if judgement is not None:
        forced = judgement.result.get("forced", [])
        mine = dict(_OVERRULES(facts.object_id))
        grade, _why = in_force(judgement.grade, mine.get("grade"), fixed="forcing_term" in forced)
        urgency, _why = in_force(judgement.urgency, mine.get("urgency"), fixed=bool(forced))
        values |= {"grade": grade, "activity": judgement.activity, "urgency": urgency}
    if values["hold"]:
        values["urgency"] = 3
    return values


def _overrules(object_id: UUID) -> QuerySet[Overrule]:
    """A person's values hold until the next graded check, whatever was judged again meanwhile."""
    graded = Judgement.objects.filter(object_id=object_id, of_check__sort__in=GRADED, recorded_at__gt=OuterRef("judgement__recorded_at"))
    return Overrule.objects.filter(~Exists(graded), judgement__object_id=object_id).order_by("recorded_at", "id")


_OVERRULES = Prepared(lambda key: _overrules(key).values_list("what", "value"), ANY_KEY)


def _due(facts: Facts, shown: Card, state: dict[str, Any], rules: RuleSet) -> list[Due]:
    where, object_id = facts.where, facts.object_id
    stands = next((place for place in where.path if not place.mobile), None)
    full = intervals.full_check_days(state["grade"] or 0, state["activity"] or 0, shown.materials, where.use, state["hold"], rules)
    quick = intervals.quick_look_days(full.days, shown.materials, where.use, rules)
    dates = intervals.due_dates(came_in=shown.object.created_on, last_full=state["last_full"], last_any=state["last_any"], full=full.days, quick=quick.days)
    urgency = state["urgency"] or 0
    rows = [_row(object_id, sort, "interval", on, urgency, stands) for sort, on in zip(("full", "quick"), dates, strict=True)]
    calls = open_calls_of(object_id)
    return rows + [_row(object_id, call.sort, call.why, call.due_on, urgency, stands, call) for call in calls]


def _row(object_id: UUID, sort: str, why: str, on: date, urgency: int, place: Place | None, call: Call | None = None) -> Due:
    return Due(object_id=object_id, sort=sort, why=why, on=on, urgency=urgency, place=place, call=call)
