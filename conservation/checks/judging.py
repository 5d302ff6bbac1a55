"""Judges an object by the rules: gathers the facts, asks the pure rules, keeps the judgement when it differs from the last."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.utils.translation import gettext

from collection.objects.bookings import next_use
from conservation.checks.actions.calls import call_for
from conservation.checks.facts import Facts
from conservation.checks.models import ConditionCheck, Judgement, Observation
from conservation.checks.vocabulary import named
from conservation.rules import grading, intervals
from conservation.rules.assess import Judgement as Said
from conservation.rules.assess import assess
from conservation.rules.reasons import Reason
from conservation.rules.ruleset import rules_in_force
from conservation.rules.tables import terms
from locations.places.queries import neighbours, room_mates
from museum import clock
from museum.people.action import Act
from museum.people.models import Society

#: what a check saw that was not there before
NEW = ("new", "grown")


def judge(act: Act, facts: Facts, check: ConditionCheck) -> Judgement | None:
    """Judges after a check; calls for the looks that follow from what it saw. A quick look that saw nothing new judges nothing."""
    judgement = judge_again(facts, act=act, check=check)
    seen = facts.seen_in(check)
    _follow_ups(act, check, seen)
    _warn_neighbours(act, check, seen)
    if check.result == "needs_full":
        call_for(
            act, [facts.object_id], why="needs_full", sort=ConditionCheck.Sort.FULL, due_on=check.happened_on,
            reason="a quick look found that it needs a full check", source=check.pk,
        )  # fmt: skip
    return judgement


def judge_again(facts: Facts, *, act: Act | None = None, check: ConditionCheck | None = None) -> Judgement | None:
    """The judgement by the facts of now; a new row only where it says something else, under an act."""
    rules = rules_in_force()
    last = facts.judgement
    if check is None and last is None:
        return None
    seen, context, said = _said(facts, check)
    result = _result(said)
    graded_check = check is not None and check.sort != ConditionCheck.Sort.QUICK
    if last is not None and last.result == result and last.rules_version == rules.version and not graded_check:
        return last
    if act is None:
        return last
    facts.judgement = Judgement.objects.create(
        act_id=act.id, object_id=facts.object_id, of_check=check, rules_version=rules.version, inputs=_inputs(seen, context), result=result,
        reasons=[_stored(reason) for topic in ("grade", "urgency", "who") for reason in said.reasons()[topic]],
        grade=said.grade.grade, activity=said.grade.activity, urgency=said.urgency.urgency, recorded_at=act.now,
    )  # fmt: skip
    return facts.judgement


def _said(facts: Facts, check: ConditionCheck | None) -> tuple[list[grading.Seen], grading.Context, Said]:
    seen = [_seen(zone, row) for zone, rows in sorted(facts.standing.items()) for row in rows]
    context = context_of(facts, check)
    return seen, context, assess(seen, context, rules_in_force())


def stale(facts: Facts) -> bool:
    """Whether what stands would be said otherwise by the facts of now."""
    if facts.judgement is None:
        return False
    _seen_now, _context, said = _said(facts, None)
    return bool(facts.judgement.result != _result(said))


def context_of(facts: Facts, check: ConditionCheck | None) -> grading.Context:
    """What counts besides the findings: materials, place, hazards, significance, what the last check said of the whole."""
    shown, last = facts.card, check or (facts.checks[-1] if facts.checks else None)
    back = last is not None and last.purpose == ConditionCheck.Purpose.LOAN and last.stage == "return"
    new = back and last is not None and any(row.change in NEW for row in facts.seen_in(last))
    return grading.Context(
        materials=frozenset(shown.materials if shown else ()), place=facts.where.use, high_significance=bool(shown and shown.high_significance),
        planned=_planned(facts.object_id), unsecured_part=bool(last and last.unsecured_part), wet=bool(last and last.wet),
        loan_return_new_damage=new, hazards=[grading.Hazard(code, level) for code, level in sorted(facts.hazards.items())],
    )  # fmt: skip


def _planned(object_id: UUID) -> grading.PlannedUse | None:
    """The next loan, move or display, asked or firm."""
    booking = next_use(object_id, clock.today())
    return grading.PlannedUse(booking.kind, (booking.from_on - clock.today()).days) if booking else None


def _seen(zone: str, row: Observation) -> grading.Seen:
    return grading.Seen(zone, row.finding.zone, row.term, float(row.percent or 0.1), row.severity or 1, row.activity, row.material, row.change in NEW)


def _result(said: Said) -> dict[str, Any]:
    grade, urgency = said.grade, said.urgency
    return {
        "zones": dict(grade.zones), "activities": dict(grade.activities), "rust": {zone: asdict(r) for zone, r in grade.rust.items()},
        "grade": grade.grade, "activity": grade.activity, "urgency": urgency.urgency, "base": urgency.base, "hold": urgency.hold,
        "forced": list(urgency.forced), "who": said.who.who,
    }  # fmt: skip


def _stored(reason: Reason) -> dict[str, Any]:
    return {"code": reason.code, "values": dict(reason.values)}


def _inputs(seen: Sequence[grading.Seen], context: grading.Context) -> Mapping[str, Any]:
    given = asdict(context) | {"materials": sorted(context.materials)}
    return {"seen": [asdict(one) for one in seen], "context": given}


def _follow_ups(act: Act, check: ConditionCheck, seen: Sequence[Observation]) -> None:
    """New damage found on a loan's return is looked at again."""
    if check.purpose != ConditionCheck.Purpose.LOAN or check.stage != "return":
        return
    if not any(row.change in NEW for row in seen):
        return
    days = intervals.follow_up_days(["loan_return_new_damage"], rules_in_force())
    for due in intervals.follow_ups_due(check.happened_on, days, Society.load().opening_days):
        call_for(
            act, [check.object_id], why="follow_up", sort=ConditionCheck.Sort.FOLLOW_UP, due_on=due,
            reason="new damage found on a loan's return", source=check.pk,
        )  # fmt: skip


def _warn_neighbours(act: Act, check: ConditionCheck, seen: Sequence[Observation]) -> None:
    """What harms its neighbours calls for a look at them the same day; for insects at the room within days."""
    watched = rules_in_force().neighbour_terms
    found = sorted({row.term for row in seen if row.change != "gone"} & set(watched))
    if not found:
        return
    near = set(neighbours(check.object_id))
    reason = f"{terms()[found[0]].name} on what stands beside it"
    call_for(act, near, why="neighbour", sort=ConditionCheck.Sort.QUICK, due_on=check.happened_on, reason=reason, source=check.pk)
    days = [watched[term] for term in found if watched[term] is not None]
    if days:
        due = check.happened_on + timedelta(days=min(d for d in days if d is not None))
        room = set(room_mates(check.object_id)) - near
        call_for(act, room, why="neighbour", sort=ConditionCheck.Sort.QUICK, due_on=due, reason=reason, source=check.pk)


def sentences(judgement: Judgement) -> list[str]:
    """The reasons of a judgement in words, with terms by their names."""
    lines = []
    for row in judgement.reasons:
        term = terms().get(str(row["values"].get("term", "")))
        words = {name: gettext(str(row["values"][name])) for name in ("who", "kind", "place") if row["values"].get(name)}
        words |= {name: named(name, row["values"][name]) for name in ("severity", "activity") if row["values"].get(name) is not None}
        lines.append(Reason(row["code"], row["values"]).sentence(gettext, **words, **({"term": gettext(term.name)} if term else {})))
    return lines
