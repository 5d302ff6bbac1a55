"""The tables of treatment as values: steps, prohibitions, agents, the numbers of the gate; shipped beside this file.

Each table is read from rows of words, so that a society's own rows are read just as the shipped ones. What a row
rests on stands in its column `source`; the numbers of the gate (12 months, three years, 90 days, grade 2) are ours.
"""

import csv
import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from functools import cache
from typing import Any, Final

from conservation.rules.book import DATA, BadRules, shipped_book, using
from conservation.rules.tables import hazards, materials, terms
from conservation.rules.who import STANDINGS

#: from the least intervention to the greatest: make safe; look, isolate, support; matter comes off; matter is added
KINDS: Final = ("safe", "care", "clean", "treat")
FORBIDDEN: Final = "forbidden"
CONSERVATOR_ONLY: Final = "conservator only"
CAUTION: Final = "caution"
SEVERITIES: Final = (FORBIDDEN, CONSERVATOR_ONLY, CAUTION)
#: what an agent makes of the work: nothing that leaves moisture or glue, moisture, an adhesive
WORKS: Final = ("", "damp", "adhesive")
ANY: Final = "any"
#: in `not_on`: every material of the object must be one the step may touch
ONLY: Final = "only"
#: as a surface: more than one material, not all of a kind that may be frozen
COMPOSITE: Final = "composite"
#: behind a term of `not_on`: only where the finding is above activity 0
ACTIVE_MARK: Final = "*"


@dataclass(frozen=True, slots=True)
class Views:
    """Both sides of a practice on which the trade is divided."""

    pro: str
    contra: str


@dataclass(frozen=True, slots=True)
class Step:
    """One row of what may be done.

    `who` is the lowest standing that may do it; `surfaces` the materials it may touch and `terms` the findings it
    answers, empty = any; `not_on` terms (with * only where active), materials and hazards that rule it out;
    `agents` all that it brings to the surface.
    """

    code: str
    kind: str
    who: str
    material: str
    problem: str
    advice: str
    tools: str
    reversible: bool
    cautions: str
    source: str
    surfaces: frozenset[str]
    terms: frozenset[str]
    any_term: bool
    not_on: frozenset[str]
    only: bool
    agents: frozenset[str]
    competence: bool
    gentle: bool
    disputed: Views | None

    @property
    def touches(self) -> bool:
        """Whether matter comes off, is added or is changed."""
        return self.kind in ("clean", "treat")

    def fits(self, surface: str) -> bool:
        """Whether it may touch this layer."""
        return not self.surfaces or surface in self.surfaces


@dataclass(frozen=True, slots=True)
class Prohibition:
    """One row of what may not be done: where (`surfaces`, each a condition of parts joined by +), with what, how strictly.

    A row without agents speaks of any act on that surface and is enforced by the gate under a name of its own.
    """

    code: str
    severity: str
    material: str
    what: str
    why: str
    instead: str
    source: str
    surfaces: tuple[frozenset[str], ...]
    agents: frozenset[str]


@dataclass(frozen=True, slots=True)
class Agent:
    """What is brought to a surface or done to it. `work` names what it makes of the work for its follow-ups."""

    code: str
    name: str
    work: str
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Ambiguous:
    """Words that may mean several agents: all of them count, so that the worst of them is not let through."""

    words: tuple[str, ...]
    agents: frozenset[str]


@dataclass(frozen=True, slots=True)
class GateNumbers:
    """What a society may set: months, years, days, the grade, and the lists that the gate reads."""

    approval_months: int
    competence_years: int
    second_later_days: int
    standing_grade_at_most: int
    dusting: frozenset[str]
    restoration: frozenset[str]
    never_a_deposit: frozenset[str]
    deposit_kinds: tuple[str, ...]
    deposit_term: str
    freezable: frozenset[str]
    pest_or_mould_terms: frozenset[str]
    bare_iron: frozenset[str]
    iron_shows: frozenset[str]
    general_first: tuple[str, ...]
    general_last: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TreatmentRules:
    """All that an evaluator of treatment takes: the tables in force and their version."""

    version: str
    steps: Mapping[str, Step]
    prohibitions: tuple[Prohibition, ...]
    agents: Mapping[str, Agent]
    ambiguous: tuple[Ambiguous, ...]
    gate: GateNumbers


def read_steps(rows: Sequence[Mapping[str, str]]) -> tuple[Step, ...]:
    """The steps of a table. Raises BadRules with a sentence for every fault."""
    faults = [*_repeated(rows, "TR"), *(fault for row in rows for fault in _step_faults(row))]
    if faults:
        raise BadRules(faults)
    return tuple(_step(row) for row in rows)


def read_prohibitions(rows: Sequence[Mapping[str, str]]) -> tuple[Prohibition, ...]:
    """The prohibitions and cautions of a table. Raises BadRules with a sentence for every fault."""
    faults = [*_repeated(rows, "CX"), *(fault for row in rows for fault in _prohibition_faults(row))]
    if faults:
        raise BadRules(faults)
    return tuple(_prohibition(row) for row in rows)


def read_agents(rows: Sequence[Mapping[str, str]]) -> tuple[Agent, ...]:
    """The agents of a table. Raises BadRules with a sentence for every fault."""
    faults = [f"The agent '{row.get('code', '')}' needs a code and a name." for row in rows if not (row.get("code") and row.get("name"))]
    codes = [row.get("code", "") for row in rows]
    faults += [f"The agent '{code}' stands twice." for code in sorted({code for code in codes if codes.count(code) > 1})]
    faults += [f"The agent '{row['code']}' makes unknown work '{row['work']}'." for row in rows if row.get("work", "") not in WORKS]
    if faults:
        raise BadRules(faults)
    return tuple(Agent(row["code"], row["name"], row.get("work", ""), tuple(_parts(row.get("words", "")))) for row in rows)


def read_ambiguous(rows: Sequence[Mapping[str, str]]) -> tuple[Ambiguous, ...]:
    """The words that may mean several agents. Raises BadRules with a sentence for every fault."""
    read = tuple(Ambiguous(tuple(_parts(row.get("words", ""))), _codes(row.get("agents", ""))) for row in rows)
    faults = ["A line of words for agents needs both words and agents." for row in read if not (row.words and row.agents)]
    if faults:
        raise BadRules(faults)
    return read


def read_gate(raw: Mapping[str, Any]) -> GateNumbers:
    """The numbers and lists of the gate from their JSON. Raises BadRules with a sentence for every fault."""
    names = [field.name for field in fields(GateNumbers)]
    faults = [f"'{name}' is missing." for name in names if name not in raw]
    faults += [f"There is no '{name}' here." for name in raw if name not in names]
    if faults:
        raise BadRules(faults)
    numbers = [name for name in names if name.endswith(("_months", "_years", "_days", "_at_most"))]
    faults = [f"'{name}' is a whole number, 0 or more." for name in numbers if type(raw[name]) is not int or raw[name] < 0]
    if faults:
        raise BadRules(faults)
    shapes: dict[str, Callable[[Any], Any]] = {"deposit_kinds": tuple, "general_first": tuple, "general_last": tuple}
    return GateNumbers(**{name: shapes.get(name, frozenset)(value) if isinstance(value, list) else value for name, value in raw.items()})


def treatment_rules(
    steps: Iterable[Step], prohibitions: Iterable[Prohibition], agents: Iterable[Agent], ambiguous: Iterable[Ambiguous], gate: GateNumbers, version: str
) -> TreatmentRules:
    """The tables as one value. Raises BadRules where they do not fit each other."""
    rules = TreatmentRules(
        version=version,
        steps={step.code: step for step in steps},
        prohibitions=tuple(sorted(prohibitions, key=lambda row: row.code)),
        agents={agent.code: agent for agent in agents},
        ambiguous=tuple(ambiguous),
        gate=gate,
    )
    faults = list(_cross_faults(rules))
    if faults:
        raise BadRules(faults)
    return rules


def _cross_faults(rules: TreatmentRules) -> Iterator[str]:
    if not rules.version.strip():
        yield "The tables need a version, so that an answer can name it."
    named = [(step.code, step.agents) for step in rules.steps.values()] + [(row.code, row.agents) for row in rules.prohibitions]
    named += [(f"The line '{row.words[0]}'", row.agents) for row in rules.ambiguous]
    for code, agents in named:
        for agent in sorted(agents - set(rules.agents)):
            yield f"{code} names '{agent}', which is not among the agents."
    listed = {*rules.gate.dusting, *rules.gate.restoration, *rules.gate.general_first, *rules.gate.general_last}
    for code in sorted(listed - set(rules.steps)):
        yield f"The gate names the step {code}, which is not in the table."


def _parts(cell: str) -> list[str]:
    return [part.strip() for part in cell.split(";") if part.strip()]


def _repeated(rows: Sequence[Mapping[str, str]], start: str) -> Iterator[str]:
    codes = [row.get("code", "") for row in rows]
    for code in dict.fromkeys(codes):
        if not re.fullmatch(start + r"\d{2,4}", code):
            yield f"'{code}' is no code: it is {start} and a number of two to four figures."
        if codes.count(code) > 1:
            yield f"{code} stands twice."


def _step_faults(row: Mapping[str, str]) -> Iterator[str]:
    code = row.get("code", "")
    if row.get("kind") not in KINDS:
        yield f"{code}: the kind is one of {', '.join(KINDS)}."
    if _standing(row.get("who_may_do_it", "")) not in STANDINGS:
        yield f"{code}: who may do it is volunteer, curator or conservator only."
    for column in ("recommended_low_intervention_step", "source", "surface_codes", "term_codes"):
        if not row.get(column, "").strip():
            yield f"{code}: '{column}' is empty."
    ruled_out = {part.removesuffix(ACTIVE_MARK) for part in _parts(row.get("not_on", ""))}
    yield from _unknown(code, _parts(row.get("surface_codes", "")), {*materials(), ANY})
    yield from _unknown(code, _parts(row.get("term_codes", "")), {*terms(), ANY})
    yield from _unknown(code, ruled_out, {*materials(), *terms(), *hazards(), ONLY})
    if row.get("disputed") and _views(row["disputed"]) is None:
        yield f"{code}: a disputed row says 'for: ...; against: ...'."
    if row.get("gentle") == "yes" and row.get("competence") != "yes":
        yield f"{code}: a gentle row asks for competence."


def _prohibition_faults(row: Mapping[str, str]) -> Iterator[str]:
    code = row.get("code", "")
    if row.get("severity") not in SEVERITIES:
        yield f"{code}: the severity is one of {', '.join(SEVERITIES)}."
    for column in ("agent_or_action", "why_not", "source", "surface_codes"):
        if not row.get(column, "").strip():
            yield f"{code}: '{column}' is empty."
    parts = [part for condition in _parts(row.get("surface_codes", "")) for part in condition.split("+")]
    yield from _unknown(code, parts, {*materials(), *terms(), *hazards(), ANY, COMPOSITE})


def _unknown(code: str, said: Iterable[str], known: Iterable[str]) -> Iterator[str]:
    for word in sorted(set(said) - set(known)):
        yield f"{code} names '{word}', which is in no table of words."


def _standing(who: str) -> str:
    return who.removesuffix(" only")


def _views(text: str) -> Views | None:
    said = re.fullmatch(r"\s*for:\s*(.+?)\s*;\s*against:\s*(.+?)\s*", text, re.DOTALL)
    return Views(said[1], said[2]) if said else None


def _codes(cell: str) -> frozenset[str]:
    return frozenset(_parts(cell)) - {ANY, ONLY}


def _step(row: Mapping[str, str]) -> Step:
    return Step(
        code=row["code"],
        kind=row["kind"],
        who=_standing(row["who_may_do_it"]),
        material=row.get("material", ""),
        problem=row.get("problem", ""),
        advice=row["recommended_low_intervention_step"],
        tools=row.get("tools_materials", ""),
        reversible=row.get("reversible") == "yes",
        cautions=row.get("cautions", ""),
        source=row["source"],
        surfaces=_codes(row["surface_codes"]),
        terms=_codes(row["term_codes"]),
        any_term=ANY in _parts(row["term_codes"]),
        not_on=_codes(row.get("not_on", "")),
        only=ONLY in _parts(row.get("not_on", "")),
        agents=_codes(row.get("agents", "")),
        competence=row.get("competence") == "yes",
        gentle=row.get("gentle") == "yes",
        disputed=_views(row.get("disputed", "")),
    )


def _prohibition(row: Mapping[str, str]) -> Prohibition:
    return Prohibition(
        code=row["code"],
        severity=row["severity"],
        material=row.get("material", ""),
        what=row["agent_or_action"],
        why=row["why_not"],
        instead=row.get("instead", ""),
        source=row["source"],
        surfaces=tuple(frozenset(condition.split("+")) for condition in _parts(row["surface_codes"])),
        agents=_codes(row.get("agents", "")),
    )


def shipped_rows(name: str) -> list[dict[str, str]]:
    """The rows of a shipped table: treatment_rules, contraindications, agents or agent_words."""
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


@cache
def shipped() -> TreatmentRules:
    """The tables as shipped, read with the words as shipped."""
    with using(shipped_book()):
        return treatment_rules(
            read_steps(shipped_rows("treatment_rules")),
            read_prohibitions(shipped_rows("contraindications")),
            read_agents(shipped_rows("agents")),
            read_ambiguous(shipped_rows("agent_words")),
            read_gate(json.loads((DATA / "gate.json").read_text(encoding="utf-8"))),
            version="1",
        )
