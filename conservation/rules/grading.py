"""From what was seen to grade, activity and urgency, each with its reasons."""

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from conservation.rules import rust
from conservation.rules.reasons import Reason
from conservation.rules.ruleset import RuleSet


@dataclass(frozen=True, slots=True)
class Seen:
    """One standing observation. `zone` is any key that parts zones, `code` the zone code; percent is over 0, at most 100.

    `new` = new or grown against the last report.
    """

    zone: str
    code: str
    term: str
    percent: float
    severity: int
    activity: int | None = 1
    material: str = ""
    new: bool = False


@dataclass(frozen=True, slots=True)
class Hazard:
    """A danger to people in force, level 0 to 3."""

    code: str
    level: int


@dataclass(frozen=True, slots=True)
class PlannedUse:
    """A loan, move or display that is coming, in so many days from today (0 = today)."""

    kind: str
    days: int


@dataclass(frozen=True, slots=True)
class Context:
    """What else counts. `place` is store, display, on_loan, quarantine or another use of a place."""

    materials: frozenset[str] = frozenset()
    place: str = "store"
    high_significance: bool = False
    planned: PlannedUse | None = None
    unsecured_part: bool = False
    wet: bool = False
    loan_return_new_damage: bool = False
    hazards: Sequence[Hazard] = ()


@dataclass(frozen=True, slots=True)
class Graded:
    """One observation with the activity that counts and its own grade."""

    seen: Seen
    activity: int
    grade: int
    forced: bool


@dataclass(frozen=True, slots=True)
class Rusted:
    """Rusted percent of one zone with both codes."""

    percent: float
    ri: int
    d610: int


@dataclass(frozen=True, slots=True)
class Grade:
    """State of an object: zones by key, the whole, and why."""

    zones: Mapping[str, int]
    activities: Mapping[str, int]
    grade: int
    activity: int
    rust: Mapping[str, Rusted]
    findings: Sequence[Graded]
    reasons: Sequence[Reason]


@dataclass(frozen=True, slots=True)
class Urgency:
    """How soon somebody must act, 0 to 3. `forced` names what no number may overrule."""

    urgency: int
    base: int
    hold: bool
    forced: Sequence[str]
    reasons: Sequence[Reason]


def extent_class(percent: float, rules: RuleSet) -> int:
    """Extent class 0 to 4 of a percent of the zone; a bound belongs to its class. Raises ValueError outside 0 to 100."""
    if not 0 <= percent <= 100:
        raise ValueError(f"{percent} is no percent of a zone")
    return bisect_left(rules.extent_upper_percent, percent)


def grade_finding(seen: Seen, rules: RuleSet) -> tuple[Graded, list[Reason]]:
    """The grade of one observation: forcing first, then the matrix, then the floor of its activity."""
    activity, reasons = _activity(seen, rules)
    where = {"zone": seen.code, "term": seen.term}
    grade = rules.grade_matrix[seen.severity - 1][extent_class(seen.percent, rules) - 1]
    reasons.append(
        Reason("finding", where | {"percent": _short(seen.percent), "severity": seen.severity, "activity": activity, "grade": grade})
    )
    floor = rules.activity_floor.get(activity, 0)
    if floor > grade:
        grade = floor
        reasons.append(Reason("floor", where | {"activity": activity, "grade": grade}))
    return Graded(seen, activity, grade, seen.term in rules.forcing_terms), reasons


def _activity(seen: Seen, rules: RuleSet) -> tuple[int, list[Reason]]:
    activity = 1 if seen.activity is None else seen.activity
    where = {"zone": seen.code, "term": seen.term}
    if seen.term in rules.forcing_terms:
        return 3, [Reason("forced", where)]
    if seen.term in rules.never_below_2_terms and activity < 2:
        return 2, [Reason("never_below", where)]
    return activity, []


def grade_object(observations: Iterable[Seen], rules: RuleSet) -> Grade:
    """Zone grades, object grade and activity. A secondary zone counts at most the cap unless its activity lifts it."""
    findings: list[Graded] = []
    reasons: list[Reason] = []
    for seen in observations:
        graded, why = grade_finding(seen, rules)
        findings.append(graded)
        reasons += why
    zones: dict[str, int] = {}
    activities: dict[str, int] = {}
    codes: dict[str, str] = {}
    for graded in findings:
        key = graded.seen.zone
        codes[key] = graded.seen.code
        zones[key] = max(zones.get(key, 0), graded.grade)
        activities[key] = max(activities.get(key, 0), graded.activity)
    whole = 0
    for key, grade in zones.items():
        counts = _counts(codes[key], grade, activities[key], rules)
        if counts < grade:
            reasons.append(Reason("secondary", {"zone": codes[key], "cap": counts}))
        whole = max(whole, counts)
    return Grade(
        zones, activities, whole, max(activities.values(), default=0), _rust(findings, rules), findings, reasons or [Reason("no_finding")]
    )


def _counts(code: str, grade: int, activity: int, rules: RuleSet) -> int:
    """What a zone's grade counts towards the whole."""
    if code in rules.secondary_zones and activity < rules.secondary_cap_lifted_by_activity:
        return min(grade, rules.secondary_cap)
    return grade


def _rust(findings: Iterable[Graded], rules: RuleSet) -> dict[str, Rusted]:
    """Rusted percent by zone: the sum of its rust findings, at most 100."""
    sums: dict[str, float] = {}
    for graded in findings:
        if graded.seen.term in rules.rust_terms:
            sums[graded.seen.zone] = min(100.0, sums.get(graded.seen.zone, 0.0) + graded.seen.percent)
    return {zone: Rusted(percent, rust.ri(percent), rust.d610(percent)) for zone, percent in sums.items()}


def urgency_of(grade: Grade, context: Context, rules: RuleSet) -> Urgency:
    """Urgency: each finding's own grade and activity, the highest wins; escalated once; overrides after that."""
    base = max((rules.urgency.get((found.grade, found.activity), 3) for found in grade.findings), default=0)
    reasons = [Reason("base", {"urgency": base})]
    urgency = base
    if base >= rules.escalation_base_at_least and (why := _escalations(context, rules)):
        urgency = min(3, base + 1)
        reasons += [*why, Reason("escalated" if urgency > base else "cannot_rise")]
    forced = _overrides(grade, context, rules)
    if forced:
        urgency = 3
        reasons += [Reason(code) for code in forced]
    if context.loan_return_new_damage:
        urgency = max(urgency, rules.loan_return_urgency_at_least)
        reasons.append(Reason("loan_return"))
    return Urgency(urgency, base, _hold(context, rules), forced, reasons)


def _escalations(context: Context, rules: RuleSet) -> list[Reason]:
    why: list[Reason] = []
    if context.planned is not None and 0 <= context.planned.days <= rules.planned_use_days:
        why.append(Reason("planned_use", {"kind": context.planned.kind, "days": context.planned.days}))
    if context.high_significance:
        why.append(Reason("significance"))
    if context.unsecured_part:
        why.append(Reason("loose_part"))
    return why


def _overrides(grade: Grade, context: Context, rules: RuleSet) -> list[str]:
    """Codes of what makes it 3 whatever the matrix says."""
    wet = context.wet or any(f.seen.term == rules.wet_term and f.activity >= rules.wet_activity for f in grade.findings)
    named = {
        "hold": _hold(context, rules),
        "forcing_term": any(found.forced for found in grade.findings),
        "wet": wet,
    }
    return [code for code, stands in named.items() if stands]


def _hold(context: Context, rules: RuleSet) -> bool:
    return any(hazard.level >= rules.hold_level for hazard in context.hazards)


def _short(percent: float) -> str:
    return f"{percent:g}"
