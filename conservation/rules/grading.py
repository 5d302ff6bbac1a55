"""From what was seen to grade, activity and urgency, each with its reasons.

The scheme is ours, not a published standard: an ordinal matrix that a person can read and argue with.
State (grade) and time pressure (urgency) stay apart.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from conservation.rules import rust
from conservation.rules.reasons import Reason
from conservation.rules.ruleset import RuleSet

NOT_KNOWN = 1


@dataclass(frozen=True, slots=True)
class Seen:
    """One standing observation. `zone` is any key that parts zones, `code` the zone code.

    Percent of the zone is over 0, at most 100 (a trace is 0.1); severity 1 to 4; activity 0 to 3, None = not
    known; `new` = new or grown against the last report. Raises ValueError for anything else.
    """

    zone: str
    code: str
    term: str
    percent: float
    severity: int
    activity: int | None = NOT_KNOWN
    material: str = ""
    new: bool = False

    def __post_init__(self) -> None:
        if not 0 < self.percent <= 100:
            raise ValueError(f"{self.percent} percent of a zone: a finding covers more than 0 and at most 100")
        if self.severity not in (1, 2, 3, 4):
            raise ValueError(f"severity {self.severity}: it goes from 1 to 4")
        if self.activity not in (None, 0, 1, 2, 3):
            raise ValueError(f"activity {self.activity}: it goes from 0 to 3, or is not known")


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
    """What else counts. `place` is store, display, on_loan, quarantine or another use of a place.

    `wet` is the tick 'wet now'; `loan_return_new_damage` = something new or grown in a check made because a loan
    came back; `damp_spells` are (percent RH, days) since the last check that found no mould; `work` the kinds of
    treatment just ended.
    """

    materials: frozenset[str] = frozenset()
    place: str = "store"
    high_significance: bool = False
    planned: PlannedUse | None = None
    unsecured_part: bool = False
    wet: bool = False
    loan_return_new_damage: bool = False
    hazards: Sequence[Hazard] = ()
    damp_spells: Sequence[tuple[float, float]] = ()
    work: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class Graded:
    """One observation with the activity that counts and its own grade."""

    seen: Seen
    activity: int
    grade: int
    forced: bool


@dataclass(frozen=True, slots=True)
class Rusted:
    """Rusted percent of one zone with both codes: Ri 0 to 5 (ISO 4628-3), grade 10 to 0 (ASTM D610)."""

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


def extent_class(percent: float | Decimal, rules: RuleSet) -> int:
    """Extent class 0 to 4 of a percent of the zone; a bound belongs to its class. Raises ValueError if none."""
    return bisect_left(rules.extent_upper_percent, rust.checked_percent(percent))


def grade_finding(seen: Seen, rules: RuleSet) -> tuple[Graded, list[Reason]]:
    """The grade of one observation: forcing first, then the matrix, then the floor of its activity."""
    activity, reasons = _activity(seen, rules)
    grade = rules.grade_matrix[seen.severity - 1][extent_class(seen.percent, rules) - 1]
    percent = f"{float(seen.percent):g}"
    reasons.append(_about(seen, "finding", percent=percent, severity=seen.severity, activity=activity, grade=grade))
    floor = rules.activity_floor.get(activity, 0)
    if floor > grade:
        grade = floor
        reasons.append(_about(seen, "floor", activity=activity, grade=grade))
    return Graded(seen, activity, grade, seen.term in rules.forcing_terms), reasons


def _activity(seen: Seen, rules: RuleSet) -> tuple[int, list[Reason]]:
    activity = NOT_KNOWN if seen.activity is None else seen.activity
    if seen.term in rules.forcing_terms:
        return rules.forced_activity, [_about(seen, "forced", activity=rules.forced_activity)]
    if seen.term in rules.slow_terms and activity < rules.slow_activity:
        return rules.slow_activity, [_about(seen, "never_below", activity=rules.slow_activity)]
    return activity, []


def _about(seen: Seen, code: str, **values: str | int) -> Reason:
    return Reason(code, {"zone": seen.code, "term": seen.term, **values})


def grade_object(observations: Iterable[Seen], rules: RuleSet) -> Grade:
    """Zone grades, object grade and activity. Worst finding and highest activity of each zone; worst zone of the whole.

    A secondary zone counts at most the cap unless its activity lifts it. No finding: grade 0.
    """
    graded = [grade_finding(seen, rules) for seen in observations]
    findings = [found for found, _ in graded]
    reasons = [reason for _, why in graded for reason in why] or [Reason("no_finding")]
    zones: dict[str, int] = defaultdict(int)
    activities: dict[str, int] = defaultdict(int)
    codes = {found.seen.zone: found.seen.code for found in findings}
    for found in findings:
        zones[found.seen.zone] = max(zones[found.seen.zone], found.grade)
        activities[found.seen.zone] = max(activities[found.seen.zone], found.activity)
    counts = {zone: _counts(codes[zone], grade, activities[zone], rules) for zone, grade in zones.items()}
    reasons += [Reason("secondary", {"zone": codes[zone], "grade": zones[zone], "cap": count}) for zone, count in counts.items() if count < zones[zone]]
    whole, activity = max(counts.values(), default=0), max(activities.values(), default=0)
    return Grade(dict(zones), dict(activities), whole, activity, _rust(findings, rules), findings, reasons)


def _counts(code: str, grade: int, activity: int, rules: RuleSet) -> int:
    """What a zone's grade counts towards the whole."""
    if code in rules.secondary_zones and activity < rules.secondary_cap_lifted_by_activity:
        return min(grade, rules.secondary_cap)
    return grade


def _rust(findings: Iterable[Graded], rules: RuleSet) -> dict[str, Rusted]:
    """Rusted percent by zone: its rust findings, at most 100. Summed as decimals: 0.1 + 0.2 is no more than 0.3."""
    sums: dict[str, Decimal] = defaultdict(Decimal)
    for found in findings:
        if found.seen.term in rules.rust_terms:
            sums[found.seen.zone] += Decimal(str(found.seen.percent))
    whole = {zone: float(min(Decimal(100), percent)) for zone, percent in sums.items()}
    return {zone: Rusted(percent, rust.ri(percent), rust.d610(percent)) for zone, percent in whole.items()}


def urgency_of(grade: Grade, context: Context, rules: RuleSet) -> Urgency:
    """Urgency: each finding's own grade and activity, the highest wins; escalated once; overrides after that."""
    base, reasons = _base(grade, rules)
    urgency = base
    if rules.escalation_base_at_least <= base < 3 and (why := _escalations(context, rules)):
        urgency = base + 1
        reasons += [*why, Reason("escalated")]
    forced = _overrides(grade, context, rules)
    if forced:
        urgency = 3
        reasons += [Reason(code) for code in forced]
    if context.loan_return_new_damage:
        urgency = max(urgency, rules.loan_return_urgency_at_least)
        reasons.append(Reason("loan_return", {"urgency": rules.loan_return_urgency_at_least}))
    return Urgency(urgency, base, "hold" in forced, forced, reasons)


def _base(grade: Grade, rules: RuleSet) -> tuple[int, list[Reason]]:
    """The urgency by the matrix and the findings that make it so."""
    each = [(rules.urgency[found.grade, found.activity], found) for found in grade.findings]
    base = max((urgency for urgency, _ in each), default=0)
    reasons = [Reason("base", {"urgency": base})]
    for urgency, found in each:
        if urgency == base > 0:
            reasons.append(_about(found.seen, "base_finding", grade=found.grade, activity=found.activity, urgency=urgency))
    return base, reasons


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
        "hold": any(hazard.level >= rules.hold_level for hazard in context.hazards),
        "forcing_term": any(found.forced for found in grade.findings),
        "wet": wet,
    }
    return [code for code, stands in named.items() if stands]
