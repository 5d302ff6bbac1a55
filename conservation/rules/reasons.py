"""Why a judgement says what it says: codes with values, and the sentence made of them when shown."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

#: code to sentence; translated where it is shown
SENTENCES: Final[Mapping[str, str]] = {
    "finding": "%(zone)s %(term)s %(percent)s %%, S%(severity)s, A%(activity)s -> %(grade)s",
    "floor": "%(zone)s %(term)s: activity %(activity)s makes it at least %(grade)s",
    "forced": "%(zone)s %(term)s counts as fast and urgent whatever was entered",
    "never_below": "%(zone)s %(term)s is never quite stable: activity 2",
    "secondary": "%(zone)s is a part that counts at most %(cap)s towards the whole",
    "no_finding": "no finding",
    "base": "base urgency %(urgency)s",
    "planned_use": "%(kind)s planned in %(days)s days",
    "significance": "high significance",
    "loose_part": "a loose part is not secured",
    "escalated": "escalated once",
    "cannot_rise": "it cannot rise further",
    "hold": "hazard hold",
    "wet": "it is wet",
    "forcing_term": "a finding that always means urgency 3",
    "loan_return": "new damage found on a loan's return",
    "grade_days": "grade %(grade)s -> %(days)s days",
    "material_days": "%(material)s cap %(days)s days",
    "activity_days": "activity %(activity)s cap %(days)s days",
    "place_days": "%(place)s cap %(days)s days",
    "hold_days": "hold cap %(days)s days, container only",
    "full_days": "full check %(days)s days",
    "ceiling_days": "ceiling %(days)s days",
    "mould_look": "mould check within %(days)s days (dose %(dose)s)",
    "mould_presume": "presume mould and check the same day (dose %(dose)s)",
    "asks": "%(term)s: the last word has a %(who)s",
}


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason: a code of SENTENCES and its values."""

    code: str
    values: Mapping[str, Any] = field(default_factory=dict)

    def sentence(self) -> str:
        """In English."""
        return SENTENCES[self.code] % self.values
