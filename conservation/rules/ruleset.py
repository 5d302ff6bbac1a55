"""The rule tables as one value with a version; shipped as JSON beside this file, changeable by the society."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

DATA = Path(__file__).parent / "data"


class BadRules(ValueError):
    """A rule table that cannot be judged by; the message says which and why."""


@dataclass(frozen=True, slots=True)
class RuleSet:
    """Every number that a judgement needs. Days are whole days, percents are of the zone."""

    version: str
    extent_upper_percent: Sequence[float]
    grade_matrix: Sequence[Sequence[int]]
    activity_floor: Mapping[int, int]
    secondary_zones: frozenset[str]
    secondary_cap: int
    secondary_cap_lifted_by_activity: int
    urgency: Mapping[tuple[int, int], int]
    forcing_terms: frozenset[str]
    never_below_2_terms: frozenset[str]
    planned_use_days: int
    escalation_base_at_least: int
    loan_return_urgency_at_least: int
    wet_term: str
    wet_activity: int
    hold_level: int
    rust_terms: frozenset[str]
    full_days_by_grade: Mapping[int, int]
    full_days_by_material: Mapping[str, int]
    full_days_by_activity: Mapping[int, int]
    full_days_by_place: Mapping[str, int]
    full_days_on_hold: int
    quick_days_ceiling: int
    quick_days_by_material: Mapping[str, int]
    quick_days_by_place: Mapping[str, int]
    damp_materials: frozenset[str]
    mould_look_dose: float
    mould_look_days: int
    mould_presume_dose: float
    follow_up_days: Mapping[str, Sequence[int]]
    neighbour_terms: Mapping[str, int | None]
    emits: Mapping[str, Sequence[str]]
    suffers: Mapping[str, Sequence[str]]


def read_rules(raw: Mapping[str, Any]) -> RuleSet:
    """A rule set from its JSON. Raises BadRules in plain words."""
    values = dict(raw)
    try:
        for name in ("activity_floor", "full_days_by_grade", "full_days_by_activity"):
            values[name] = {int(key): value for key, value in values[name].items()}
        values["urgency"] = {(int(k[0]), int(k[2])): value for k, value in values["urgency"].items()}
        for name in ("secondary_zones", "forcing_terms", "never_below_2_terms", "rust_terms", "damp_materials"):
            values[name] = frozenset(values[name])
        rules = RuleSet(**values)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise BadRules(f"the rule tables are not complete: {error}") from None
    _check(rules)
    return rules


def _check(rules: RuleSet) -> None:
    bounds = list(rules.extent_upper_percent)
    if bounds != sorted(set(bounds)) or bounds[0] != 0 or bounds[-1] != 100:
        raise BadRules("the extent classes must rise from 0 to 100 percent")
    if [len(row) for row in rules.grade_matrix] != [len(bounds) - 1] * 4:
        raise BadRules("the grade matrix needs four rows, one a severity, with a column for each extent class")
    if any(not 1 <= grade <= 3 for row in rules.grade_matrix for grade in row):
        raise BadRules("grades in the matrix go from 1 to 3")
    days = [*rules.full_days_by_grade.values(), *rules.quick_days_by_material.values(), *rules.full_days_by_activity.values()]
    if any(not 1 <= number <= 3660 for number in days):
        raise BadRules("an interval has from 1 to 3660 days")
    if set(rules.full_days_by_grade) != {0, 1, 2, 3}:
        raise BadRules("each grade from 0 to 3 needs an interval")


@cache
def shipped_rules() -> RuleSet:
    """The tables as shipped."""
    return read_rules(json.loads((DATA / "rules.json").read_text(encoding="utf-8")))
