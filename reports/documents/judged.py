"""What a check came to: grade, urgency, reasons, what to do and when to look again."""

from collections.abc import Iterable, Sequence
from typing import Any

from django.utils.translation import gettext as _

from collection.objects.models import Object
from collection.objects.queries import Zone
from conservation.checks.judging import sentences
from conservation.checks.models import ConditionCheck, Judgement, Observation
from conservation.rules.tables import terms
from museum.web.templatetags.look import ACTIVITIES, GRADES, URGENCIES


def judgement(check: ConditionCheck, zones: Sequence[Zone]) -> dict[str, Any] | None:
    """The judgement of this check with every reason; a person's overruling beside it, both kept."""
    found = Judgement.objects.filter(of_check=check, corrected_by=None, withdraws=False).order_by("-recorded_at").first()
    if found is None:
        return None
    overrules = found.overrules.filter(corrected_by=None, withdraws=False).select_related("author").order_by("recorded_at")
    return {
        "grade": found.grade, "grade_words": str(GRADES[found.grade]), "urgency": found.urgency,
        "urgency_words": str(URGENCIES[found.urgency]), "activity": found.activity,
        "activity_words": str(ACTIVITIES[found.activity]), "rules": found.rules_version, "reasons": sentences(found),
        "who": _(found.result["who"]) if found.result.get("who") else "",
        "hold": bool(found.result.get("hold")), "rust": _rust(found, zones),
        "overrules": [
            {"what": row.get_what_display(), "value": row.value, "reason": row.reason, "by": row.author.name}
            for row in overrules
        ],
    }  # fmt: skip


def _rust(found: Judgement, zones: Sequence[Zone]) -> list[dict[str, Any]]:
    """Of each rusted zone the share and both codes that follow from it: measurements, never verdicts."""
    measured = found.result.get("rust", {})
    named = [(f"{zone.code} {zone.name}", measured[zone.key]) for zone in zones if zone.key in measured]
    return [{"zone": name, "percent": f"{row['percent']:g}", "ri": row["ri"], "d610": row["d610"]} for name, row in named]


def advice(rows: Iterable[Observation]) -> list[dict[str, str]]:
    """Per kind of trouble that stands: its usual cause, and what to do, by the table of terms."""
    standing = dict.fromkeys(row.term for row in rows if row.change != Observation.Change.GONE)
    known = [terms()[code] for code in standing if code in terms()]
    return [{"term": _(term.name), "cause": _(term.cause), "do": _(term.response), "who": _(term.asks)} for term in known]


def next_looks(thing: Object) -> list[dict[str, Any]]:
    """When to look again, the first date first, each with its reason."""
    rows = thing.due.select_related("call").order_by("on", "sort")
    return [
        {
            "sort": row.get_sort_display(), "on": row.on.isoformat(),
            "why": _(row.call.reason) if row.call else _("by its interval"),
        }
        for row in rows
    ]  # fmt: skip
