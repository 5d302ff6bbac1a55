"""What was thought of and not done: the lesser steps, what came back or was taken back, 'no treatment', 'preventive only'."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from conservation.checks.models import Observation
from conservation.rules.candidates import level_of, offered
from conservation.rules.treatment_tables import TreatmentRules
from conservation.treatments import answering, asking
from conservation.treatments.models import Proposal, Work
from museum import clock
from museum.history.models import Act, Change
from museum.people.models import Person
from reports.documents import treating

#: what of the history of a proposal says that it was not done as it then stood
BACK = ("treatment.returned", "treatment.withdrawn")


def ladder(row: Proposal, looks: Sequence[Observation], facts: asking.ObjectFacts, rules: TreatmentRules) -> list[dict[str, Any]]:
    """Every step that answers the finding, least intervention first: proposed, ruled out here, turned down with the reason, or going further."""
    if not looks or row.zone_key not in facts.zones:
        return []
    steps = offered(looks[-1].term, facts.surface(row.zone_key, row.surface), rules).candidates
    chosen = {said["step"]: n for n, said in enumerate(row.steps, start=1)}
    last = max((n for n, one in enumerate(steps) if one.step.code in chosen), default=len(steps))
    reasons = "; ".join(earlier(row))
    found = []
    for n, one in enumerate(steps):
        out = answering.out_words(one.ruled_out, rules)
        state = "chosen" if one.step.code in chosen else "out" if out else "turned_down" if n < last else "further"
        found.append({
            "code": one.step.code, "name": _(one.step.problem), "level": str(treating.LEVELS[level_of(one.step, rules)]), "who": _(one.step.who),
            "state": state, "n": chosen.get(one.step.code), "why": out if state == "out" else reasons if state == "turned_down" else "",
            "lesser": state in ("out", "turned_down") and n < last,
        })  # fmt: skip
    return found


def earlier(row: Proposal) -> list[str]:
    """Why the lesser steps are not enough, each reason once."""
    return list(dict.fromkeys(said["earlier"] for said in row.steps if said["earlier"]))


def considered(asked: Work, approved: Sequence[Proposal], looks: Sequence[Observation], rules: TreatmentRules) -> list[dict[str, Any]]:
    """All that stood beside what was decided, for the finding in this zone: the least first, then by day."""
    here = Proposal.objects.filter(object=asked.object_id, component=asked.component_id, zone=asked.zone, finding=asked.finding_id)
    rows = {row.pk: row for row in [*here.select_related("proposed_by"), *approved]}
    facts = asking.facts_of(asked.object) if approved and looks else None
    lesser = [one for row in approved for one in _lesser(row, looks, facts, rules)] if facts else []
    return [*lesser, *_left_alone(looks), *_preventive(approved, rules), *_came_back(rows, rules)]


def _lesser(row: Proposal, looks: Sequence[Observation], facts: asking.ObjectFacts, rules: TreatmentRules) -> list[dict[str, Any]]:
    day = clock.day_of(row.sent_at).isoformat()
    return [
        {
            "sort": one["state"], "steps": [{"code": one["code"], "words": f"{one['name']}, {one['level']}"}], "aim": "", "why": one["why"],
            "by": row.proposed_by.name, "role": "", "on": day,
        }
        for one in ladder(row, looks, facts, rules)
        if one["lesser"]
    ]  # fmt: skip


def _left_alone(looks: Iterable[Observation]) -> list[dict[str, Any]]:
    """Checks that saw the finding and stated that no treatment is needed."""
    checks = {one.of_check_id: one.of_check for one in looks if one.of_check.no_treatment}
    return [
        {"sort": "no_treatment", "steps": [], "aim": "", "why": row.note, "by": row.author.name, "role": "", "on": row.happened_on.isoformat()}
        for row in checks.values()
    ]


def _preventive(approved: Sequence[Proposal], rules: TreatmentRules) -> list[dict[str, Any]]:
    """What was decided as preventive only, before something that goes further."""
    only = [row for row in approved if all(said["step"] in rules.steps and level_of(rules.steps[said["step"]], rules) == "preventive" for said in row.steps)]
    if len(only) == len(approved):
        return []
    return [
        {
            "sort": "preventive", "steps": _steps(row.steps, rules), "aim": row.aim, "why": "", "by": row.proposed_by.name, "role": "",
            "on": clock.day_of(row.sent_at).isoformat(),
        }
        for row in only
    ]  # fmt: skip


def _came_back(rows: Mapping[UUID, Proposal], rules: TreatmentRules) -> list[dict[str, Any]]:
    """What was returned or taken back, as it stood then; what was sent again stands with the leave."""
    changes = Change.objects.filter(subject__in=[f"proposal:{key}" for key in rows], what__in=BACK).select_related("act").order_by("n")
    people = dict(Person.objects.filter(pk__in={row.who for row in changes if row.who}).values_list("pk", "name"))
    return [_back(row, people.get(row.who, "") if row.who else "", rules) for row in changes]


def _back(row: Change, who: str, rules: TreatmentRules) -> dict[str, Any]:
    told = row.after or {}
    act: Act = row.act
    return {
        "sort": row.what.rpartition(".")[2], "steps": _steps(told.get("steps", ()), rules), "aim": told.get("aim", ""), "why": row.reason, "by": who,
        "role": treating.acted_as(act), "on": clock.day_of(row.at).isoformat(),
    }  # fmt: skip


def _steps(said: Iterable[Mapping[str, Any]], rules: TreatmentRules) -> list[dict[str, str]]:
    """Steps as proposed: by code and what they are for, else in the words of whoever proposed them."""
    return [
        {"code": one["step"] or "", "words": _(rules.steps[one["step"]].problem) if one["step"] in rules.steps else one["words"] or ", ".join(one["agents"])}
        for one in said
    ]
