"""The numbers of the rules as one value with a version; shipped as JSON beside this file, changeable by the society."""

import json
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import cache
from itertools import pairwise
from typing import Any, Final

from conservation.rules.book import BadRules, Rows, Table, current, register, shipped_book
from conservation.rules.tables import DATA, materials, terms, zones

__all__ = ["BadRules", "RuleSet", "problems", "read_rules", "rules_in_force", "shipped_rules"]

#: a change of these changes what a judgement says, so that its version names it
JUDGING: Final = ("rules", "terms")
STEPS: Final = (0, 1, 2, 3)
SEVERITIES: Final = 4
LONGEST_DAYS: Final = 3660


@dataclass(frozen=True, slots=True)
class RuleSet:
    """Every number that a judgement needs. Days are whole days, percents are of the zone."""

    version: str
    extent_upper_percent: tuple[float, ...]
    grade_matrix: tuple[tuple[int, ...], ...]
    activity_floor: Mapping[int, int]
    secondary_zones: frozenset[str]
    secondary_cap: int
    secondary_cap_lifted_by_activity: int
    urgency: Mapping[tuple[int, int], int]
    forcing_terms: frozenset[str]
    forced_activity: int
    slow_terms: frozenset[str]
    slow_activity: int
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
    follow_up_days: Mapping[str, tuple[int, ...]]
    neighbour_terms: Mapping[str, int | None]
    emits: Mapping[str, tuple[str, ...]]
    suffers: Mapping[str, tuple[str, ...]]
    refused_neighbours: tuple[tuple[str, str], ...]


def _by_number(table: Mapping[str, Any]) -> dict[int, Any]:
    return {int(key): value for key, value in table.items()}


def _by_pair(table: Mapping[str, Any]) -> dict[tuple[int, int], Any]:
    return {(int(grade), int(activity)): value for key, value in table.items() for grade, activity in [key.split(",")]}


def _lists(table: Mapping[str, Any]) -> dict[str, tuple[Any, ...]]:
    return {key: tuple(value) for key, value in table.items()}


def _rows(table: Sequence[Sequence[Any]]) -> tuple[tuple[Any, ...], ...]:
    return tuple(tuple(row) for row in table)


#: how a table of the file becomes a value where JSON has no such shape
_SHAPES: Final[Mapping[str, Callable[[Any], Any]]] = {
    "extent_upper_percent": tuple,
    "grade_matrix": _rows,
    "activity_floor": _by_number,
    "secondary_zones": frozenset,
    "urgency": _by_pair,
    "forcing_terms": frozenset,
    "slow_terms": frozenset,
    "rust_terms": frozenset,
    "full_days_by_grade": _by_number,
    "full_days_by_activity": _by_number,
    "damp_materials": frozenset,
    "follow_up_days": _lists,
    "emits": _lists,
    "suffers": _lists,
    "refused_neighbours": _rows,
}


def read_rules(raw: Mapping[str, Any]) -> RuleSet:
    """A rule set from its JSON. Raises BadRules, in plain words, for every fault that stands in it."""
    names = [field.name for field in fields(RuleSet)]
    faults = [f"The table '{name}' is missing." for name in names if name not in raw]
    faults += [f"There is no table '{name}' here." for name in raw if name not in names]
    values: dict[str, Any] = {}
    for name in set(names) & set(raw):
        try:
            values[name] = _SHAPES.get(name, lambda value: value)(raw[name])
        except (TypeError, ValueError, AttributeError):
            faults.append(f"The table '{name}' has another form than the shipped one.")
    if not faults:
        rules = RuleSet(**values)
        faults = list(problems(rules))
    if faults:
        raise BadRules(faults)
    return rules


def problems(rules: RuleSet) -> Iterator[str]:
    """What keeps a set from being judged by, in whole sentences; nothing for a good one."""
    if not rules.version.strip():
        yield "The set needs a version, so that a judgement can name it."
    yield from _matrix_problems(rules)
    yield from _step_problems(rules)
    yield from _day_problems(rules)
    yield from _word_problems(rules)
    if not 0 < rules.mould_look_dose <= rules.mould_presume_dose:
        yield "The dose that asks for a look lies above 0 and not above the dose at which mould is presumed."


def _matrix_problems(rules: RuleSet) -> Iterator[str]:
    bounds, rows = rules.extent_upper_percent, rules.grade_matrix
    if not bounds or list(bounds) != sorted(set(bounds)) or (bounds[0], bounds[-1]) != (0, 100):
        yield "The extent classes rise from 0 to 100 percent."
    if [len(row) for row in rows] != [len(bounds) - 1] * SEVERITIES:
        yield "The grade matrix has four rows, one a severity, with a column for each extent class."
        return
    if any(grade not in (1, 2, 3) for row in rows for grade in row):
        yield "Grades in the matrix are 1, 2 or 3."
    falls_across = any(a > b for row in rows for a, b in pairwise(row))
    falls_down = any(a > b for upper, lower in pairwise(rows) for a, b in zip(upper, lower, strict=True))
    if falls_across or falls_down:
        yield "In the grade matrix more extent or more severity never lowers the grade."


def _step_problems(rules: RuleSet) -> Iterator[str]:
    """Grades, activities, urgencies and hazard levels are steps from 0 to 3."""
    named = {
        "activity_floor": [*rules.activity_floor, *rules.activity_floor.values()],
        "secondary_cap": [rules.secondary_cap],
        "secondary_cap_lifted_by_activity": [rules.secondary_cap_lifted_by_activity],
        "urgency": rules.urgency.values(),
        "forced_activity": [rules.forced_activity],
        "slow_activity": [rules.slow_activity],
        "escalation_base_at_least": [rules.escalation_base_at_least],
        "loan_return_urgency_at_least": [rules.loan_return_urgency_at_least],
        "wet_activity": [rules.wet_activity],
        "hold_level": [rules.hold_level],
        "full_days_by_activity": rules.full_days_by_activity,
    }
    for name, steps in named.items():
        if any(step not in STEPS for step in steps):
            yield f"The table '{name}' has a step outside 0 to 3."
    for grade in (1, 2, 3):
        for activity in STEPS:
            if grade >= rules.activity_floor.get(activity, 0) and (grade, activity) not in rules.urgency:
                yield f"The urgency of grade {grade} at activity {activity} is missing."


def _day_problems(rules: RuleSet) -> Iterator[str]:
    if set(rules.full_days_by_grade) != set(STEPS):
        yield "Each grade from 0 to 3 needs its days to the next full check."
    named: dict[str, Iterable[int]] = {
        "full_days_by_grade": rules.full_days_by_grade.values(),
        "full_days_by_material": rules.full_days_by_material.values(),
        "full_days_by_activity": rules.full_days_by_activity.values(),
        "full_days_by_place": rules.full_days_by_place.values(),
        "full_days_on_hold": [rules.full_days_on_hold],
        "quick_days_ceiling": [rules.quick_days_ceiling],
        "quick_days_by_material": rules.quick_days_by_material.values(),
        "quick_days_by_place": rules.quick_days_by_place.values(),
        "mould_look_days": [rules.mould_look_days],
        "planned_use_days": [rules.planned_use_days],
        "follow_up_days": [day for days in rules.follow_up_days.values() for day in days],
        "neighbour_terms": [days for days in rules.neighbour_terms.values() if days is not None],
    }
    for name, days in named.items():
        if any(not 1 <= day <= LONGEST_DAYS for day in days):
            yield f"The table '{name}' has an interval that is not from 1 to {LONGEST_DAYS} days."


def _word_problems(rules: RuleSet) -> Iterator[str]:
    """Codes that no table explains: a misspelt one would silently never apply."""
    said: dict[str, tuple[Iterable[str], Collection[str]]] = {
        "secondary_zones": (rules.secondary_zones, zones()),
        "forcing_terms": (rules.forcing_terms, terms()),
        "slow_terms": (rules.slow_terms, terms()),
        "wet_term": ([rules.wet_term], terms()),
        "rust_terms": (rules.rust_terms, terms()),
        "neighbour_terms": (rules.neighbour_terms, terms()),
        "full_days_by_material": (rules.full_days_by_material, materials()),
        "quick_days_by_material": (rules.quick_days_by_material, materials()),
        "damp_materials": (rules.damp_materials, materials()),
        "emits": ([code for codes in rules.emits.values() for code in codes], materials()),
        "suffers": ([code for codes in rules.suffers.values() for code in codes], materials()),
        "refused_neighbours": ([code for pair in rules.refused_neighbours for code in pair], materials()),
    }
    for name, (codes, known) in said.items():
        for code in sorted(set(codes) - set(known)):
            yield f"The table '{name}' names '{code}', which is in no table of words."
    if set(rules.emits) != set(rules.suffers):
        yield "What is given off and what is suffered from are the same list of vapours."


@cache
def _shipped() -> dict[str, Any]:
    raw: dict[str, Any] = json.loads((DATA / "rules.json").read_text(encoding="utf-8"))
    return raw


def _numbers() -> Rows:
    return {name: value for name, value in _shipped().items() if name != "version"}


register(Table("rules", "Grade, urgency and days", _numbers, lambda rows: read_rules({**rows, "version": _shipped()["version"]})))


def shipped_rules() -> RuleSet:
    """The tables as shipped."""
    rules: RuleSet = shipped_book().value("rules")
    return rules


def rules_in_force() -> RuleSet:
    """The tables that count here and now. Where the society changed any that judge, the version names exactly which."""
    book = current()
    rules: RuleSet = book.value("rules")
    changes = book.changes_code(JUDGING)
    return replace(rules, version=f"{rules.version}+{changes}") if changes else rules
