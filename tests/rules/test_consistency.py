"""Whatever the society changes in its tables: what is forbidden is never what leads, and every contradiction is told."""

from datetime import date
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from conservation.rules.book import Book, using
from conservation.rules.candidates import offered
from conservation.rules.consistency import contradictions, materials_of
from conservation.rules.contraindications import Found, Surface, matching, refusing
from conservation.rules.gate import Question, decide
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.rules.treatment_tables import SEVERITIES, TreatmentRules, shipped

STEPS, ROWS, AGENTS = sorted(shipped().steps), sorted(row.code for row in shipped().prohibitions), sorted(shipped().agents)
FEW_AGENTS = st.lists(st.sampled_from(AGENTS), min_size=1, max_size=3, unique=True).map(";".join)
FEW_MATERIALS = st.lists(st.sampled_from(sorted(materials_of(shipped()))), min_size=1, max_size=3, unique=True).map(";".join)
#: table, row, and columns as a society might write them
CHANGES = st.one_of(
    st.tuples(st.just("contraindications"), st.sampled_from(ROWS), st.fixed_dictionaries({"severity": st.sampled_from(SEVERITIES)})),
    st.tuples(st.just("contraindications"), st.sampled_from(ROWS), st.fixed_dictionaries({"agents": FEW_AGENTS})),
    st.tuples(
        st.just("contraindications"), st.just("CX91"),
        st.fixed_dictionaries({"severity": st.sampled_from(SEVERITIES), "agents": FEW_AGENTS, "surface_codes": FEW_MATERIALS}),
    ),
    st.tuples(st.just("treatment_rules"), st.sampled_from(STEPS), st.fixed_dictionaries({"agents": FEW_AGENTS})),
    st.tuples(st.just("treatment_rules"), st.sampled_from(STEPS), st.fixed_dictionaries({"surface_codes": FEW_MATERIALS})),
    st.tuples(st.just("treatment_rules"), st.sampled_from(STEPS), st.fixed_dictionaries({"who_may_do_it": st.sampled_from(["curator", "conservator only"])})),
)  # fmt: skip


def changed(changes: list[tuple[str, str, dict[str, str]]]) -> TreatmentRules | None:
    """The tables with these rows of the society's; None where the program would not have stored them."""
    book = Book()
    for table, code, said in changes:
        rows = book.rows(table)
        before: dict[str, Any] = rows.get(code) or {**rows["CX73"], "instead": "ask"}
        book = book.with_row(table, code, before | said)
        if book.problems():
            return None
    with using(book):
        return treatment_rules_in_force()


@settings(max_examples=40)
@given(st.lists(CHANGES, min_size=1, max_size=4))
def test_what_is_forbidden_never_leads_and_every_contradiction_is_told(changes: list[tuple[str, str, dict[str, str]]]) -> None:
    rules = changed(changes)
    if rules is None:
        return
    told = {(one.step, one.material, one.prohibition) for one in contradictions(rules)}
    for step in rules.steps.values():
        for material in step.surfaces or {"glass", "leather"}:
            for term in step.terms:
                alone = frozenset({material})
                surface = Surface(material=material, zone_materials=alone, object_materials=alone, findings=(Found(term, 0),))
                leads = offered(term, surface, rules).leads
                if leads is not None:
                    row = refusing(matching(surface, leads.agents, rules), leads.who)
                    assert row is None, f"{leads.code} leads for {term} on {material}, where {row.code if row else ''} refuses it"
                refused = refusing(matching(surface, step.agents, rules), step.who)
                if refused is not None and not step.not_on & {term, material}:
                    assert (step.code, material, refused.code) in told
                    assert decide(asking(step.code, surface, step.who), rules).code == refused.code


def asking(step: str, surface: Surface, role: str) -> Question:
    return Question(day=date(2025, 6, 1), person="mina", role=role, zone="SH", surface=surface, zone_grade=1, zone_activity=0, step=step, screen="full")
