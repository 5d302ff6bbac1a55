"""The rules of work once more, apart from the gate: read from the rows as they stand right after a step was recorded.

Only the tables' columns are asked of the program; whose, when, by whom and on what is read here anew.
"""

from collections.abc import Iterator
from datetime import date
from typing import Any

from django.db.models import QuerySet

from collection.objects.models import Hazard, Opening, Ownership, Photograph, Screen
from conservation.checks.models import ConditionCheck, Judgement, Observation
from conservation.rules.guidance import shipped_guidance
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.rules.treatment_tables import Step
from conservation.treatments.models import Approval, DepositDecision, DepositDefault, OwnerLeave, StandingApproval, TestSpot, Work, WorkEnd, WorkStep
from museum import clock
from museum.people.models import Competence, CompetenceMark, Person, Qualification, RoleFact

Roles = frozenset[str]


def faults(done: WorkStep, roles: Roles) -> Iterator[str]:
    """What is wrong with work that was just recorded by somebody with these roles; nothing where all was in order."""
    rules = treatment_rules_in_force()
    step = rules.steps.get(done.step)
    work, worst = done.work, max(hazards(done.work).values(), default=0)
    if worst >= 3 and (step is None or step.kind != "safe"):
        yield "under a hold"
    yield from _hands(done, step, roles, worst)
    if step is not None and step.kind not in ("clean", "treat"):
        return
    if not _of_ours(work, step):
        yield "on a thing of somebody else"
    if not _screened(work):
        yield "unscreened"
    yield from _before(done, step)
    yield from _deposits(done, step, roles)
    if step is None or step.who != "volunteer":
        yield from _leave(done, step, worst)


def hazards(work: Work) -> dict[str, int]:
    levels: dict[str, int] = {}
    for row in Hazard.objects.filter(object=work.object_id).order_by("recorded_at", "id"):
        levels[row.code] = row.level
    return levels


def standing(work: Work) -> dict[Any, Observation]:
    """Finding to the last that was seen of it in this zone, less what had gone; a look that saw nothing ends them all."""
    found: dict[Any, Observation] = {}
    for check in ConditionCheck.objects.filter(object=work.object_id).order_by("happened_on", "recorded_at", "id"):
        rows = [row for row in check.observations.all() if (row.finding.component_id, row.finding.zone) == (work.component_id, work.zone)]
        if check.looks.get(work.zone_key) == "nothing":
            found = {}
        found |= {row.finding_id: row for row in rows if row.change not in ("not_visible", "not_checked")}
        found = {key: row for key, row in found.items() if row.change != "gone"}
    return found


def qualified(person: Person, kind: str) -> bool:
    row = Qualification.objects.filter(person=person, kind=kind).order_by("recorded_at", "id").last()
    return row is not None and row.given and (row.until is None or row.until >= clock.today())


def curators() -> list[Person]:
    return [person for person in Person.objects.all() if "curator" in person.roles()]


def competent(person: Person, step: Step, worst: int) -> bool:
    """Shown by another and in force, or practice that another signed, or that the one curator may let wait."""
    rows = Competence.objects.filter(person=person, step=step.code, happened_on__lte=clock.today(), valid_to__gte=clock.today())
    return any(_counts(row, person, step, worst) for row in rows.exclude(marks__sort=CompetenceMark.Sort.ENDED))


def _counts(row: Competence, person: Person, step: Step, worst: int) -> bool:
    if row.shown_by_id:
        return row.shown_by_id != person.pk
    signed = row.marks.filter(sort=CompetenceMark.Sort.SIGNED).exclude(by=person).exists()
    return bool(row.practice) and (signed or (row.second_later and _may_wait(step, row.happened_on, worst) and [one.pk for one in curators()] == [person.pk]))


def _may_wait(step: Step | None, day: date, worst: int) -> bool:
    numbers = treatment_rules_in_force().gate
    if len(curators()) != 1 or step is None or step.who != "curator" or step.code in numbers.restoration or worst >= 2:
        return False
    return not any((day - row.happened_on).days > numbers.second_later_days for row in Approval.objects.filter(second_later=True, countersign=None))


def _hands(done: WorkStep, step: Step | None, roles: Roles, worst: int) -> Iterator[str]:
    """Who may do it by 4.1: by standing, shown where it asks for that, a learner only with somebody competent beside."""
    person, beside = done.work.person, done.work.beside
    conservator, curator = qualified(person, "conservator"), "curator" in roles
    if not roles & {"volunteer", "curator", "registrar"} and not conservator and not qualified(person, "licensed specialist"):
        yield "by somebody who only reads"
    if conservator:
        if step is not None and step.kind == "safe":
            yield "made safe by a conservator"
        return
    if step is None or step.who == "conservator" or done.agents:
        yield "a conservator's work by somebody else"
        return
    helped = step.gentle and beside is not None and beside != person and (qualified(beside, "conservator") or competent(beside, step, worst))
    shown = competent(person, step, worst) or helped
    if step.who == "curator" and not curator and not (step.gentle and shown):
        yield "a curator's work by somebody else"
    if worst >= 2 and not curator:
        yield "in danger, not by a curator"
    if step.competence and not shown:
        yield "not shown"


def _of_ours(work: Work, step: Step | None) -> bool:
    whose = Ownership.objects.filter(object=work.object_id, happened_on__lte=clock.today()).order_by("happened_on", "recorded_at", "id").last()
    modest = step is not None and (step.gentle or step.who == "volunteer")
    leaves = OwnerLeave.objects.filter(object=work.object_id)
    agreed = any(row.until is None or row.until >= clock.today() for row in leaves)
    return agreed or (modest if whose is None else whose.whose.startswith("own"))


def _screened(work: Work) -> bool:
    """The ten questions, answered of the thing itself since it was last opened; before any opening those of its lot count too."""
    opened = Opening.objects.filter(object=work.object_id).order_by("recorded_at").last()
    screens = Screen.objects.filter(object=work.object_id)
    return screens.filter(full=True, recorded_at__gt=opened.recorded_at).exists() if opened else screens.exists()


def _before(done: WorkStep, step: Step | None) -> Iterator[str]:
    """What comes before it at the bench (ours): a photograph since the last work there, a spot that showed no change, the cautions read."""
    work = done.work
    ended = WorkEnd.objects.filter(work__component=work.component_id, work__zone=work.zone).order_by("recorded_at").last()
    pictures = Photograph.objects.filter(pk__in=work.before)
    if not (pictures.filter(recorded_at__gt=ended.recorded_at) if ended else pictures).exists():
        yield "without a photograph from before"
    guided = shipped_guidance().of(step.code) if step else None
    spots = [spot.unchanged for spot in TestSpot.objects.filter(work=work, deed=step.code if step else "+".join(sorted(done.agents)), surface=done.surface)]
    if (step is None or (guided and guided.test_spot)) and not (spots and all(spots)):
        yield "without a spot that showed no change"
    if step and step.cautions and step.code not in done.acknowledged:
        yield "without reading its cautions"


def _deposits(done: WorkStep, step: Step | None, roles: Roles) -> Iterator[str]:
    never = ("house_dust", "rust_powder", "pest_remains", "mould", "copper_soap")
    for finding, row in standing(done.work).items():
        if row.term != "SIGNIF_DEPOSIT":
            continue
        said = list(DepositDecision.objects.filter(finding=finding).order_by("recorded_at", "id"))
        kind, decision = (said[-1].kind, said[-1].decision) if said else ("other", "")
        default = DepositDefault.objects.filter(kind=kind).order_by("recorded_at", "id").last()
        decision = decision or (default.decision if default else "")
        if kind in never:
            continue
        if not decision:
            yield "on an undecided deposit"
        treats = step is not None and step.kind == "treat"
        if decision == "keep" and not (treats and qualified(done.work.person, "conservator")):
            yield "on a deposit that is kept"
        if decision == "keep_loose_dust" and not treats and done.step not in ("TR03", "TR04"):
            yield "on a deposit of which only loose dust may go"


def _leave(done: WorkStep, step: Step | None, worst: int) -> Iterator[str]:
    """The leave that the step says it rests on: a standing approval of this person, or an approval of the zone."""
    grade, activity = _as_judged(done.work)
    if done.approval is None:
        yield "without leave"
        return
    if (standing := StandingApproval.objects.filter(pk=done.approval).first()) is not None:
        if step is None or standing.person_id != done.work.person_id or hasattr(standing, "end") or not _covers(standing, done, step, grade):
            yield "on standing leave that does not cover it"
        return
    row, rules = Approval.objects.get(pk=done.approval), treatment_rules_in_force()
    deed = step.code if step else "+".join(sorted(done.agents))
    if (row.object_id, row.component_id, row.zone, row.surface, row.deed) != (done.work.object_id, done.work.component_id, done.work.zone, done.surface, deed):
        yield "on leave for something else"
    if hasattr(row, "lapse") or not row.happened_on <= clock.today() <= row.until or (row.until - row.happened_on).days > 31 * rules.gate.approval_months:
        yield "on leave that had ended"
    if (row.zone_grade, row.zone_activity) != (grade, activity) or _was_other_since(row):
        yield "on leave for another state of the zone"
    if not RoleFact.objects.filter(person=row.approved_by, role="curator").exists():
        yield "approved by no curator"
    if (step is None or step.who == "conservator") and not row.written:
        yield "a conservator's step without the written proposal"
    if step is not None and step.disputed and not row.reason:
        yield "a disputed step without a reason"
    if row.proposed_by_id == row.approved_by_id:
        yield from _alone(row, step, worst)


def _alone(row: Approval, step: Step | None, worst: int) -> Iterator[str]:
    if not row.second_later:
        yield "on one's own leave"
    elif not hasattr(row, "countersign") and not _may_wait(step, row.happened_on, worst):
        yield "on one's own leave, where a second person may not wait"
    elif hasattr(row, "countersign") and row.countersign.by_id == row.approved_by_id:
        yield "countersigned by the same person"


def _covers(row: StandingApproval, done: WorkStep, step: Step, grade: int) -> bool:
    numbers = treatment_rules_in_force().gate
    given = row.giver_role == "curator" or (row.giver_role == "board" and len(curators()) == 1)
    same = (row.step, row.material) == (done.step, done.surface) and row.given_by_id != row.person_id
    return step.gentle and not step.disputed and same and given and row.happened_on <= clock.today() <= row.until and grade <= numbers.standing_grade_at_most


def _judgements(work: Work) -> "QuerySet[Judgement]":
    return Judgement.objects.filter(object=work.object_id).order_by("recorded_at", "id")


def _as_judged(work: Work, judged: Judgement | None = None) -> tuple[int, int]:
    last = judged or _judgements(work).last()
    result = last.result if last else {}
    return result.get("zones", {}).get(work.zone_key, 0), result.get("activities", {}).get(work.zone_key, 0)


def _was_other_since(row: Approval) -> bool:
    zone = Work(object_id=row.object_id, component_id=row.component_id, zone=row.zone)
    since = _judgements(zone).filter(recorded_at__gt=row.recorded_at)
    return any(_as_judged(zone, judged) != (row.zone_grade, row.zone_activity) for judged in since)
