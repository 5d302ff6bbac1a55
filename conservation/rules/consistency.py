"""Whether the tables contradict themselves: a step that may not be done where it is recommended; asked of changed tables too."""

from collections.abc import Iterator
from dataclasses import dataclass

from conservation.rules.contraindications import Found, Surface, matching, refusing, unfit
from conservation.rules.treatment_tables import ANY, COMPOSITE, Step, TreatmentRules


@dataclass(frozen=True, slots=True)
class Contradiction:
    """The step is recommended for the material (and the finding), and a prohibition refuses it there."""

    step: str
    material: str
    term: str
    prohibition: str

    def sentence(self) -> str:
        """In words."""
        where = f"{self.material} with {self.term}" if self.term else self.material
        return f"{self.step} is recommended on {where}, and {self.prohibition} refuses it there."


def contradictions(rules: TreatmentRules) -> list[Contradiction]:
    """Every recommended step that the tables refuse, to those who may do it, on a material it is recommended for."""
    known = materials_of(rules)
    return [found for step in rules.steps.values() for found in _of(step, known, rules)]


def materials_of(rules: TreatmentRules) -> frozenset[str]:
    """Every material that a row of the tables speaks of: small letters, where findings and hazards have capitals."""
    said = {part for row in rules.prohibitions for condition in row.surfaces for part in condition}
    said |= {code for step in rules.steps.values() for code in step.surfaces}
    return frozenset(code for code in said - {ANY, COMPOSITE} if code.islower())


def _of(step: Step, known: frozenset[str], rules: TreatmentRules) -> Iterator[Contradiction]:
    for material in sorted(step.surfaces or known):
        for term in ("", *sorted(step.terms)):
            alone = frozenset({material})
            surface = Surface(material=material, zone_materials=alone, object_materials=alone, findings=(Found(term, 0),) if term else ())
            if unfit(step, surface) is None and (row := refusing(matching(surface, step.agents, rules), step.who)):
                yield Contradiction(step.code, material, term, row.code)
