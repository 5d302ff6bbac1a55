"""What may be done about a finding: the steps that answer it, least intervention first, and which of them leads."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

from conservation.rules.contraindications import Surface, ruled_out
from conservation.rules.treatment_tables import KINDS, Step, TreatmentRules
from conservation.rules.who import STANDINGS

PREVENTIVE: Final = "preventive"
REMEDIAL: Final = "remedial"
RESTORATION: Final = "restoration"


@dataclass(frozen=True, slots=True)
class Candidate:
    """A step that answers a finding; `ruled_out` is the code of what rules it out here, None = it stands."""

    step: Step
    ruled_out: str | None


@dataclass(frozen=True, slots=True)
class Offered:
    """All steps for one finding in order of intervention.

    `leads` is the first that is not ruled out. `general` are the steps any finding without a row of its own gets,
    beside the first response of its term.
    """

    term: str
    candidates: tuple[Candidate, ...]
    general: tuple[Step, ...]

    @property
    def leads(self) -> Step | None:
        """The least step that stands here."""
        return next((candidate.step for candidate in self.candidates if candidate.ruled_out is None), None)

    def passed_over(self, code: str) -> tuple[Step, ...]:
        """The lesser steps that stand and would be passed over for this one: their turning down needs a written reason."""
        codes = [candidate.step.code for candidate in self.candidates]
        before = self.candidates[: codes.index(code)] if code in codes else self.candidates
        return tuple(candidate.step for candidate in before if candidate.ruled_out is None)


def offered(term: str, surface: Surface, rules: TreatmentRules) -> Offered:
    """The steps for one finding on one surface; the material of the finding is the surface."""
    answering = (step for step in rules.steps.values() if term in step.terms and step.fits(surface.material))
    ordered = sorted(answering, key=by_intervention)
    found = tuple(Candidate(step, ruled_out(step, surface, rules)) for step in ordered)
    return Offered(term, found, () if found else general_steps(rules))


def by_intervention(step: Step) -> tuple[int, int, str]:
    """Least intervention first, then the lowest standing that is asked for, then the lowest code."""
    return KINDS.index(step.kind), STANDINGS.index(step.who), step.code


def general_steps(rules: TreatmentRules) -> tuple[Step, ...]:
    """What any object may have: screen, card test, bag for fragments; support, handling, tag, box."""
    return tuple(rules.steps[code] for code in (*rules.gate.general_first, *rules.gate.general_last) if code in rules.steps)


def by_name(rules: TreatmentRules) -> tuple[Step, ...]:
    """Steps that belong to the object or are asked for by name: they answer no finding."""
    return tuple(sorted((step for step in rules.steps.values() if step.any_term), key=by_intervention))


def level_of(step: Step, rules: TreatmentRules) -> str:
    """Preventive, remedial or restoration, the words of EN 15898."""
    if step.code in rules.gate.restoration:
        return RESTORATION
    return REMEDIAL if step.touches else PREVENTIVE


def kind_of_work(agents: Collection[str], surface: Surface, rules: TreatmentRules, *, answers: str | None = None) -> str:
    """What kind of work was done, for the days of its follow-ups: by what was brought and what it met.

    `answers` is the term of the finding it was done for. A step that only looks, isolates or supports is no such work.
    """
    works = {rules.agents[agent].work for agent in agents if agent in rules.agents}
    if answers in rules.gate.pest_or_mould_terms:
        return "pest_or_mould"
    if "damp" in works:
        return _damp_work(agents, surface, rules)
    return "adhesive_or_damp" if "adhesive" in works else "dry"


def _damp_work(agents: Collection[str], surface: Surface, rules: TreatmentRules) -> str:
    bare = surface.material in rules.gate.bare_iron or bool(surface.terms & rules.gate.iron_shows)
    if bare:
        return "damp_at_bare_iron"
    return "damp_at_sound_paint" if surface.material == "paint" and "damp" in agents else "adhesive_or_damp"
