"""Proposals: sent, returned, sent again, withdrawn. What the tables refuse never becomes one."""

from collections.abc import Sequence
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from conservation.checks.models import Finding
from conservation.rules.candidates import offered
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.rules.treatment_tables import TreatmentRules
from conservation.treatments import advice, asking
from conservation.treatments.actions.common import locked_object, locked_proposal
from conservation.treatments.asking import ObjectFacts
from conservation.treatments.deeds import Deed, Meant, understand
from conservation.treatments.models import Decision, Proposal
from conservation.treatments.refusal import Overtaken, refusal_of
from museum import clock
from museum.errors import Forbidden, Invalid
from museum.people import competence
from museum.people.action import Act, action, last_author

WAITS = Proposal.State.WAITING
#: letters of the sentence that stands above a proposal wherever it is told
LONGEST_AIM = 300


@action("treatments.propose", may="treatment.propose")
def propose_treatment(
    act: Act,
    object_id: UUID,
    *,
    proposal_id: UUID,
    zone: str,
    surface: str,
    aim: str,
    steps: Sequence[Meant],
    finding_id: UUID | None = None,
    written: str = "",
) -> Proposal:
    """Sends a proposal for one zone ('component/code') to the curator. Repeatable by the act's key.

    A step that the tables refuse is refused here with the reason and what to do instead; one that passes over a lesser
    step needs the reason why that is not enough; what nobody knows goes to the curator as unknown.
    Raises Refused, Invalid, NotFound, Forbidden.
    """
    asking.demand_hand(act.actor)
    facts = asking.facts_of(locked_object(act, object_id))
    asking.known_spot(facts, zone, surface)
    finding = _finding(facts, zone, finding_id)
    deeds = _deeds(act, facts, zone, surface, steps, finding)
    component, code = zone.split("/")
    proposal = Proposal.objects.create(
        id=proposal_id, object_id=object_id, component_id=UUID(component), zone=code, surface=surface, finding_id=finding_id, aim=_aim(aim),
        steps=[deed.stored() for deed in deeds], written=written.strip(), proposed_by_id=act.actor.someone, sent_at=act.now,
    )  # fmt: skip
    _tell(act, proposal, "treatment.proposed")
    return proposal


@action("treatments.resubmit", may="treatment.propose")
def resubmit(act: Act, proposal_id: UUID, *, version: int, surface: str, aim: str, steps: Sequence[Meant], written: str = "") -> Proposal:
    """Sends a returned proposal again, changed or with a better reason; only who proposed it does so. Raises as `propose_treatment`."""
    proposal = _mine(act, proposal_id, version, Proposal.State.RETURNED, WAITS)
    facts = asking.facts_of(proposal.object)
    zone = f"{proposal.component_id}/{proposal.zone}"
    asking.known_spot(facts, zone, surface)
    finding = _finding(facts, zone, proposal.finding_id) if proposal.finding_id else ""
    deeds = _deeds(act, facts, zone, surface, steps, finding)
    before = {"aim": proposal.aim, "steps": proposal.steps, "surface": proposal.surface}
    proposal.surface, proposal.aim, proposal.steps, proposal.written = surface, _aim(aim), [deed.stored() for deed in deeds], written.strip()
    proposal.sent_at = act.now
    _turn(act, proposal, WAITS, "treatment.sent_again", before=before)
    return proposal


@action("treatments.return_proposal", may="treatment.approve")
def return_proposal(act: Act, proposal_id: UUID, *, version: int, remark: str) -> Proposal:
    """Gives a proposal back with a remark; who proposed it may change it and send it again."""
    proposal = waiting(act, proposal_id, version)
    if not remark.strip():
        raise Invalid(_("Say what is missing, so that it can be sent again."), field="remark")
    Decision.objects.create(
        act_id=act.id, proposal=proposal, of_version=proposal.version, what=Decision.What.RETURNED, remark=remark.strip(), by_id=act.actor.someone,
        recorded_at=act.now,
    )  # fmt: skip
    _turn(act, proposal, Proposal.State.RETURNED, "treatment.returned", reason=remark.strip())
    return proposal


@action("treatments.advise", may="treatment.advise")
def advise(act: Act, proposal_id: UUID, *, version: int, agrees: bool, words: str) -> Proposal:
    """A conservator's word on somebody else's proposal that asks for one: agrees in writing, or gives it back with a remark.

    What is agreed to waits for the curator still; the words stand for the conservator's written proposal until it is sent anew.
    Raises Forbidden, Invalid, VersionConflict.
    """
    proposal = waiting(act, proposal_id, version)
    if not competence.qualified(act.actor.someone, competence.CONSERVATOR, clock.day_of(act.now)):
        raise Forbidden(_("A conservator says this, with the qualification on file."))
    if proposal.proposed_by_id == act.actor.someone:
        raise Forbidden(_("You proposed this yourself: what you wrote with it is your word, and the curator decides."))
    if not advice.asks_conservator(proposal):
        raise Invalid(_("No step of this proposal asks for a conservator; the curator decides alone."), field="steps")
    if not words.strip():
        raise Invalid(_("Write what you propose or what is missing; it stays for ever."), field="words")
    what = Decision.What.ENDORSED if agrees else Decision.What.RETURNED
    Decision.objects.create(
        act_id=act.id, proposal=proposal, of_version=proposal.version, what=what, remark=words.strip(), by_id=act.actor.someone, recorded_at=act.now
    )
    if agrees:
        _tell(act, proposal, "treatment.endorsed", reason=words.strip())
    else:
        _turn(act, proposal, Proposal.State.RETURNED, "treatment.returned", reason=words.strip())
    return proposal


@action("treatments.withdraw", may="treatment.propose")
def withdraw_proposal(act: Act, proposal_id: UUID, *, version: int, reason: str = "") -> Proposal:
    """Takes one's own proposal back, as long as nobody approved it."""
    proposal = _mine(act, proposal_id, version, WAITS, Proposal.State.RETURNED)
    _turn(act, proposal, Proposal.State.WITHDRAWN, "treatment.withdrawn", reason=reason.strip())
    return proposal


def waiting(act: Act, proposal_id: UUID, version: int) -> Proposal:
    """A proposal that waits, as it was read. Raises VersionConflict, Invalid."""
    proposal = locked_proposal(act, proposal_id)
    _same(proposal, version)
    if proposal.state != WAITS:
        raise Invalid(_("This proposal does not wait any more: it is %(state)s."), field="state", state=str(proposal.get_state_display()))
    return proposal


def turn(act: Act, proposal: Proposal, state: Proposal.State, what: str, *, reason: str = "") -> None:
    """Moves a proposal on and tells it."""
    _turn(act, proposal, state, what, reason=reason)


def _mine(act: Act, proposal_id: UUID, version: int, *states: Proposal.State) -> Proposal:
    proposal = locked_proposal(act, proposal_id)
    if proposal.proposed_by_id != act.actor.someone:
        raise Forbidden(_("%(name)s proposed this and can change it or take it back."), name=proposal.proposed_by.name)
    _same(proposal, version)
    if proposal.state not in states:
        raise Invalid(_("This cannot be changed any more: it is %(state)s."), field="state", state=str(proposal.get_state_display()))
    return proposal


def _same(proposal: Proposal, version: int) -> None:
    if proposal.version != version:
        raise Overtaken(who=last_author(proposal), theirs={"state": proposal.state}, mine={}, version=proposal.version, subject=f"proposal:{proposal.pk}")


def _aim(aim: str) -> str:
    if not aim.strip():
        raise Invalid(_("Say in one sentence what is to be reached."), field="aim")
    if len(aim.strip()) > LONGEST_AIM:
        raise Invalid(_("One sentence will do here, of at most %(n)s letters; the steps have room for the rest."), field="aim", n=LONGEST_AIM)
    return aim.strip()


def _finding(facts: ObjectFacts, zone: str, finding_id: UUID | None) -> str:
    """The term of the finding it answers, which stands in this zone; '' where it answers none."""
    if finding_id is None:
        return ""
    row = next((row for row in facts.findings.get(zone, ()) if row.finding_id == finding_id), None)
    if row is None or not Finding.objects.filter(pk=finding_id).exists():
        raise Invalid(_("This finding does not stand in this zone any more."), field="finding")
    return row.term


def _deeds(act: Act, facts: ObjectFacts, zone: str, surface: str, steps: Sequence[Meant], term: str) -> list[Deed]:
    """What is meant, each understood and let through by the tables. Raises Refused, Invalid."""
    rules = treatment_rules_in_force()
    if not steps:
        raise Invalid(_("Choose a step, or say what you would use."), field="steps")
    deeds = [understand(meant, rules) for meant in steps]
    for deed in deeds:
        asker = asking.somebody_able(deed.step, facts.day) if deed.step else asking.asker_of(act.actor)
        question = facts.question(asker, zone, surface, step=deed.step, agents=deed.added)
        known = deed.step is not None or bool(deed.added)
        if known and (answer := asking.refused_by_tables(question, rules)) is not None:
            raise refusal_of(answer)
    if term:
        _demand_reasons(facts, zone, surface, term, deeds, rules)
    return deeds


def _demand_reasons(facts: ObjectFacts, zone: str, surface: str, term: str, deeds: Sequence[Deed], rules: TreatmentRules) -> None:
    """Cleaning or treating needs the reason why the lesser steps that stand are not enough, unless they are part of the proposal."""
    ladder = offered(term, facts.surface(zone, surface), rules)
    named = {deed.step for deed in deeds}
    for deed in deeds:
        if deed.step and not rules.steps[deed.step].touches:
            continue
        passed = [step.code for step in ladder.passed_over(deed.name) if step.code not in named]
        if passed and not deed.earlier:
            raise Invalid(
                _("Say why the lesser steps are not enough before %(deed)s: %(passed)s."),
                field="earlier", deed=deed.name or deed.words, passed=", ".join(passed),
            )  # fmt: skip


def _turn(act: Act, proposal: Proposal, state: Proposal.State, what: str, *, before: object = None, reason: str = "") -> None:
    proposal.state, proposal.version = state, proposal.version + 1
    proposal.save()
    _tell(act, proposal, what, before=before, reason=reason)


def _tell(act: Act, proposal: Proposal, what: str, *, before: object = None, reason: str = "") -> None:
    after = {"zone": proposal.zone, "surface": proposal.surface, "aim": proposal.aim, "steps": proposal.steps, "state": proposal.state}
    act.wrote(what, proposal, before=before, after=after, reason=reason, about=[("object", proposal.object_id)])
