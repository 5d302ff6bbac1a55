"""Standing approvals, and what becomes of deposits."""

from datetime import date
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from conservation.checks.models import Finding
from conservation.checks.queries import standing_observations
from conservation.rules import leave
from conservation.rules.tables import materials
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments import asking
from conservation.treatments.actions.common import known_step, locked_object
from conservation.treatments.actions.deciding import signer_role
from conservation.treatments.models import DepositDecision, DepositDefault, StandingApproval, StandingEnd
from museum import clock
from museum.errors import Forbidden, Invalid, NotFound
from museum.history.record import lock
from museum.people.action import Act, action
from museum.people.models import Person
from museum.people.permissions import Role


@action("treatments.give_standing", may="treatment.second")
def give_standing(act: Act, person_id: UUID, *, step: str, material: str, until: date | None = None, reason: str = "") -> StandingApproval:
    """Lets one person do one gentle step on one material wherever a zone is well enough, for at most twelve months.

    Given by another person: a curator, or somebody of the board where there is one curator. Raises Invalid, Forbidden.
    """
    person = Person.objects.filter(pk=person_id).first()
    if person is None or not person.is_active:
        raise NotFound
    role, house, rules = signer_role(act), asking.house_of(), treatment_rules_in_force()
    known_step(step)
    if material not in materials():
        raise Invalid(_("Choose a material of the list."), field="material")
    if person.pk == act.actor.someone:
        raise Forbidden(_("Nobody gives leave to themselves; another person does."))
    today = clock.day_of(act.now)
    last = until or leave.same_day_later(today, months=rules.gate.approval_months)
    meant = leave.Standing(step=step, person=str(person.pk), material=material, given_by=str(act.actor.someone), giver_role=role, on=today, valid_to=last)
    covers = leave.standing_covers(
        meant, step=rules.steps[step], person=str(person.pk), material=material, grade=0, day=today, house=house, numbers=rules.gate,
    )  # fmt: skip
    if not covers:
        raise Invalid(
            _("Standing leave is for gentle steps on which the trade agrees, from today for at most %(months)s months, given by a curator or, "
              "where there is one curator, by the board."),
            field="step", months=rules.gate.approval_months,
        )  # fmt: skip
    fact = StandingApproval.objects.create(
        act_id=act.id, person=person, step=step, material=material, given_by_id=act.actor.someone, giver_role=role, until=last, reason=reason.strip(),
        happened_on=today, recorded_at=act.now,
    )  # fmt: skip
    act.wrote("standing.given", fact, after={"person": str(person.pk), "step": step, "material": material, "until": last}, about=[person])
    return fact


@action("treatments.end_standing", may="treatment.second")
def end_standing(act: Act, standing_id: UUID, *, reason: str = "") -> StandingEnd:
    """Takes a standing approval back at once: whoever gave it, or a curator."""
    lock(f"standing:{standing_id}")
    row = StandingApproval.objects.filter(pk=standing_id).first()
    if row is None:
        raise NotFound
    if row.given_by_id != act.actor.someone and Role.CURATOR not in act.actor.roles:
        raise Forbidden(_("Whoever gave it takes it back, or a curator."))
    if (before := StandingEnd.objects.filter(standing=row).first()) is not None:
        return before
    fact = StandingEnd.objects.create(act_id=act.id, standing=row, by_id=act.actor.someone, reason=reason.strip(), recorded_at=act.now)
    act.wrote("standing.ended", row, after={"step": row.step}, reason=reason.strip(), about=[("person", row.person_id)])
    return fact


@action("treatments.name_deposit", may="check.record")
def name_deposit(act: Act, finding_id: UUID, *, kind: str) -> DepositDecision:
    """Says what a deposit is; the default of the society for that kind then counts, as a default."""
    finding = _deposit(act, finding_id, kind)
    if DepositDecision.objects.filter(finding=finding).exclude(decision="").exists():
        raise Forbidden(_("A curator decided on this deposit; only a curator says otherwise."))
    return _write(act, finding, kind=kind, decision="", reason="")


@action("treatments.decide_deposit", may="treatment.approve")
def decide_deposit(act: Act, finding_id: UUID, *, kind: str, decision: str, reason: str) -> DepositDecision:
    """A curator decides what becomes of a deposit. The reason is shown for ever."""
    finding = _deposit(act, finding_id, kind)
    _known(decision)
    return _write(act, finding, kind=kind, decision=decision, reason=_said(reason))


@action("treatments.set_deposit_default", may="treatment.approve")
def set_deposit_default(act: Act, *, kind: str, decision: str, reason: str) -> DepositDefault:
    """What becomes of a kind of deposit where nobody decided on the object; no decision = no default any more."""
    _known_kind(kind)
    if decision:
        _known(decision)
    fact = DepositDefault.objects.create(act_id=act.id, kind=kind, decision=decision, reason=_said(reason), by_id=act.actor.someone, recorded_at=act.now)
    act.wrote("deposit.default", fact, after={"kind": kind, "decision": decision}, reason=fact.reason)
    return fact


def _deposit(act: Act, finding_id: UUID, kind: str) -> Finding:
    """The finding, its object locked, if it stands as a deposit. Raises NotFound, Invalid."""
    finding = Finding.objects.filter(pk=finding_id).first()
    if finding is None:
        raise NotFound
    locked_object(act, finding.object_id)
    _known_kind(kind)
    term = treatment_rules_in_force().gate.deposit_term
    stands = [row for rows in standing_observations(finding.object_id).values() for row in rows if row.finding_id == finding.pk and row.term == term]
    if not stands:
        raise Invalid(_("This finding does not stand as a deposit. House dust, rust powder, mould and remains of insects are none."), field="finding")
    return finding


def _known_kind(kind: str) -> None:
    if kind not in treatment_rules_in_force().gate.deposit_kinds:
        raise Invalid(_("Say what the deposit is: one of the kinds of the list."), field="kind")


def _known(decision: str) -> None:
    if decision not in DepositDecision.What.values:
        raise Invalid(_("Decide: keep, keep but remove loose dust, sample and remove, or remove."), field="decision")


def _said(reason: str) -> str:
    if not reason.strip():
        raise Invalid(_("Say why; the reason is shown for ever."), field="reason")
    return reason.strip()


def _write(act: Act, finding: Finding, *, kind: str, decision: str, reason: str) -> DepositDecision:
    fact = DepositDecision.objects.create(
        act_id=act.id, finding=finding, kind=kind, decision=decision, reason=reason, by_id=act.actor.someone, recorded_at=act.now
    )
    what = "deposit.decided" if decision else "deposit.named"
    act.wrote(what, finding, after={"kind": kind, "decision": decision, "zone": finding.zone}, reason=reason, about=[("object", finding.object_id)])
    return fact
