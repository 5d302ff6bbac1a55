"""What gives leave: competence on file, approvals of a zone, standing approvals, 'second person later'.

Competence holds to the same calendar day three years on, approvals at most 12 months, 'second person later' waits
at most 90 days: numbers of ours that a society may set (GateNumbers).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from conservation.rules.treatment_tables import GateNumbers, Step

#: who may give leave
CURATOR = "curator"
BOARD = "board"


@dataclass(frozen=True, slots=True, kw_only=True)
class Competence:
    """A person was shown one step by another, or rests on prior practice with evidence and a signature."""

    step: str
    person: str
    on: date
    valid_to: date | None = None
    shown_by: str = ""
    prior_practice: str = ""
    signed_by: str = ""
    second_later: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """Who stands beside a learner: a conservator, or a person with a record of the step."""

    person: str
    role: str = "volunteer"
    record: Competence | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Approval:
    """Leave for one step on one zone as it was that day. `key` is whatever it is kept under."""

    step: str
    zone: str
    proposed_by: str
    approved_by: str
    approver_role: str
    on: date
    valid_to: date
    zone_grade: int
    zone_activity: int
    conservator_proposal: bool = False
    reason: str = ""
    second_later: bool = False
    countersigned_by: str = ""
    countersigned_on: date | None = None
    key: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Leave for one person, one step, one material, on any zone that is well enough. Taken back = not passed in. `key` as above."""

    person: str
    step: str
    material: str
    given_by: str
    giver_role: str
    on: date
    valid_to: date
    key: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """What the society is that day: how many curators, and the days of acts 'second person later' not countersigned."""

    curators: int = 2
    open_second: Sequence[date] = ()


def same_day_later(day: date, *, years: int = 0, months: int = 0) -> date:
    """The same calendar day so many months later; a day that month has not is its last one (29 February: 28)."""
    month = day.month - 1 + months
    year = day.year + years + month // 12
    for last in (day.day, 30, 29, 28):
        try:
            return date(year, month % 12 + 1, min(day.day, last))
        except ValueError:
            continue
    raise AssertionError("every month has 28 days")


def competent(record: Competence | None, step: Step, person: str, day: date, house: House, numbers: GateNumbers, *, is_curator: bool, danger: bool) -> bool:
    """Whether a record lets this person do this step on this day. `danger`: a hazard of level 2 or above is open."""
    if record is None or record.step != step.code or record.person != person or not person:
        return False
    ends = record.valid_to or same_day_later(record.on, years=numbers.competence_years)
    if not record.on <= day <= ends:
        return False
    if record.shown_by:
        return record.shown_by != person
    if not record.prior_practice.strip():
        return False
    if record.signed_by and record.signed_by != person:
        return True
    return record.second_later and is_curator and second_may_wait(step, record.on, house, numbers, danger=danger)


def second_may_wait(step: Step | None, given: date, house: House, numbers: GateNumbers, *, danger: bool) -> bool:
    """Whether a second person may come later: one curator, a curator's row, no restoration, no danger, none left waiting."""
    if step is None or step.who != CURATOR or step.code in numbers.restoration:
        return False
    waited = any((given - earlier).days > numbers.second_later_days for earlier in house.open_second)
    return house.curators == 1 and not danger and not waited


def approval_fault(approval: Approval, *, deed: str, step: Step | None, zone: str, grade: int, activity: int, day: date, numbers: GateNumbers) -> str | None:
    """Why an approval is no leave for this deed today; None = it is, but for the second person.

    A deed without a row is a conservator's.
    """
    faults = {
        "other_deed": approval.step != deed,
        "other_zone": approval.zone != zone,
        "not_begun": day < approval.on,
        "ended": day > approval.valid_to,
        "too_long": approval.valid_to > same_day_later(approval.on, months=numbers.approval_months),
        "not_by_a_curator": approval.approver_role != CURATOR or not approval.approved_by,
        "by_its_proposer": not approval.second_later and (not approval.proposed_by or approval.proposed_by == approval.approved_by),
        "zone_changed": (approval.zone_grade, approval.zone_activity) != (grade, activity),
        "no_proposal": (step is None or step.who == "conservator") and not approval.conservator_proposal,
        "no_reason": step is not None and step.disputed is not None and not approval.reason.strip(),
    }
    return next((fault for fault, stands in faults.items() if stands), None)


def countersigned(approval: Approval, day: date) -> bool:
    """Whether another person has signed by that day; an approval with two people needs no third."""
    if not approval.second_later:
        return True
    by_another = bool(approval.countersigned_by) and approval.countersigned_by != approval.approved_by
    return by_another and approval.countersigned_on is not None and approval.countersigned_on <= day


def standing_covers(standing: Standing, *, step: Step, person: str, material: str, grade: int, day: date, house: House, numbers: GateNumbers) -> bool:
    """Whether a standing approval is leave for this step here: gentle, undisputed, this person and material, the zone well enough."""
    givers = (CURATOR, BOARD) if house.curators == 1 else (CURATOR,)
    same = (standing.step, standing.person, standing.material) == (step.code, person, material) and bool(person)
    given = standing.giver_role in givers and standing.given_by not in ("", standing.person)
    short = standing.valid_to <= same_day_later(standing.on, months=numbers.approval_months)
    allowed = step.gentle and step.disputed is None and grade <= numbers.standing_grade_at_most
    return same and given and short and allowed and standing.on <= day <= standing.valid_to
