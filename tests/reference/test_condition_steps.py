"""The worked cases of the condition table (an invented society): steps, prohibitions, approvals, who, hazards, follow-ups.

Codes, roles and order are compared; the sentences of the table are examples.
"""

import re
from datetime import date
from typing import Any

import pytest

from conservation.rules import contraindications, intervals
from conservation.rules.candidates import by_name, general_steps, kind_of_work, offered
from conservation.rules.gate import Deposit, Question, decide
from conservation.rules.tables import terms
from conservation.rules.treatment_tables import shipped
from conservation.rules.who import STANDINGS, standing_of
from tests.reference.condition import CASES, GIVEN, RULES, day, expecting, judged, offers_of, surface_at, surfaces_of, work_of

Case = dict[str, Any]
TABLES = shipped()
STEPS = [(case, step) for case in expecting("steps") for step in case["expected"]["steps"]]
WITH_RULE = [(case, step) for case, step in STEPS if step.get("rule")]


def each(*keys: str) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("case", expecting(*keys), ids=lambda case: case["id"])


def each_step(rows: list[tuple[Case, Case]]) -> pytest.MarkDecorator:
    return pytest.mark.parametrize(("case", "step"), rows, ids=[f"{case['id']}-{step['order']}" for case, step in rows])


@each("rows")
def test_the_rows_that_answer_each_finding_in_order_and_the_one_that_leads(case: Case) -> None:
    seen = case.get("observations", [])
    found = [
        {
            "zone": row["zone"],
            "term": offer.term,
            "rows": [candidate.step.code for candidate in offer.candidates],
            "leads": offer.leads.code if offer.leads else None,
        }
        for row, offer in zip(seen, offers_of(case), strict=True)
    ]
    assert found == case["expected"]["rows"]


@each("rows")
def test_a_finding_without_a_row_gets_the_general_steps_and_a_first_response(case: Case) -> None:
    for offer in offers_of(case):
        general = ["TR00", "TR01", "TR02", "TR56", "TR57", "TR58", "TR59"]
        assert [step.code for step in offer.general] == ([] if offer.candidates else general)
        assert terms()[offer.term].response


@each("do_not")
def test_what_is_not_to_be_done_is_among_what_is_shown(case: Case) -> None:
    shown = {row.code for row in contraindications.warnings(surfaces_of(case), TABLES)}
    assert set(case["expected"]["do_not"]) <= shown


@each_step(WITH_RULE)
def test_a_step_is_done_by_whom_its_row_names(case: Case, step: Case) -> None:
    """A case may ask for a higher one than the row, never for a lower."""
    assert STANDINGS.index(standing_of(step["who"])) >= STANDINGS.index(TABLES.steps[step["rule"]].who)


@each_step(WITH_RULE)
def test_a_step_is_among_those_that_the_program_offers(case: Case, step: Case) -> None:
    """As an answer to a finding, as a general step, or by name where a step that is offered leads on to it."""
    answers = {candidate.step.code for offer in offers_of(case) for candidate in offer.candidates}
    led_to = {code for offer in answers for code in re.findall(r"TR\d\d", TABLES.steps[offer].advice + TABLES.steps[offer].cautions)}
    general = {row.code for row in [*general_steps(TABLES), *by_name(TABLES)]}
    dusted = {"TR03"}
    assert step["rule"] in answers | led_to | general | dusted


@each_step([(case, step) for case, step in STEPS if "deposit" in step.get("blocked_until", "")])
def test_a_step_waits_for_the_decision_on_the_deposit(case: Case, step: Case) -> None:
    at = [row for row in case["observations"] if row["term"] == "SIGNIF_DEPOSIT"]
    question = asked(case, step["rule"], at[0]["material"], at, [])
    assert decide(question, TABLES).code == "DEPOSIT"
    assert decide(asked(case, step["rule"], at[0]["material"], at, [Deposit("coal_dust", "remove")]), TABLES).code != "DEPOSIT"


@each_step([(case, step) for case, step in STEPS if "hold" in step.get("blocked_until", "")])
def test_all_but_making_safe_waits_for_the_end_of_the_hold(case: Case, step: Case) -> None:
    for code, row in TABLES.steps.items():
        material = case["context"]["materials"][0]
        assert (decide(asked(case, code, material, [], []), TABLES).code == "HOLD") == (row.kind != "safe")


def asked(case: Case, step: str, material: str, rows: list[Case], deposits: list[Deposit]) -> Question:
    return Question(
        day=day(case, "checked_on") if "checked_on" in case["context"] else date(2025, 6, 1),
        person="mina",
        role="curator",
        zone="IN",
        surface=surface_at(case, material, rows),
        zone_grade=1,
        zone_activity=0,
        step=step,
        screen="full",
        deposits=deposits,
    )


@each("approval_needed")
def test_who_must_consent_stands_with_the_steps_and_with_who_is_needed(case: Case) -> None:
    """Nobody consents who stands above the highest that the case needs, or above what one of its steps asks for."""
    consenting = {standing_of(re.split(r"[:,]", line)[0]) for line in case["expected"]["approval_needed"]}
    offered_to = {candidate.step.who for offer in offers_of(case) for candidate in offer.candidates}
    highest = {judged(case).who.who, standing_of(case["expected"]["highest_role"]), *offered_to}
    assert all(STANDINGS.index(one) <= max(STANDINGS.index(other) for other in highest) for one in consenting)


@each("approval_needed")
def test_a_step_that_touches_and_is_above_a_volunteer_has_its_consent_in_the_case(case: Case) -> None:
    touching = [TABLES.steps[step["rule"]] for step in case["expected"].get("steps", []) if step.get("rule")]
    if any(step.touches and step.who == "curator" for step in touching):
        assert any(line.startswith("curator") for line in case["expected"]["approval_needed"])
    if any(step.touches and step.who == "conservator" for step in touching):
        assert any(line.startswith("conservator") for line in case["expected"]["approval_needed"])


@each("highest_role")
def test_who_is_needed(case: Case) -> None:
    assert judged(case).who.who == standing_of(case["expected"]["highest_role"])


@pytest.mark.parametrize("case", [case for case in CASES if work_of(case)], ids=lambda case: case["id"])
def test_the_steps_of_the_work_make_the_kinds_of_follow_up(case: Case) -> None:
    """The steps that clean or treat, on the finding's own surface or the paint beside it."""
    rows = case["observations"]
    kinds = set()
    for step in case["expected"]["steps"]:
        row = TABLES.steps.get(step.get("rule", ""))
        if row is not None and row.touches:
            here = next((seen for seen in rows if seen["term"] in row.terms), rows[0])
            material = "paint" if row.agents == {"damp"} else here["material"]
            surface = surface_at(case, material, [seen for seen in rows if seen["zone"] == here["zone"]])
            kinds.add(kind_of_work(row.agents, surface, TABLES, answers=here["term"]))
    wanted = set(work_of(case))
    assert wanted <= kinds
    assert intervals.follow_up_days(kinds & wanted, RULES) == case["expected"]["follow_up_days"]


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("never_a_deposit", sorted(TABLES.gate.never_a_deposit)),
        ("deposit_kinds", [*TABLES.gate.deposit_kinds]),
        ("second_person_later_days", TABLES.gate.second_later_days),
        ("standing_approval_zone_grade_at_most", TABLES.gate.standing_grade_at_most),
    ],
)
def test_numbers_of_the_gate(name: str, value: object) -> None:
    if name in GIVEN:
        assert value == GIVEN[name]


@pytest.mark.parametrize(
    ("material", "others", "term", "wanted", "leads"),
    [
        ("steel", {"paint", "leather"}, "RUST_SPOT", ["TR15", "TR14", "TR16"], "TR14"),
        ("leather", {"steel"}, "STRAP_BREAK", ["TR35", "TR36", "TR68", "TR37"], "TR35"),
    ],
)
def test_the_two_examples_of_the_text(material: str, others: set[str], term: str, wanted: list[str], leads: str) -> None:
    """Loose rust on painted steel with a leather liner: the dry box waits for the conservator. A broken strap: support first."""
    surface = contraindications.Surface(
        material=material,
        zone_materials=frozenset({material}),
        object_materials=frozenset(others | {material}),
        findings=(contraindications.Found(term),),
    )
    offer = offered(term, surface, TABLES)
    assert [candidate.step.code for candidate in offer.candidates] == wanted
    assert offer.leads == TABLES.steps[leads]
    assert [candidate.ruled_out for candidate in offer.candidates][:1] == (["CX64"] if term == "RUST_SPOT" else [None])


def test_a_lesser_step_that_is_passed_over_asks_for_a_reason() -> None:
    """The sleeve comes before the bonded splint; what is ruled out needs no reason."""
    strap = contraindications.Surface(material="leather", zone_materials=frozenset({"leather"}), object_materials=frozenset({"leather"}))
    offer = offered("STRAP_BREAK", strap, TABLES)
    assert [step.code for step in offer.passed_over("TR68")] == ["TR35", "TR36"]
    rim = contraindications.Surface(material="steel", zone_materials=frozenset({"steel"}), object_materials=frozenset({"steel", "leather"}))
    assert offered("RUST_SPOT", rim, TABLES).passed_over("TR14") == ()
