"""Leave given and ended: approvals of a zone, the second signature, lapse, the owner's leave."""

from dataclasses import replace
from datetime import date
from uuid import UUID

from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from conservation.rules import gate, leave
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments import advice, asking
from conservation.treatments.actions.common import locked_approval, locked_object
from conservation.treatments.actions.proposals import turn, waiting
from conservation.treatments.asking import ObjectFacts
from conservation.treatments.deeds import Deed, deed_as_stored
from conservation.treatments.models import Approval, Countersign, Decision, Lapse, OwnerLeave, Proposal
from conservation.treatments.refusal import own_refusal, refusal_of
from museum import clock
from museum.errors import Forbidden, Invalid
from museum.people.action import Act, action
from museum.people.models import Person
from museum.people.permissions import Role


@action("treatments.approve", may="treatment.approve")
def approve(act: Act, proposal_id: UUID, *, version: int, until: date | None = None, reason: str = "", second_later: bool = False) -> Proposal:
    """Gives leave for every step of a proposal on its zone as it is today, up to a day (twelve months where none is named).

    Another person than the proposer approves; where there is one curator, alone and 'second person later'. Each step is
    asked at the gate as it would be done under this leave; the first that is refused refuses the whole.
    Raises Refused, Forbidden, Invalid, VersionConflict.
    """
    proposal = waiting(act, proposal_id, version)
    facts = asking.facts_of(proposal.object)
    alone = _alone(act, proposal, facts, second_later=second_later)
    longest = leave.same_day_later(facts.day, months=treatment_rules_in_force().gate.approval_months)
    last = until or longest
    if last < facts.day:
        raise Invalid(_("This day has passed. Until when may it be done?"), field="until")
    if last > longest:
        raise Invalid(_("Leave can be given until %(day)s at the longest; after that it is asked for anew."), field="until", day=date_format(longest))
    decision = Decision.objects.create(
        act_id=act.id, proposal=proposal, of_version=proposal.version, what=Decision.What.APPROVED, remark=reason.strip(), by_id=act.actor.someone,
        recorded_at=act.now,
    )  # fmt: skip
    done: set[str] = set()
    for deed in map(deed_as_stored, proposal.steps):
        row = _approval(act, decision, facts, deed, until=last, reason=reason.strip(), second_later=alone)
        _demand_gate(facts, row, deed)
        if deed.name not in done:
            row.save(force_insert=True)
            done.add(deed.name)
    turn(act, proposal, Proposal.State.APPROVED, "treatment.approved", reason=reason.strip())
    return proposal


@action("treatments.countersign", may="treatment.second")
def countersign(act: Act, approval_id: UUID) -> Countersign:
    """The second person's signature: a curator's or a board member's, never of who approved."""
    signer_role(act)
    row = locked_approval(act, approval_id)
    if row.approved_by_id == act.actor.someone:
        raise Forbidden(_("You approved this yourself; another person signs."))
    if not row.second_later:
        raise Invalid(_("This approval has its two people already."), field="approval")
    if (before := Countersign.objects.filter(approval=row).first()) is not None:
        return before
    signed = Countersign.objects.create(act_id=act.id, approval=row, by_id=act.actor.someone, recorded_at=act.now)
    act.wrote("treatment.countersigned", row, after={"deed": row.deed, "zone": row.zone}, about=[("object", row.object_id)])
    return signed


@action("treatments.take_back", may="treatment.approve")
def take_back(act: Act, approval_id: UUID, *, reason: str) -> Lapse:
    """Ends an approval at once."""
    if not reason.strip():
        raise Invalid(_("Say why it is taken back."), field="reason")
    return _lapse(act, locked_approval(act, approval_id), "taken_back", reason.strip())


@action("treatments.lapse", may="treatment.approve")
def lapse(act: Act, approval_id: UUID) -> Lapse | None:
    """Writes down that an approval is none any more, if that is so: its zone changed, or a changed rule would now refuse it."""
    row = locked_approval(act, approval_id)
    facts = asking.facts_of(row.object)
    if row.zone_key not in facts.zones:
        return _lapse(act, row, "zone_changed", "")
    if not asking.unchanged_since([row]):
        return _lapse(act, row, "zone_changed", "")
    rules = treatment_rules_in_force()
    step = row.deed if row.deed in rules.steps else None
    if step is None and row.deed.startswith("TR"):
        return _lapse(act, row, "rule_changed", row.deed)
    question = facts.question(asking.somebody_able(step, facts.day), row.zone_key, row.surface, step=step, agents=row.agents)
    answer = asking.refused_by_tables(question, rules)
    return _lapse(act, row, "rule_changed", answer.code or "") if answer else None


@action("treatments.owner_leave", may="treatment.owner_leave")
def record_owner_leave(act: Act, object_id: UUID, *, letter: str, until: date | None = None) -> OwnerLeave:
    """Puts on file that the owner of something borrowed wrote that it may be treated."""
    thing = locked_object(act, object_id)
    if not letter.strip():
        raise Invalid(_("Say who wrote, when, and where the letter is filed."), field="letter")
    fact = OwnerLeave.objects.create(act_id=act.id, object=thing, letter=letter.strip(), until=until, by_id=act.actor.someone, recorded_at=act.now)
    act.wrote("treatment.owner_leave", fact, after={"letter": fact.letter, "until": until}, about=[thing])
    return fact


def signer_role(act: Act) -> str:
    """As what this person signs. Raises Forbidden."""
    role = asking.signs_as(act.actor)
    if not role:
        raise Forbidden(_("A curator signs here, or somebody of the board."))
    return role


def _alone(act: Act, proposal: Proposal, facts: ObjectFacts, *, second_later: bool) -> bool:
    """Whether one person alone signs. Raises Forbidden, naming who could decide instead."""
    if proposal.proposed_by_id != act.actor.someone:
        return False
    if second_later and facts.house.curators == 1:
        return True
    able = [person.name for person in Person.objects.with_roles().order_by("name") if _could_decide(person, act)]
    if able:
        raise Forbidden(_("You proposed this yourself; a second person decides. %(able)s can."), able=", ".join(able))
    raise Forbidden(_("You proposed this yourself. You are the one curator: sign it 'second person later'; it is listed until somebody else has signed."))


def _could_decide(person: Person, act: Act) -> bool:
    return person.pk != act.actor.someone and person.is_active and Role.CURATOR in person.roles()


def _approval(act: Act, decision: Decision, facts: ObjectFacts, deed: Deed, *, until: date, reason: str, second_later: bool) -> Approval:
    proposal = decision.proposal
    key = f"{proposal.component_id}/{proposal.zone}"
    return Approval(
        act_id=act.id, decision=decision, object_id=proposal.object_id, component_id=proposal.component_id, zone=proposal.zone, surface=proposal.surface,
        deed=deed.name, agents=sorted(deed.added), proposed_by_id=proposal.proposed_by_id, approved_by_id=act.actor.someone, until=until,
        zone_grade=facts.grades.get(key, 0), zone_activity=facts.activities.get(key, 0), written=advice.written_for(proposal), reason=reason,
        second_later=second_later, happened_on=clock.day_of(act.now), recorded_at=act.now,
    )  # fmt: skip


def _demand_gate(facts: ObjectFacts, row: Approval, deed: Deed) -> None:
    """Raises Refused unless somebody able could do it under this approval alone."""
    if deed.unknown:
        raise own_refusal("UNKNOWN", decides=True, unknown=", ".join(deed.unknown))
    question = facts.question(asking.somebody_able(deed.step, facts.day), row.zone_key, row.surface, step=deed.step, agents=deed.added)
    answer = gate.decide(replace(question, approvals=[asking.as_leave(row)], standing=[], decides=True), treatment_rules_in_force())
    if not answer.allowed and answer.code not in ("ROLE", "COMPETENCE"):
        raise refusal_of(answer)


def _lapse(act: Act, row: Approval, why: str, words: str) -> Lapse:
    if (before := Lapse.objects.filter(approval=row).first()) is not None:
        return before
    fact = Lapse.objects.create(act_id=act.id, approval=row, why=why, words=words, recorded_at=act.now)
    act.wrote("treatment.lapsed", row, after={"deed": row.deed, "zone": row.zone, "why": why}, reason=words, about=[("object", row.object_id)])
    return fact
