"""Tables of treatment that a society changed are read like the shipped ones, and every fault is told in words."""

import json
from collections.abc import Mapping

import pytest

from conservation.rules.book import DATA, BadRules
from conservation.rules.treatment_tables import (
    TreatmentRules,
    read_agents,
    read_ambiguous,
    read_gate,
    read_prohibitions,
    read_steps,
    shipped,
    shipped_rows,
    treatment_rules,
)

STEP = next(row for row in shipped_rows("treatment_rules") if row["code"] == "TR28")
PROHIBITION = shipped_rows("contraindications")[0]


@pytest.fixture(autouse=True)
def _words(db: None) -> None:
    """The words that rows name are those in force."""


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"code": "28"}, "'28' is no code"),
        ({"kind": "wash"}, "TR28: the kind is one of safe, care, clean, treat."),
        ({"who_may_do_it": "anybody"}, "TR28: who may do it"),
        ({"source": " "}, "TR28: 'source' is empty."),
        ({"surface_codes": "steal"}, "TR28 names 'steal', which is in no table of words."),
        ({"term_codes": "RUST"}, "TR28 names 'RUST'"),
        ({"not_on": "RUST_SPOT*;ASBESTUS"}, "TR28 names 'ASBESTUS'"),
        ({"disputed": "some like it"}, "TR28: a disputed row says 'for: ...; against: ...'."),
        ({"gentle": "yes", "competence": ""}, "TR28: a gentle row asks for competence."),
    ],
)
def test_a_fault_in_a_step(change: Mapping[str, str], said: str) -> None:
    with pytest.raises(BadRules) as caught:
        read_steps([{**STEP, **change}])
    assert any(said in problem for problem in caught.value.problems)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"code": "TR01"}, "'TR01' is no code"),
        ({"severity": "strict"}, "CX01: the severity is one of forbidden, conservator only, caution."),
        ({"why_not": ""}, "CX01: 'why_not' is empty."),
        ({"surface_codes": "leather+RED_RUT"}, "CX01 names 'RED_RUT'"),
    ],
)
def test_a_fault_in_a_prohibition(change: Mapping[str, str], said: str) -> None:
    with pytest.raises(BadRules) as caught:
        read_prohibitions([{**PROHIBITION, **change}])
    assert any(said in problem for problem in caught.value.problems)


def test_a_code_stands_once() -> None:
    with pytest.raises(BadRules, match="TR28 stands twice"):
        read_steps([STEP, STEP])
    with pytest.raises(BadRules, match="'wax' stands twice"):
        read_agents([{"code": "wax", "name": "wax"}] * 2)
    with pytest.raises(BadRules, match="needs a code and a name"):
        read_agents([{"code": "wax"}])
    with pytest.raises(BadRules, match="unknown work"):
        read_agents([{"code": "wax", "name": "wax", "work": "wet"}])
    with pytest.raises(BadRules, match="both words and agents"):
        read_ambiguous([{"words": "polish"}])


def test_a_table_that_names_what_another_lacks_is_told() -> None:
    with pytest.raises(BadRules, match="TR28 names 'wax', which is not among the agents"):
        put_together(agents=[row for row in shipped_rows("agents") if row["code"] != "wax"])
    with pytest.raises(BadRules, match="The gate names the step TR60"):
        put_together(steps=[row for row in shipped_rows("treatment_rules") if row["code"] != "TR60"])
    with pytest.raises(BadRules, match="need a version"):
        put_together(version=" ")


def put_together(steps: list[dict[str, str]] | None = None, agents: list[dict[str, str]] | None = None, version: str = "1") -> TreatmentRules:
    return treatment_rules(
        read_steps(steps or shipped_rows("treatment_rules")),
        read_prohibitions(shipped_rows("contraindications")),
        read_agents(agents or shipped_rows("agents")),
        read_ambiguous(shipped_rows("agent_words")),
        shipped().gate,
        version,
    )


def test_the_numbers_of_the_gate_are_whole_and_all_there() -> None:
    with pytest.raises(BadRules, match="'approval_months' is missing"):
        read_gate({})
    raw = json.loads((DATA / "gate.json").read_text(encoding="utf-8"))
    assert read_gate(raw) == shipped().gate
    with pytest.raises(BadRules, match="'competence_years' is a whole number"):
        read_gate(raw | {"competence_years": -1})
    with pytest.raises(BadRules, match="There is no 'colour' here"):
        read_gate(raw | {"colour": "red"})
