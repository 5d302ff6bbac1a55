"""What is in force and what is due: pure functions of the facts, kept for speed and rebuilt at will."""

from collections.abc import Iterable
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from collection.objects import card
from collection.objects.models import Card, Object
from conservation.checks.models import Call, ConditionCheck, Due, Judgement, Overrule, State
from conservation.checks.queries import checks_in_force, standing_observations
from conservation.rules import intervals
from conservation.rules.assess import in_force
from conservation.rules.ruleset import RuleSet, rules_in_force
from locations.places.models import Place
from locations.places.queries import where_is

#: kinds of look that are graded: the person's values before them do not count after them
GRADED = (ConditionCheck.Sort.FULL, ConditionCheck.Sort.FOLLOW_UP)


def refresh(object_ids: Iterable[UUID]) -> None:
    """State, due dates and card of these objects, from the facts of now."""
    rules = rules_in_force()
    for object_id in sorted(set(object_ids)):
        _refresh(object_id, rules)


def rebuild() -> int:
    """All of it anew; answers how many objects."""
    keys = list(Object.objects.values_list("pk", flat=True))
    State.objects.all().delete()
    Due.objects.all().delete()
    refresh(keys)
    return len(keys)


def _refresh(object_id: UUID, rules: RuleSet) -> None:
    shown = Card.objects.select_related("object").filter(pk=object_id).first()
    if shown is None:
        return
    state = _state(object_id, shown, rules)
    State.objects.update_or_create(object_id=object_id, defaults=state)
    Due.objects.filter(object_id=object_id).delete()
    rows = [] if shown.withdrawn else _due(object_id, shown, state, rules)
    Due.objects.bulk_create(rows)
    by_sort = {row.sort: row.on for row in rows if row.call_id is None}
    card.set_condition(
        object_id, grade=state["grade"], activity=state["activity"], urgency=state["urgency"], checked_on=state["last_full"],
        full_due=by_sort.get("full"), quick_due=by_sort.get("quick"),
    )  # fmt: skip


def _state(object_id: UUID, shown: Card, rules: RuleSet) -> dict[str, Any]:
    judgement = Judgement.objects.filter(object_id=object_id).order_by("-recorded_at", "-id").first()
    checks = list(checks_in_force(object_id))
    full = [check.happened_on for check in checks if check.sort == ConditionCheck.Sort.FULL]
    looks = [check.happened_on for check in checks if check.sort in (ConditionCheck.Sort.FULL, ConditionCheck.Sort.QUICK)]
    values: dict[str, Any] = {
        "judgement": judgement, "grade": None, "activity": None, "urgency": None, "hold": shown.hazard_level >= rules.hold_level,
        "rules_version": rules.version, "last_full": max(full, default=None), "last_any": max(looks, default=None),
        "open_findings": sum(len(rows) for rows in standing_observations(checks).values()),
    }  # fmt: skip
    if judgement is not None:
        forced = judgement.result.get("forced", [])
        mine = dict(_overrules(object_id).values_list("what", "value"))
        grade, _why = in_force(judgement.grade, mine.get("grade"), fixed="forcing_term" in forced)
        urgency, _why = in_force(judgement.urgency, mine.get("urgency"), fixed=bool(forced))
        values |= {"grade": grade, "activity": judgement.activity, "urgency": urgency}
    if values["hold"]:
        values["urgency"] = 3
    return values


def _overrules(object_id: UUID) -> QuerySet[Overrule]:
    """A person's values hold until the next graded check, whatever was judged again meanwhile."""
    graded = Judgement.objects.filter(object_id=object_id, of_check__sort__in=GRADED).order_by("-recorded_at", "-id").first()
    since = {"judgement__recorded_at__gte": graded.recorded_at} if graded else {}
    return Overrule.objects.filter(judgement__object_id=object_id, **since).order_by("recorded_at", "id")


def _due(object_id: UUID, shown: Card, state: dict[str, Any], rules: RuleSet) -> list[Due]:
    where = where_is(object_id)
    stands = next((place for place in where.path if not place.mobile), None)
    full = intervals.full_check_days(state["grade"] or 0, state["activity"] or 0, shown.materials, where.use, state["hold"], rules)
    quick = intervals.quick_look_days(full.days, shown.materials, where.use, rules)
    dates = intervals.due_dates(came_in=shown.object.created_on, last_full=state["last_full"], last_any=state["last_any"], full=full.days, quick=quick.days)
    urgency = state["urgency"] or 0
    rows = [_row(object_id, sort, "interval", on, urgency, stands) for sort, on in zip(("full", "quick"), dates, strict=True)]
    calls = Call.objects.filter(object_id=object_id, answer=None, corrected_by=None, withdraws=False).order_by("due_on", "id")
    return rows + [_row(object_id, call.sort, call.why, call.due_on, urgency, stands, call) for call in calls]


def _row(object_id: UUID, sort: str, why: str, on: date, urgency: int, place: Place | None, call: Call | None = None) -> Due:
    return Due(object_id=object_id, sort=sort, why=why, on=on, urgency=urgency, place=place, call=call)
