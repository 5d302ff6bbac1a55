"""Every question of the gate table (an invented society; the order of the checks is ours): result, code, what is shown."""

from typing import Any

import pytest

from conservation.rules.gate import decide
from conservation.rules.treatment_tables import shipped
from tests.reference.gate import question_of
from tests.reference.tables import reference_table

QUESTIONS: list[dict[str, Any]] = reference_table("gate_cases.json").get("gate", [])


@pytest.mark.parametrize("row", QUESTIONS, ids=lambda row: row["id"])
def test_the_gate_answers(row: dict[str, Any]) -> None:
    answer = decide(question_of(row), shipped())
    assert {"result": answer.result, "reason": answer.code, "shows": [shown.code for shown in answer.shows]} == row["expected"]


@pytest.mark.parametrize("row", [row for row in QUESTIONS if row["expected"]["result"] == "refused"], ids=lambda row: row["id"])
def test_a_refusal_says_why_what_instead_and_who_can_open_it(row: dict[str, Any]) -> None:
    answer = decide(question_of(row), shipped())
    assert answer.why
    assert answer.instead
    assert answer.why.sentence()
    assert answer.instead.sentence()
    assert answer.opens
