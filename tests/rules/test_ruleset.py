"""A rule set that a society changed is checked whole, and every fault is told in words."""

import json
from collections.abc import Callable
from typing import Any

import pytest

from conservation.rules.grading import grade_object
from conservation.rules.ruleset import BadRules, read_rules, shipped_rules
from conservation.rules.tables import DATA, materials
from tests.rules.kit import seen


def shipped() -> dict[str, Any]:
    raw: dict[str, Any] = json.loads((DATA / "rules.json").read_text(encoding="utf-8"))
    return raw


def problems_of(change: Callable[[dict[str, Any]], object]) -> tuple[str, ...]:
    raw = shipped()
    change(raw)
    with pytest.raises(BadRules) as caught:
        read_rules(raw)
    return caught.value.problems


def test_a_changed_number_changes_the_judgement_and_carries_its_version() -> None:
    rules = read_rules(shipped() | {"version": "1-tallowick-1", "extent_upper_percent": [0, 5, 10, 33, 100]})
    assert rules.version == "1-tallowick-1"
    observation = seen(percent=3, severity=3)
    assert grade_object([observation], rules).grade == grade_object([observation], shipped_rules()).grade == 2


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda raw: raw.pop("emits"), "The table 'emits' is missing."),
        (lambda raw: raw.update(colour="red"), "There is no table 'colour' here."),
        (lambda raw: raw.update(urgency=[1, 2]), "The table 'urgency' has another form than the shipped one."),
        (lambda raw: raw.update(version=" "), "The set needs a version"),
        (lambda raw: raw.update(extent_upper_percent=[0, 10, 1, 33, 100]), "rise from 0 to 100 percent"),
        (lambda raw: raw["grade_matrix"].pop(), "four rows, one a severity"),
        (lambda raw: raw["grade_matrix"][1].__setitem__(0, 0), "are 1, 2 or 3"),
        (lambda raw: raw["grade_matrix"][1].__setitem__(0, 3), "never lowers the grade"),
        (lambda raw: raw["urgency"].pop("2,1"), "The urgency of grade 2 at activity 1 is missing."),
        (lambda raw: raw["activity_floor"].pop("3"), "The urgency of grade 2 at activity 3 is missing."),
        (lambda raw: raw.update(secondary_cap=4), "'secondary_cap' has a step outside 0 to 3."),
        (lambda raw: raw["full_days_by_grade"].pop("0"), "Each grade from 0 to 3 needs its days"),
        (lambda raw: raw.update(full_days_on_hold=0), "'full_days_on_hold' has an interval that is not from 1"),
        (lambda raw: raw["follow_up_days"]["dry"].append(-3), "'follow_up_days' has an interval"),
        (
            lambda raw: raw["forcing_terms"].append("MOLD"),
            "'forcing_terms' names 'MOLD', which is in no table of words.",
        ),
        (lambda raw: raw["quick_days_by_material"].update(lether=180), "names 'lether'"),
        (lambda raw: raw["suffers"].pop("acid"), "the same list of vapours"),
        (lambda raw: raw.update(mould_look_dose=2), "The dose that asks for a look"),
    ],
)
def test_a_fault_is_told_in_words(change: Callable[[dict[str, Any]], object], said: str) -> None:
    assert any(said in problem for problem in problems_of(change))


def test_all_faults_are_told_at_once() -> None:
    assert len(problems_of(lambda raw: raw.update(secondary_cap=9, hold_level=-1, quick_days_ceiling=0))) == 3


def test_plasticiser_harms_every_plastic() -> None:
    plastics = {code for code, material in materials().items() if material.family == "plastic"}
    assert set(shipped_rules().suffers["plasticiser"]) == plastics
