"""Reads from the database all that the gate looks at, and asks it. Every action and every page asks here and nowhere else."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any
from uuid import UUID

from django.db import models
from django.utils.translation import gettext_lazy as _

from collection.objects.models import Object, Ownership
from collection.objects.queries import Zone, in_force, materials_of, ownership_of, zones_of
from collection.objects.screens import standing_of
from conservation.checks.facts import Facts
from conservation.checks.models import Judgement, Observation
from conservation.rules import gate, leave
from conservation.rules.contraindications import Found, Surface
from conservation.rules.grading import Hazard
from conservation.rules.tables import materials, terms
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.rules.treatment_tables import TreatmentRules
from conservation.rules.who import highest
from conservation.treatments.models import Approval, DepositDecision, DepositDefault, OwnerLeave, StandingApproval
from museum import clock
from museum.errors import Forbidden, Invalid
from museum.people import competence
from museum.people.actor import Actor
from museum.people.models import Competence, Person, RoleFact
from museum.people.permissions import Role

OURS = frozenset({Ownership.Whose.OWN, Ownership.Whose.OWN_HANDLING, Ownership.Whose.OWN_PROP})
PIECES = {Ownership.Whose.OWN_HANDLING: "handling", Ownership.Whose.OWN_PROP: "prop"}


@dataclass(frozen=True, slots=True)
class Asker:
    """Who would do it: their standing, what they were shown, what they have standing leave for."""

    person: str
    role: str
    competence: Sequence[leave.Competence] = ()
    standing: Sequence[leave.Standing] = ()
    #: whether they are a curator
    decides: bool = False


@dataclass(frozen=True)
class ObjectFacts:
    """All that is known of one object, read once however many questions are asked of it."""

    thing: Object
    day: date
    zones: Mapping[str, Zone]
    materials: frozenset[str]
    findings: Mapping[str, Sequence[Observation]]
    hazards: tuple[Hazard, ...]
    whose: str
    screen: str
    owner_consent: bool
    grades: Mapping[str, int]
    activities: Mapping[str, int]
    approvals: Sequence[Approval]
    deposits: Mapping[UUID, DepositDecision]
    defaults: Mapping[str, str]
    house: leave.House = field(default_factory=leave.House)

    def surfaces(self, key: str) -> list[str]:
        """The materials that may be the layer touched in a zone: what it is made of, then what its findings name.

        Of what nobody told the material it is that of the whole thing, then what such findings are seen on, then anything.
        """
        rows = self.findings.get(key, ())
        named = [*self._made_of(key), *(row.material for row in rows if row.material)]
        spoken = {code for row in rows if row.term in terms() for code in terms()[row.term].materials}
        return list(dict.fromkeys(named)) or sorted(self.materials) or [code for code in materials() if code in spoken or not spoken]

    def _made_of(self, key: str) -> Iterable[str]:
        """What a zone is made of; nothing where the thing has been said to lack it since."""
        return self.zones[key].materials if key in self.zones else ()

    def layer(self, key: str, row: Observation) -> str:
        """The material on which a finding was seen; where it was not told, the first of the zone on which such a thing is seen."""
        here = self.surfaces(key)
        term = terms().get(row.term)
        return row.material or next((code for code in here if term is None or term.fits([code])), here[0])

    def surface(self, key: str, material: str) -> Surface:
        """The layer touched with all around it."""
        found = tuple(Found(row.term, row.activity) for row in self.findings.get(key, ()))
        return Surface(
            material=material,
            zone_materials=frozenset(self._made_of(key)),
            object_materials=self.materials,
            findings=found,
            hazards=self.hazards,
        )

    def deposits_of(self, key: str, rules: TreatmentRules) -> list[gate.Deposit]:
        """The deposits of a zone; one of which nobody told the kind counts as the kind of which least is known."""
        unknown = rules.gate.deposit_kinds[-1]
        rows = [row for row in self.findings.get(key, ()) if row.term == rules.gate.deposit_term]
        said = [self.deposits.get(row.finding_id) for row in rows]
        return [gate.Deposit(row.kind, row.decision or None) if row else gate.Deposit(unknown) for row in said]

    def default_of(self, row: Observation, rules: TreatmentRules) -> str:
        """What the society lets become of a deposit on which nobody decided here; '' = it is undecided, or no deposit, or decided."""
        said = self.deposits.get(row.finding_id)
        if row.term != rules.gate.deposit_term or (said and said.decision):
            return ""
        return self.defaults.get(said.kind if said else rules.gate.deposit_kinds[-1], "")

    def leaves(self, key: str, material: str, added: frozenset[str]) -> list[Approval]:
        """Approvals of this zone for this layer that name all that is added to the step; a lapsed one is none."""
        return [row for row in self.approvals if row.zone_key == key and row.surface == material and added <= set(row.agents)]

    def question(
        self, who: Asker, key: str, material: str, *, step: str | None, agents: Iterable[str] = (), beside: leave.Beside | None = None
    ) -> gate.Question:
        """May this person do this step on this surface of this zone today?"""
        rules = treatment_rules_in_force()
        return gate.Question(
            day=self.day,
            person=who.person,
            role=who.role,
            decides=who.decides,
            zone=key,
            surface=self.surface(key, material),
            zone_grade=self.grades.get(key, 0),
            zone_activity=self.activities.get(key, 0),
            step=step,
            agents=frozenset(agents),
            piece=PIECES.get(Ownership.Whose(self.whose), "collection") if self.whose else "collection",
            ours=self.whose in OURS if self.whose else None,
            owner_consent=self.owner_consent,
            screen=self.screen,
            deposits=self.deposits_of(key, rules),
            deposit_defaults=self.defaults,
            competence=who.competence,
            beside=beside,
            approvals=[as_leave(row) for row in self.leaves(key, material, frozenset(agents))],
            standing=who.standing,
            house=self.house,
        )


def facts_of(thing: Object, *, day: date | None = None) -> ObjectFacts:
    """Reads an object for the gate, some fifteen statements whatever its size."""
    today = day or clock.today()
    known = Facts(thing.pk)
    result = known.judgement.result if known.judgement else {}
    leaves = in_force(OwnerLeave.objects.filter(object=thing))
    return ObjectFacts(
        thing=thing,
        day=today,
        zones={zone.key: zone for zone in zones_of(thing)},
        materials=materials_of([thing.pk]).get(thing.pk, frozenset()),
        findings=known.standing,
        hazards=tuple(Hazard(code, level) for code, level in sorted(known.hazards.items())),
        whose=ownership_of([thing.pk]).get(thing.pk, ""),
        screen=standing_of(thing.pk).state,
        owner_consent=any(row.happened_on <= today and (row.until is None or today <= row.until) for row in leaves),
        grades=result.get("zones", {}),
        activities=result.get("activities", {}),
        approvals=unchanged_since(approvals_standing().filter(object=thing)),
        deposits={row.finding_id: row for row in in_force(DepositDecision.objects.filter(finding__object=thing))},
        defaults=deposit_defaults(),
        house=house_of(),
    )


def approvals_standing() -> "models.QuerySet[Approval]":
    """Approvals that nothing ended; whether their day has come or gone is for the gate."""
    return in_force(Approval.objects.filter(lapse=None)).select_related("countersign", "approved_by", "proposed_by")


def as_leave(row: Approval) -> leave.Approval:
    """An approval as the gate reads it."""
    signed = getattr(row, "countersign", None)
    return leave.Approval(
        step=row.deed,
        zone=row.zone_key,
        proposed_by=str(row.proposed_by_id),
        approved_by=str(row.approved_by_id),
        approver_role=leave.CURATOR,
        on=row.happened_on,
        valid_to=row.until,
        zone_grade=row.zone_grade,
        zone_activity=row.zone_activity,
        conservator_proposal=bool(row.written),
        reason=row.reason,
        second_later=row.second_later,
        countersigned_by=str(signed.by_id) if signed else "",
        countersigned_on=signed.happened_on if signed else None,
        key=str(row.pk),
    )


def unchanged_since(rows: Iterable[Approval]) -> list[Approval]:
    """Those whose zone was judged the same ever since: one that was otherwise for an hour has lapsed, though it is as it was again."""
    given = list(rows)
    if not given:
        return []
    since = Judgement.objects.filter(object__in={row.object_id for row in given}, recorded_at__gt=min(row.recorded_at for row in given))
    judged = [(one.object_id, one.recorded_at, one.result) for one in since.only("object_id", "recorded_at", "result")]
    return [row for row in given if all(same_zone(row, result) for object_id, at, result in judged if object_id == row.object_id and at > row.recorded_at)]


def same_zone(row: Approval, result: Mapping[str, Any]) -> bool:
    """Whether a judgement says of the zone what it was when leave was given."""
    return (result.get("zones", {}).get(row.zone_key, 0), result.get("activities", {}).get(row.zone_key, 0)) == (row.zone_grade, row.zone_activity)


def deposit_defaults() -> dict[str, str]:
    """What the society lets become of each kind of deposit where nobody decided on the object."""
    latest = dict(in_force(DepositDefault.objects.all()).values_list("kind", "decision"))
    return {kind: decision for kind, decision in latest.items() if decision}


def house_of() -> leave.House:
    """How many curators there are, and what waits for a second person."""
    curators = sum(1 for person in Person.objects.with_roles() if person.is_active and Role.CURATOR in person.roles())
    practice = [clock.day_of(row.recorded_at) for row in competence.unsigned() if row.second_later]
    return leave.House(curators=curators, open_second=[*(row.happened_on for row in waits_for_a_second()), *practice])


def waits_for_a_second() -> "models.QuerySet[Approval]":
    """Approvals that one person alone has signed, oldest first; also those that have ended meanwhile."""
    return in_force(Approval.objects.filter(second_later=True, countersign=None)).select_related("object__card", "approved_by")


def signs_as(actor: Actor) -> str:
    """As what this person signs for what another began: a curator, or somebody of the board; '' for who does not."""
    if Role.CURATOR in actor.roles:
        return leave.CURATOR
    return leave.BOARD if actor.may("treatment.second") and competence.read_for(actor.someone) == RoleFact.Reader.TRUSTEE else ""


def demand_hand(actor: Actor) -> None:
    """Raises Forbidden for a reader who is neither a conservator nor a licensed specialist: readers look, they do not work."""
    if actor.roles <= {Role.READER} and not competence.qualifications([actor.someone], clock.today()).get(actor.someone):
        raise Forbidden(_("A reader looks at things and does not work on them, unless a conservator's qualification is on file."))


def asker_of(actor: Actor, *, day: date | None = None) -> Asker:
    """The acting person as the gate sees them, by the roles that count here and now."""
    person, today = actor.someone, day or clock.today()
    return Asker(str(person), _standing_of(actor.roles, person, today), _competences(person), _standings(person), decides=Role.CURATOR in actor.roles)


def beside_of(person: Person, step: str, *, day: date | None = None) -> leave.Beside:
    """Somebody who stands beside a learner."""
    today = day or clock.today()
    role = _standing_of(person.roles(), person.pk, today)
    records = [row for row in _competences(person.pk) if row.step == step and row.on <= today]
    return leave.Beside(person=str(person.pk), role=role, record=max(records, key=lambda row: row.valid_to or row.on, default=None))


def somebody_able(step: str | None, day: date) -> Asker:
    """The person a step is meant for, shown it: for asking whether it may be approved at all. A deed without a row is a conservator's."""
    if step is None:
        return Asker("somebody", "conservator")
    role = highest([treatment_rules_in_force().steps[step].who, "curator"])
    return Asker("somebody", role, competence=[leave.Competence(step=step, person="somebody", on=day, shown_by="another")])


def refused_by_tables(question: gate.Question, rules: TreatmentRules) -> gate.Answer | None:
    """What the tables themselves say against it, whatever else is still open on the object; None = nothing."""
    hazards = tuple(Hazard(row.code, min(row.level, gate.CURATORS_LEVEL)) for row in question.surface.hazards)
    settled = replace(
        question,
        surface=replace(question.surface, hazards=hazards),
        ours=True,
        screen="full",
        deposits=[gate.Deposit("other", DepositDecision.What.REMOVE)],
    )
    answer = gate.decide(settled, rules)
    of_tables = answer.code is not None and (answer.prohibition is not None or answer.code in ("NO-RULE", "UNFIT"))
    return answer if of_tables else None


def known_step(code: str) -> None:
    """Raises Invalid for a step that is not in the tables in force."""
    if code not in treatment_rules_in_force().steps:
        raise Invalid(_("There is no step '%(step)s' in the tables."), field="step", step=code)


def known_spot(facts: ObjectFacts, key: str, material: str) -> None:
    """Raises Invalid for a zone the object has not, or a layer that the zone has not."""
    if key not in facts.zones:
        raise Invalid(_("This object has no such zone."), field="zone")
    if material not in {*facts.surfaces(key), *facts.materials}:
        raise Invalid(_("Say which layer is touched: one of the materials of this zone."), field="surface")


def _standing_of(roles: frozenset[Role], person: UUID, day: date) -> str:
    held = competence.qualifications([person], day).get(person, set())
    return highest([*held, "curator" if Role.CURATOR in roles else "volunteer"])


def _competences(person: UUID) -> list[leave.Competence]:
    return [_as_competence(row) for row in competence.on_file([person])]


def _as_competence(row: Competence) -> leave.Competence:
    signer = getattr(row, "signer", None)
    return leave.Competence(
        step=row.step,
        person=str(row.person_id),
        on=row.happened_on,
        valid_to=row.valid_to,
        shown_by=str(row.shown_by_id or ""),
        prior_practice=row.practice,
        signed_by=str(signer or ""),
        second_later=row.second_later,
    )


def _standings(person: UUID) -> list[leave.Standing]:
    rows = in_force(StandingApproval.objects.filter(person=person, end=None))
    return [
        leave.Standing(
            step=row.step,
            person=str(person),
            material=row.material,
            given_by=str(row.given_by_id),
            giver_role=row.giver_role,
            on=row.happened_on,
            valid_to=row.until,
            key=str(row.pk),
        )
        for row in rows
    ]
