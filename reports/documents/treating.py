"""What the papers of treatment share: the finding, the steps in words, leave, deposits, pictures by their keys."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final
from uuid import UUID

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from collection.objects.models import Photograph
from collection.objects.queries import material_words
from conservation.checks.models import Finding, Observation
from conservation.checks.vocabulary import SIDES, term_words
from conservation.rules import gate
from conservation.rules.candidates import level_of
from conservation.rules.guidance import shipped_guidance
from conservation.rules.reasons import Reason
from conservation.rules.supplies import supplies
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.rules.treatment_tables import Step, TreatmentRules
from conservation.treatments.models import Approval, DepositDecision, StandingApproval
from conservation.treatments.stock import WORDS
from conservation.treatments.wording import DEPOSITS, told_in
from museum.history.models import Act
from museum.people.models import RoleFact
from museum.people.permissions import ROLE_WORDS, Role
from museum.web.templatetags.look import ACTIVITIES
from reports.documents import common

LEVELS: Final = {"preventive": gettext_lazy("preventive"), "remedial": gettext_lazy("remedial"), "restoration": gettext_lazy("restoration")}
#: what `given` reads of an approval
LEAVE: Final = ("act", "lapse", "countersign__by", "countersign__act", "approved_by", "proposed_by")
WHY_ENDED: Final = {"zone_changed": gettext_lazy("the zone changed"), "rule_changed": gettext_lazy("a changed rule would now refuse it")}


def seen(row: Observation) -> dict[str, Any]:
    """What was seen of a finding, with the words of its kind and measures."""
    activity = 1 if row.activity is None else row.activity
    return {
        "term": term_words(row.term), "material": ", ".join(material_words([row.material])) if row.material else "",
        "percent": plain(row.percent), "size_mm": plain(row.size_mm), "severity": row.severity, "activity": activity,
        "activity_words": str(ACTIVITIES[activity]), "note": row.note, "change": row.get_change_display(),
        "on": row.of_check.happened_on.isoformat() if row.of_check.happened_on else "", "by": row.of_check.author.name,
        "side": str(dict(SIDES).get(row.finding.side, "")) if row.finding.side else "", "hour": row.finding.hour,
    }  # fmt: skip


def plain(value: Any) -> str:
    """A number without zeros at its end; '' where there is none."""
    return "" if value is None else f"{value.normalize():f}"


def looks_at(finding: Finding | None) -> list[Observation]:
    """All that was seen of it, oldest first."""
    if finding is None:
        return []
    rows = Observation.objects.filter(finding=finding, of_check__corrected_by=None, of_check__withdraws=False)
    return list(rows.select_related("of_check__author", "finding").order_by("of_check__happened_on", "of_check__recorded_at", "id"))


def step_words(step: Step | None, rules: TreatmentRules) -> dict[str, Any]:
    """One step of the tables as a person reads it who is to do it; of an act without a row only that there is none."""
    if step is None:
        return {"code": "", "name": "", "who": _("conservator"), "level": "", "touches": True}
    guided = shipped_guidance().of(step.code)
    return {
        "code": step.code, "name": _(step.problem), "advice": _(step.advice), "tools": told_in(step.tools), "who": _(step.who),
        "level": str(LEVELS[level_of(step, rules)]),
        "reversible": step.reversible, "cautions": told_in(step.cautions), "source": step.source, "touches": step.touches,
        "views": [_(step.disputed.pro), _(step.disputed.contra)] if step.disputed else [],
        "agents": sorted(rules.agents[code].name for code in step.agents if code in rules.agents),
        "protection": [_(one) for one in guided.protection] if guided else [], "do": [_(one) for one in guided.do] if guided else [],
        "stop": [_(one) for one in guided.stop] if guided else [], "never": [_(one) for one in guided.never] if guided else [],
        "test_spot": _(guided.test_spot) if guided and guided.test_spot else "", "wait": guided.wait_minutes if guided else 0,
        "afterwards": _(guided.afterwards) if guided and guided.afterwards else "",
        "besides": [_(one) for one in guided.besides(step.cautions)] if guided else [],
    }  # fmt: skip


def stop_signs() -> dict[str, Any]:
    """What ends any session, and what everything gives way to."""
    guidance = shipped_guidance()
    return {"signs": [_(one) for one in guidance.stop_signs], "then": _(guidance.when_stopped), "gives_way": _(guidance.gives_way)}


def agents_in_words(codes: Iterable[str], rules: TreatmentRules) -> list[str]:
    """What is brought to the surface, by its generic name."""
    return [rules.agents[code].name if code in rules.agents else code for code in codes]


def acted_as(act: Act) -> str:
    """The roles in which somebody acted, as they were that day; a reader as whose reader, a guest by the invitation."""
    if act.role == "invited":
        return _("invited from outside")
    roles = [Role(name) for name in act.role.split(",") if name in ROLE_WORDS]
    kinds = RoleFact.objects.filter(person=act.person, role=Role.READER, given=True, recorded_at__lte=act.recorded_at) if Role.READER in roles else None
    reader = kinds.order_by("recorded_at", "id").last() if kinds is not None else None
    return ", ".join(reader.get_kind_display() if role == Role.READER and reader and reader.kind else str(ROLE_WORDS[role]) for role in roles)


def given(row: Approval) -> dict[str, Any]:
    """Leave for a zone: who gave it and as what, until when, who signed besides, and how it ended if it did."""
    lapse, second = getattr(row, "lapse", None), getattr(row, "countersign", None)
    return {
        "deed": row.deed, "by": row.approved_by.name, "role": acted_as(row.act), "on": _on(row.happened_on), "until": row.until.isoformat(),
        "reason": row.reason, "proposed_by": row.proposed_by.name, "second_later": row.second_later, "second": second.by.name if second else "",
        "second_role": acted_as(second.act) if second else "", "second_on": _on(second.happened_on) if second else "",
        "ended": str(WHY_ENDED.get(lapse.why, lapse.words)) if lapse else "", "standing": False,
    }  # fmt: skip


def standing(row: StandingApproval) -> dict[str, Any]:
    """A standing approval: for one person, one step, one material."""
    return {
        "deed": row.step, "by": row.given_by.name, "role": acted_as(row.act), "on": _on(row.happened_on), "until": row.until.isoformat(), "reason": row.reason,
        "for": row.person.name, "material": ", ".join(material_words([row.material])) or row.material, "standing": True,
    }  # fmt: skip


def deposits_of(findings: Iterable[UUID]) -> list[dict[str, Any]]:
    """Every decision on these deposits, in order: each is shown for ever."""
    rows = DepositDecision.objects.filter(finding__in=list(findings)).select_related("by").order_by(*DepositDecision.ORDER)
    return [
        {
            "kind": str(DEPOSITS.get(row.kind, row.kind)), "decision": str(row.get_decision_display()) if row.decision else "", "reason": row.reason,
            "by": row.by.name, "on": _on(row.happened_on),
        }
        for row in rows
    ]  # fmt: skip


def ticked(codes: Iterable[str], rules: TreatmentRules | None = None) -> list[dict[str, str]]:
    """Cautions that were read and ticked, code and words, by the tables of now; a code they do not have any more stands alone."""
    tables = rules or treatment_rules_in_force()
    rows = {row.code: f"{_(row.what)}: {_(row.why)}" for row in tables.prohibitions}
    return [{"code": code, "words": _caution(code, tables, rows)} for code in codes]


def _caution(code: str, rules: TreatmentRules, rows: Mapping[str, str]) -> str:
    if code == gate.OWNER_ASKED:
        return Reason("gate_owner_asked").sentence(_)
    if code in rules.steps:
        return told_in(rules.steps[code].cautions)
    return rows.get(code) or (str(WORDS[code][0]) if code in WORDS else "")


def supply_name(code: str) -> str:
    """A supply by its generic name: makers and trade names stay in the list of stock."""
    row = supplies().get(code)
    return row.name if row else code


def pictures(keys: Sequence[str], prefix: str) -> list[dict[str, Any]]:
    """These photographs in their order, those taken back left out; each with a short name to speak of it."""
    rows = Photograph.objects.filter(pk__in=[UUID(key) for key in keys], corrected_by=None, withdraws=False).select_related("file", "taken_by")
    found = {str(row.pk): row for row in rows}
    return [common.picture(found[key], f"{prefix}{n}") for n, key in enumerate((one for one in keys if one in found), start=1)]


def _on(day: Any) -> str:
    return day.isoformat() if day else ""
