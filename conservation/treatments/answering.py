"""'What may I do?' answered for one object and one person: finding by finding, least intervention first, and what is refused."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from typing import Any, Final
from uuid import UUID

from django.utils.translation import gettext as _

from collection.objects.models import Object
from collection.objects.queries import words_of_materials
from conservation.checks.models import Observation
from conservation.checks.vocabulary import term_words
from conservation.rules import contraindications, gate, leave
from conservation.rules.candidates import level_of, offered
from conservation.rules.guidance import shipped_guidance
from conservation.rules.reasons import Reason
from conservation.rules.tables import terms
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.rules.treatment_tables import Prohibition, Step, TreatmentRules
from conservation.treatments import asking, learning
from conservation.treatments.asking import Asker, ObjectFacts
from conservation.treatments.deeds import Meant, understand
from conservation.treatments.models import DepositDecision
from conservation.treatments.refusal import own_refusal, refusal_of
from conservation.treatments.wording import told_in
from museum.errors import NotFound
from museum.people.actor import Actor
from museum.people.models import Person

#: gates that look at the whole thing: told once, above all steps
OF_THE_WHOLE: Final = frozenset({"HOLD", "OWNER", "SCREEN"})


@dataclass(frozen=True, slots=True)
class Told:
    """A gate that is shut, in words."""

    gate: str
    why: str
    instead: str
    opens: str
    source: str


@dataclass(frozen=True, slots=True)
class Way:
    """One step as a person reads it: what stands in its row, whether it is open to them now, and what shuts it."""

    code: str
    level: str
    who: str
    advice: str
    tools: str
    reversible: bool
    cautions: str
    source: str
    stops: Sequence[str]
    views: Sequence[str]
    leads: bool
    ruled_out: str
    refusal: Told | None
    shows: Sequence[tuple[str, str]]
    gentle: bool

    @property
    def open(self) -> bool:
        return self.refusal is None and not self.ruled_out

    @property
    def shut_here(self) -> Told | None:
        """What shuts this step by itself; what shuts every step is told above them all."""
        return None if self.refusal is None or self.refusal.gate in OF_THE_WHOLE else self.refusal

    @property
    def wants_hands(self) -> bool:
        """Whether it ends once somebody shows the step, or, where it is gentle, stands beside."""
        return self.refusal is not None and self.refusal.gate in ("ROLE", "COMPETENCE")

    @property
    def waits_for_leave(self) -> bool:
        """Whether it may be proposed: the tables let it stand here, and only leave, hands or an open question are missing."""
        return not self.ruled_out and self.refusal is not None and self.refusal.gate != "UNFIT"


@dataclass(frozen=True, slots=True)
class Matter:
    """One open finding with all that may be done about it."""

    finding: str
    zone: str
    zone_code: str
    zone_name: str
    words: str
    term: str
    surface: str
    surface_words: str
    first_response: str
    no_treatment: str
    ways: Sequence[Way]
    general: Sequence[Way]
    is_deposit: bool
    deposit: str
    #: what becomes of it by the default of the society, where nobody decided on this thing
    deposit_default: str


@dataclass(frozen=True, slots=True)
class Spot:
    """A zone and the layers that may be touched in it."""

    zone: str
    name: str
    surfaces: Sequence[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Asked:
    """The answer to 'I would use ...'."""

    words: str
    zone: str
    surface: str
    understood: Sequence[str]
    guesses: Sequence[tuple[str, str]]
    unknown: Sequence[str]
    refusal: Told | None
    steps: Sequence[str]


@dataclass(frozen=True, slots=True)
class MayI:
    """All of it."""

    matters: Sequence[Matter]
    never: Sequence[Prohibition]
    spots: Sequence[Spot]
    asked: Asked | None
    shut: Sequence[Told] = ()
    teachers: Mapping[str, Sequence[Person]] = field(default_factory=dict)

    def as_json(self) -> dict[str, Any]:
        """For programs."""
        never = [{"code": row.code, "severity": row.severity, "what": row.what, "why": row.why, "instead": row.instead} for row in self.never]
        teachers = {step: [person.name for person in able] for step, able in self.teachers.items()}
        matters = [asdict(matter) for matter in self.matters]
        return {"findings": matters, "never": never, "asked": asdict(self.asked) if self.asked else None, "can_show": teachers}


def what_may_i_do(actor: Actor, object_id: UUID, *, words: str = "", zone: str = "", surface: str = "") -> MayI:
    """The answer for this person today. Raises NotFound."""
    asking.demand_hand(actor)
    thing = Object.objects.visible_to(actor).select_related("kind", "card").filter(pk=object_id).first()
    if thing is None:
        raise NotFound
    facts, who, rules = asking.facts_of(thing), asking.asker_of(actor), treatment_rules_in_force()
    names = words_of_materials(sorted({code for key in facts.zones for code in facts.surfaces(key)}))
    asked = _Asking(facts, who, rules, names)
    matters = [_matter(asked, key, row) for key in facts.zones for row in facts.findings.get(key, ())]
    meets = {row.code for key in facts.zones for material in facts.surfaces(key) for row in asked.at(key, material)[1].prohibitions}
    never = [row for row in rules.prohibitions if row.code in meets]
    ways = [way for matter in matters for way in (matter.ways or matter.general) if not way.ruled_out]
    shut = {way.refusal.gate: way.refusal for way in ways if way.refusal and way.refusal.gate in OF_THE_WHOLE}
    teachers = _teachers(ways, who, facts, rules)
    return MayI(
        matters, never, _spots(facts, names), _asked(facts, who, words, zone, surface, rules) if words.strip() else None, list(shut.values()), teachers
    )  # fmt: skip


def _teachers(ways: Sequence[Way], who: Asker, facts: ObjectFacts, rules: TreatmentRules) -> dict[str, list[Person]]:
    """Who can show each of the steps for which hands are missing; nothing is asked where none is."""
    wanted = sorted({way.code for way in ways if way.refusal and learning.missing_hands(way.refusal.gate, rules.steps.get(way.code))})
    return learning.who_can_show(wanted, facts.day, but=UUID(who.person)) if wanted else {}


@dataclass
class _Asking:
    """Many questions about one object by one person: what a layer meets is looked up once, however many findings and steps it has."""

    facts: ObjectFacts
    who: Asker
    rules: TreatmentRules
    names: Mapping[str, str]
    kept: dict[tuple[str, str], tuple[gate.Question, TreatmentRules]] = field(default_factory=dict)

    def at(self, key: str, material: str) -> tuple[gate.Question, TreatmentRules]:
        """The question about a layer, no step named, and the tables with only those prohibitions that it meets."""
        if (key, material) not in self.kept:
            question = self.facts.question(self.who, key, material, step=None)
            met = contraindications.warnings([question.surface], self.rules)
            self.kept[key, material] = question, replace(self.rules, prohibitions=met)
        return self.kept[key, material]


def told(answer: gate.Answer) -> Told:
    """A refusing answer in words."""
    error = refusal_of(answer)
    return Told(**{name: str(error.data[name]) for name in ("gate", "why", "instead", "opens", "source")})


def way_of(
    facts: ObjectFacts, who: Asker, key: str, surface: str, step: Step, rules: TreatmentRules, *, beside: leave.Beside | None = None
) -> Way:  # fmt: skip
    """One step for one person on one layer, with whoever stands beside."""
    return _way(facts.question(who, key, surface, step=step.code, beside=beside), step, rules)


def _way(question: gate.Question, step: Step, rules: TreatmentRules, *, leads: bool = False, out: str | None = None) -> Way:
    answer = gate.decide(question, rules)
    guided = shipped_guidance().of(step.code)
    views = [_(step.disputed.pro), _(step.disputed.contra)] if step.disputed else []
    return Way(
        code=step.code, level=level_of(step, rules), who=step.who, advice=_(step.advice), tools=told_in(step.tools), reversible=step.reversible,
        cautions=told_in(step.cautions),
        source=step.source, stops=[_(one) for one in guided.stop] if guided else (), views=views, leads=leads, ruled_out=out_words(out, rules),
        refusal=None if answer.allowed else told(answer), shows=_shown(answer), gentle=step.gentle,
    )  # fmt: skip


def _shown(answer: gate.Answer) -> list[tuple[str, str]]:
    """What is to be read and ticked, by code."""
    owner = [(gate.OWNER_ASKED, Reason("gate_owner_asked").sentence(_))] if answer.asks_owner else []
    return [*owner, *((row.code, f"{_(row.what)}: {_(row.why)}") for row in answer.shows)]


def out_words(code: str | None, rules: TreatmentRules) -> str:
    """What rules a step out here, in words."""
    if code is None:
        return ""
    row = next((row for row in rules.prohibitions if row.code == code), None)
    if row is not None:
        return f"{row.code}: {_(row.what)}. {_(row.why)}"
    return term_words(code) if code in terms() else code


def _matter(asked: _Asking, key: str, row: Observation) -> Matter:
    facts = asked.facts
    surface = facts.layer(key, row)
    question, rules = asked.at(key, surface)
    ladder, term = offered(row.term, question.surface, rules), terms().get(row.term)
    first = ladder.leads.code if ladder.leads else ""

    def way(step: Step, out: str | None = None) -> Way:
        return _way(replace(question, step=step.code), step, rules, leads=out is None and step.code == first, out=out)

    ways = [way(one.step, one.ruled_out) for one in ladder.candidates]
    general = [way(step) for step in ladder.general]
    decided, default = facts.deposits.get(row.finding_id), facts.default_of(row, rules)
    zone = facts.zones[key]
    return Matter(
        finding=str(row.finding_id), zone=key, zone_code=zone.code, zone_name=zone.name, words=term_words(row.term), term=row.term, surface=surface,
        surface_words=asked.names.get(surface, surface), first_response=_(term.response) if term else "", no_treatment=_enough(row),
        ways=ways, general=general, is_deposit=row.term == rules.gate.deposit_term, deposit=decided.get_decision_display() if decided else "",
        deposit_default=str(DepositDecision.What(default).label) if default else "",
    )  # fmt: skip


def _enough(row: Observation) -> str:
    """When leaving it alone is a full answer, and when keeping it safe is."""
    if row.activity == 0:
        return _("It is stable: no treatment is a full answer. Leave it, and look again when it is due.")
    return _("Preventive only is a full answer: support it, keep it dry, look again. Go higher only if that does not stop the harm.")


def _spots(facts: ObjectFacts, names: Mapping[str, str]) -> list[Spot]:
    return [Spot(key, f"{zone.code} {zone.name}", [(code, names.get(code, "")) for code in facts.surfaces(key)]) for key, zone in facts.zones.items()]


def _asked(facts: ObjectFacts, who: Asker, words: str, zone: str, surface: str, rules: TreatmentRules) -> Asked:
    """What the gate says to somebody's own words; without a known place, to the first zone and its first layer."""
    key = zone if zone in facts.zones else next(iter(facts.zones))
    layer = surface if surface in facts.surfaces(key) else facts.surfaces(key)[0]
    deed = understand(Meant(words=words), rules)
    answer = gate.decide(facts.question(who, key, layer, step=None, agents=deed.added), rules) if deed.added else None
    tables = asking.refused_by_tables(facts.question(who, key, layer, step=None, agents=deed.added), rules) if deed.added else None
    worst = tables or (answer if answer and not answer.allowed else None)
    refusal = told(worst) if worst else None
    if deed.unknown and (refusal is None or refusal.gate == "NO-RULE"):
        error = own_refusal("UNKNOWN", decides=who.decides, unknown=", ".join(deed.unknown))
        refusal = Told(**{name: str(error.data[name]) for name in ("gate", "why", "instead", "opens", "source")})
    steps = [step.code for step in rules.steps.values() if step.fits(layer) and deed.added and deed.added <= step.agents]
    names = [rules.agents[code].name for code in sorted(deed.added)]
    return Asked(words, key, layer, names, list(deed.guesses), list(deed.unknown), refusal, steps)
