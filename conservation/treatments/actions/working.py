"""Work: begun, tried on a spot, done step by step or stopped, ended. The gate is asked anew at every step."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from collection.objects.actions.screens import put_told
from collection.objects.models import Opening
from conservation.rules import gate
from conservation.rules.guidance import shipped_guidance
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.rules.treatment_tables import Step, TreatmentRules
from conservation.treatments import asking, bench, learning
from conservation.treatments.actions.common import locked_object, locked_work, pictures_of
from conservation.treatments.actions.stock import use_in_step
from conservation.treatments.asking import ObjectFacts
from conservation.treatments.deeds import Deed, Meant, understand
from conservation.treatments.models import TestSpot, Wait, Work, WorkEnd, WorkStep
from conservation.treatments.refusal import Refused, own_refusal, refusal_of
from conservation.treatments.stock import WORDS
from museum import clock
from museum.errors import Forbidden, Invalid, NotFound
from museum.people.action import Act, action
from museum.people.models import Person
from museum.people.permissions import Role


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """One step as it was done. `acknowledged` are the codes of the cautions that were ticked before, those of batches among them."""

    id: UUID
    meant: Meant
    surface: str
    acknowledged: Sequence[str] = ()
    amounts: str = ""
    batches: str = ""
    batch_ids: Sequence[UUID] = field(default_factory=list)
    minutes: int | None = None
    climate: str = ""
    note: str = ""
    photographs: Sequence[UUID] = field(default_factory=list)


@action("treatments.start_work", may="treatment.work")
def start_work(
    act: Act,
    object_id: UUID,
    *,
    work_id: UUID,
    zone: str,
    surface: str,
    meant: Meant,
    before: Sequence[UUID] = (),
    finding_id: UUID | None = None,
    beside: UUID | None = None,
) -> Work:
    """Begins a session on one zone with the step that is meant first, which the gate lets pass. Repeatable by the act's key.

    Cleaning and treating ask for photographs from before. Raises Refused, Invalid, NotFound, Forbidden.
    """
    asking.demand_hand(act.actor)
    thing = locked_object(act, object_id)
    facts = asking.facts_of(thing)
    asking.known_spot(facts, zone, surface)
    if finding_id is not None and finding_id not in {row.finding_id for row in facts.findings.get(zone, ())}:
        raise Invalid(_("This finding does not stand in this zone any more."), field="finding")
    rules = treatment_rules_in_force()
    deed = _understood(meant, rules)
    component, code = zone.split("/")
    pictures = pictures_of(thing.pk, before)
    work = Work(
        id=work_id, act_id=act.id, object=thing, component_id=UUID(component), zone=code, finding_id=finding_id, person_id=act.actor.someone,
        beside=_companion(act, beside), before=[str(row.pk) for row in pictures], recorded_at=act.now, happened_at=act.now,
    )  # fmt: skip
    ask(act, facts, work, deed, surface, rules)
    if touches(deed, rules) and not _fresh(work):
        raise own_refusal("PHOTOGRAPHS")
    work.save(force_insert=True)
    act.wrote("work.begun", work, after={"zone": code, "surface": surface, "step": deed.name, "before": work.before}, about=[thing])
    return work


@action("treatments.record_spot", may="treatment.work")
def record_spot(act: Act, work_id: UUID, *, spot_id: UUID, step: str, surface: str, unchanged: bool, note: str = "") -> TestSpot:
    """Writes down what a test spot showed. A changed one shuts the step for this session, and is kept whatever the gate says.

    One that lets the step go on is asked at the gate like the step: a spot is work on the thing. Raises Refused, Invalid.
    """
    work = _mine(act, work_id)
    rules = treatment_rules_in_force()
    deed = _understood(Meant(step=step), rules)
    if not unchanged and not note.strip():
        raise Invalid(_("Say what changed."), field="note")
    if unchanged:
        facts = asking.facts_of(work.object)
        asking.known_spot(facts, work.zone_key, surface)
        ask(act, facts, work, deed, surface, rules)
        if touches(deed, rules) and not _fresh(work):
            raise own_refusal("PHOTOGRAPHS")
    spot = TestSpot.objects.create(
        id=spot_id, act_id=act.id, work=work, deed=deed.name, surface=surface, unchanged=unchanged, note=note.strip(), recorded_at=act.now
    )
    act.wrote("work.tried", work, after={"zone": work.zone, "step": deed.name, "unchanged": unchanged}, reason=spot.note, about=[("object", work.object_id)])
    return spot


@action("treatments.begin_wait", may="treatment.work")
def begin_wait(act: Act, work_id: UUID, *, wait_id: UUID, step: str) -> Wait:
    """A waiting time of a step begins now, for everybody at this work and on every device. Raises Invalid for a step without one."""
    work = _mine(act, work_id)
    guided = shipped_guidance().of(step)
    if guided is None or not guided.wait_minutes:
        raise Invalid(_("This step asks for no wait."), field="step")
    wait = Wait.objects.create(id=wait_id, act_id=act.id, work=work, step=step, minutes=guided.wait_minutes, recorded_at=act.now, happened_at=act.now)
    act.wrote("work.waits", work, after={"step": step, "minutes": wait.minutes}, about=[("object", work.object_id)])
    return wait


@action("treatments.record_step", may="treatment.work")
def record_step(act: Act, work_id: UUID, done: Done) -> WorkStep:
    """Writes down a step that was done, if every gate lets it pass now: those of the tables, then photographs, test spot, cautions.

    Of what was ticked that is kept which was asked here. Repeatable by the act's key. Raises Refused, Invalid, NotFound, Forbidden.
    """
    work = _mine(act, work_id)
    facts = asking.facts_of(work.object)
    rules = treatment_rules_in_force()
    deed = _understood(done.meant, rules)
    asking.known_spot(facts, work.zone_key, done.surface)
    answer = ask(act, facts, work, deed, done.surface, rules)
    if touches(deed, rules) and not _fresh(work):
        raise own_refusal("PHOTOGRAPHS")
    if spot_wanted(deed, rules) and not _tried(work, deed, done.surface):
        raise own_refusal("TEST-SPOT")
    asked = cautions_of(answer, deed, rules)
    missing = [code for code in asked if code not in done.acknowledged]
    if missing:
        raise own_refusal("CAUTIONS", missing=", ".join(missing))
    done = replace(done, acknowledged=[code for code in dict.fromkeys(done.acknowledged) if code in asked or (done.batch_ids and code in WORDS)])
    step = _write(act, work, done, deed, WorkStep.Result.DONE, approval=UUID(answer.rests_on.key) if answer.rests_on else None)
    use_in_step(act, step, done.batch_ids, acknowledged=done.acknowledged)
    return step


@action("treatments.stop_step", may="treatment.work")
def stop_step(act: Act, work_id: UUID, done: Done) -> WorkStep:
    """Ends a step, and the session with it, at a stop sign. No gate stands before a stop; the note says what was seen."""
    work = _mine(act, work_id)
    if not done.note.strip():
        raise Invalid(_("Write what you saw, in a few words."), field="note")
    deed = _understood(done.meant, treatment_rules_in_force())
    return _write(act, work, done, deed, WorkStep.Result.STOPPED, approval=None)


@action("treatments.tell_opened", may="treatment.work")
def tell_opened(act: Act, work_id: UUID, *, why: str, note: str = "") -> Opening:
    """At work something was opened or showed itself: from now on the gate asks for the ten questions anew. Raises Invalid, Forbidden, Refused."""
    work = _mine(act, work_id)
    return put_told(act, work.object, why, note=note)


def ask(act: Act, facts: ObjectFacts, work: Work, deed: Deed, surface: str, rules: TreatmentRules) -> gate.Answer:
    """The gate's answer to the acting person here and now. Raises Refused."""
    if deed.unknown:
        raise own_refusal("UNKNOWN", decides=Role.CURATOR in act.actor.roles, unknown=", ".join(deed.unknown))
    beside = asking.beside_of(work.beside, deed.step) if work.beside and deed.step else None
    question = facts.question(asking.asker_of(act.actor), work.zone_key, surface, step=deed.step, agents=deed.added, beside=beside)
    answer = gate.decide(question, rules)
    if not answer.allowed:
        raise _refusal(act, answer, rules.steps.get(deed.step or ""))
    return answer


def _refusal(act: Act, answer: gate.Answer, step: Step | None) -> Refused:
    """The refusal in words; where hands are missing, with the names of those who can show the step, and its lesson."""
    if step is None or not learning.missing_hands(str(answer.code), step):
        return refusal_of(answer)
    able = learning.who_can_show([step.code], clock.day_of(act.now), but=act.actor.someone)[step.code]
    lesson = step.code if learning.lesson_of(step.code) else ""
    return refusal_of(answer, teachers=[person.name for person in able], lesson=lesson)


def touches(deed: Deed, rules: TreatmentRules) -> bool:
    """Whether matter comes off, is added or is changed; an act without a row counts as cleaning."""
    return deed.step is None or rules.steps[deed.step].touches


def spot_wanted(deed: Deed, rules: TreatmentRules) -> bool:
    """Whether a test spot comes before it: always for what has no row, else where its sequence asks for one."""
    guided = shipped_guidance().of(deed.step) if deed.step else None
    return touches(deed, rules) and (deed.step is None or bool(guided and guided.test_spot))


def cautions_of(answer: gate.Answer, deed: Deed, rules: TreatmentRules) -> list[str]:
    """Codes of all that is to be read and ticked: the step's own cautions, and the rows that match here."""
    own = [deed.step] if deed.step and rules.steps[deed.step].cautions else []
    return [*own, *([gate.OWNER_ASKED] if answer.asks_owner else []), *(row.code for row in answer.shows)]


def open_steps(work: Work) -> list[WorkStep]:
    """The steps of a session so far."""
    return list(work.steps.filter(corrected_by=None, withdraws=False).order_by("recorded_at", "id"))


def _understood(meant: Meant, rules: TreatmentRules) -> Deed:
    return understand(meant, rules)


def _companion(act: Act, beside: UUID | None) -> Person | None:
    if beside is None:
        return None
    person = Person.objects.filter(pk=beside).exclude(pk=act.actor.someone).first()
    if person is None or not person.is_active:
        raise NotFound
    return person


def _mine(act: Act, work_id: UUID) -> Work:
    """One's own session, still open. Raises Forbidden, Refused."""
    work = locked_work(act, work_id)
    if work.person_id != act.actor.someone:
        raise Forbidden(_("%(name)s is at this work. Begin a session of your own."), name=work.person.name)
    if WorkEnd.objects.filter(work=work).exists() or any(row.result == WorkStep.Result.STOPPED for row in open_steps(work)):
        raise own_refusal("ENDED")
    return work


def _fresh(work: Work) -> bool:
    """Whether a photograph from before was taken since anybody last ended work on this zone."""
    last = WorkEnd.objects.filter(work__component=work.component_id, work__zone=work.zone).order_by("recorded_at").last()
    pictures = pictures_of(work.object_id, [UUID(key) for key in work.before])
    return any(last is None or row.recorded_at > last.recorded_at for row in pictures)


def _tried(work: Work, deed: Deed, surface: str) -> bool:
    spots = list(TestSpot.objects.filter(work=work, deed=deed.name, surface=surface, corrected_by=None, withdraws=False).order_by("recorded_at", "id"))
    return bool(spots) and all(spot.unchanged for spot in spots)


def _write(act: Act, work: Work, done: Done, deed: Deed, result: WorkStep.Result, *, approval: UUID | None) -> WorkStep:
    pictures, air = pictures_of(work.object_id, done.photographs), bench.air_at(work.object)
    step = WorkStep.objects.create(
        id=done.id, act_id=act.id, work=work, step=deed.step or "", agents=sorted(deed.added), surface=done.surface, result=result, approval=approval,
        rules_version=treatment_rules_in_force().version, acknowledged=list(done.acknowledged), amounts=done.amounts.strip(), batches=done.batches.strip(),
        minutes=done.minutes, climate=done.climate.strip(), reading=air.kept if air else None, note=done.note.strip(),
        photographs=[str(row.pk) for row in pictures], recorded_at=act.now,
        happened_at=act.now,
    )  # fmt: skip
    after = {"zone": work.zone, "step": deed.name, "surface": done.surface, "result": result, "amounts": step.amounts, "batches": step.batches}
    act.wrote(f"work.{result}", work, after=after, reason=step.note, about=[("object", work.object_id)])
    return step
