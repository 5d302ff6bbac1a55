"""Every row of the tables of treatment (sources in their column `source`): shipped as it stands, and felt when it goes.

The tables of the reference name the rows, so a row that is missing from the shipped ones fails here.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from conservation.rules.candidates import by_name, general_steps, offered
from conservation.rules.consistency import contradictions, materials_of
from conservation.rules.contraindications import Found, Surface, warnings
from conservation.rules.gate import Answer, Question, decide
from conservation.rules.grading import Hazard
from conservation.rules.leave import Approval, Competence
from conservation.rules.treatment_tables import Prohibition, Step, TreatmentRules, shipped, shipped_rows
from tests.reference.tables import reference_table

RULES = shipped()
STEP_ROWS: list[dict[str, str]] = reference_table("treatment_rules.csv")
PROHIBITION_ROWS: list[dict[str, str]] = reference_table("contraindications.csv")
DAY = date(2025, 6, 1)
#: a material to stand for all where a row speaks of any
PLAIN = "glass"


def by_code(rows: list[dict[str, str]]) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("row", rows, ids=lambda row: row["code"])


@pytest.mark.parametrize(("table", "rows"), [("treatment_rules", STEP_ROWS), ("contraindications", PROHIBITION_ROWS)])
def test_every_row_is_shipped_as_it_stands(table: str, rows: list[dict[str, str]]) -> None:
    shipped_by_code = {row["code"]: row for row in shipped_rows(table)}
    for row in rows:
        mine = shipped_by_code[row["code"]]
        assert {column: mine.get(column) for column in row} == row


def test_every_prohibition_says_what_to_do_instead() -> None:
    assert all(row.instead for row in RULES.prohibitions)


# Steps


def without_step(code: str) -> TreatmentRules:
    return replace(RULES, steps={name: step for name, step in RULES.steps.items() if name != code})


@by_code(STEP_ROWS)
def test_a_step_is_offered_where_its_row_says_and_missed_when_it_goes(row: dict[str, str]) -> None:
    terms = [term for term in row["term_codes"].split(";") if term != "any"]
    materials = [PLAIN if material == "any" else material for material in row["surface_codes"].split(";")]
    for term in terms:
        for material in materials:
            surface = lone(material, term)
            assert row["code"] in offered_codes(term, surface, RULES)
            assert row["code"] not in offered_codes(term, surface, without_step(row["code"]))
    if not terms:
        assert row["code"] in [step.code for step in by_name(RULES)]
        assert row["code"] not in [step.code for step in by_name(without_step(row["code"]))]


def offered_codes(term: str, surface: Surface, rules: TreatmentRules) -> list[str]:
    return [candidate.step.code for candidate in offered(term, surface, rules).candidates]


def lone(material: str, *terms: str) -> Surface:
    alone = frozenset({material})
    return Surface(material=material, zone_materials=alone, object_materials=alone, findings=tuple(Found(term) for term in terms))


@by_code(STEP_ROWS)
def test_with_all_papers_the_one_it_names_may_do_it_on_each_of_its_materials(row: dict[str, str]) -> None:
    step = RULES.steps[row["code"]]
    for material in sorted(step.surfaces or materials_of(RULES) - step.not_on):
        answer = decide(with_papers(step, lone(material)), RULES)
        assert answer.allowed, (row["code"], material, answer)


@by_code([row for row in STEP_ROWS if row["who_may_do_it"] != "volunteer"])
def test_nobody_below_the_one_it_names_may_do_it(row: dict[str, str]) -> None:
    step = RULES.steps[row["code"]]
    surface = lone(next(iter(sorted(step.surfaces)), PLAIN))
    below = {"curator": "volunteer", "conservator": "curator"}[step.who]
    question = replace(with_papers(step, surface), role=below, competence=())
    assert decide(question, replace(RULES, prohibitions=())).code == "ROLE"


@by_code([row for row in STEP_ROWS if row["competence"] == "yes"])
def test_a_step_that_asks_for_competence_is_refused_without(row: dict[str, str]) -> None:
    step = RULES.steps[row["code"]]
    surface = lone(next(iter(sorted(step.surfaces)), PLAIN))
    assert decide(replace(with_papers(step, surface), competence=()), RULES).code == "COMPETENCE"


@by_code([row for row in STEP_ROWS if row["gentle"] == "yes"])
def test_a_gentle_step_is_done_by_a_volunteer_who_was_shown(row: dict[str, str]) -> None:
    step = RULES.steps[row["code"]]
    question = replace(with_papers(step, lone(min(step.surfaces))), role="volunteer")
    assert decide(question, RULES).allowed
    assert decide(replace(question, competence=()), RULES).code == "ROLE"


@by_code([row for row in STEP_ROWS if row["disputed"]])
def test_a_disputed_step_shows_both_views_and_asks_for_a_reason(row: dict[str, str]) -> None:
    step = RULES.steps[row["code"]]
    question = with_papers(step, lone(min(step.surfaces)))
    answer = decide(question, RULES)
    assert answer.views is not None
    assert answer.views.pro
    assert answer.views.contra
    unreasoned = [replace(approval, reason=" ") for approval in question.approvals]
    assert decide(replace(question, approvals=unreasoned), RULES).code == "APPROVAL"


@by_code([row for row in STEP_ROWS if row["kind"] in ("clean", "treat")])
def test_a_step_that_touches_waits_for_screen_owner_deposit_and_leave(row: dict[str, str]) -> None:
    step = RULES.steps[row["code"]]
    question = with_papers(step, lone(next(iter(sorted(step.surfaces)), PLAIN)))
    assert decide(replace(question, screen="missing"), RULES).code == "SCREEN"
    assert decide(replace(question, ours=False), RULES).code == "OWNER"
    if step.who != "volunteer":
        assert decide(replace(question, approvals=()), RULES).code == "APPROVAL"


NOT_ON = [(row["code"], part) for row in STEP_ROWS for part in row["not_on"].split(";") if part not in ("", "only")]


@pytest.mark.parametrize(("code", "part"), NOT_ON, ids=[f"{code}-{part}" for code, part in NOT_ON])
def test_what_rules_a_step_out(code: str, part: str) -> None:
    """A finding, a material of the zone, or an open hazard of any level; with * only where it is not shown stable."""
    step = RULES.steps[code]
    question = with_papers(step, lone(next(iter(sorted(step.surfaces)), PLAIN)))
    alone = replace(RULES, prohibitions=())
    name, surface = part.removesuffix("*"), question.surface
    here = [replace(surface, zone_materials=surface.zone_materials | {name})] if name.islower() else []
    here += [] if name.islower() else [replace(surface, findings=(Found(name),)), replace(surface, hazards=(Hazard(name, 1),))]
    assert "UNFIT" in {decide(replace(question, surface=place), alone).code for place in here}
    if name.isupper():
        stable = replace(question, surface=replace(surface, findings=(Found(name, 0),)))
        assert decide(stable, alone).allowed == part.endswith("*")


def test_only_means_every_material_of_the_object() -> None:
    """Freezing is published for dry objects wholly of textile, leather, wood or paper (NPS Conserve O Gram 3/6)."""
    step = RULES.steps["TR42"]
    question = with_papers(step, lone("leather"))
    assert decide(question, RULES).allowed
    mixed = replace(question, surface=replace(question.surface, object_materials=frozenset({"leather", "cork"})))
    assert decide(mixed, replace(RULES, prohibitions=())).code == "UNFIT"
    assert decide(mixed, RULES).code == "CX54"


def with_papers(step: Step, surface: Surface) -> Question:
    """A question to which only the tables can say no."""
    approval = Approval(
        step=step.code,
        zone="SH",
        proposed_by="ines",
        approved_by="karl",
        approver_role="curator",
        on=date(2025, 1, 10),
        valid_to=date(2025, 12, 31),
        zone_grade=1,
        zone_activity=0,
        conservator_proposal=True,
        reason="handled by school parties; cannot be fully removed",
    )
    return Question(
        day=DAY,
        person="mina",
        role=step.who,
        zone="SH",
        surface=surface,
        zone_grade=1,
        zone_activity=0,
        step=step.code,
        screen="full",
        approvals=[approval],
        competence=[Competence(step=step.code, person="mina", shown_by="karl", on=date(2025, 1, 5))],
    )


def test_no_recommended_step_is_itself_forbidden_for_the_same_material() -> None:
    assert contradictions(RULES) == []


def test_a_change_that_forbids_what_is_recommended_is_told() -> None:
    """For instance a society that forbids the soft brush on painted steel while TR03 and TR14 recommend it."""
    changed = [replace(row, agents=row.agents | {"brush"}) if row.code == "CX56" else row for row in RULES.prohibitions]
    found = contradictions(replace(RULES, prohibitions=tuple(changed)))
    assert {(one.step, one.material, one.prohibition) for one in found} >= {("TR03", "paint", "CX56"), ("TR14", "paint", "CX56")}
    assert found[0].sentence()


@pytest.mark.parametrize("code", ["TR00", "TR01", "TR02", "TR56", "TR57", "TR58", "TR59"])
def test_what_any_object_may_have(code: str) -> None:
    assert code in [step.code for step in general_steps(RULES)]


# Prohibitions


def without_prohibition(code: str) -> TreatmentRules:
    return replace(RULES, prohibitions=tuple(row for row in RULES.prohibitions if row.code != code))


def only_prohibition(code: str) -> TreatmentRules:
    return replace(RULES, prohibitions=tuple(row for row in RULES.prohibitions if row.code == code))


def prohibition(code: str) -> Prohibition:
    return next(row for row in RULES.prohibitions if row.code == code)


def places(row: dict[str, str]) -> Iterator[Surface]:
    """For each condition of a row: the surface first of its materials, the others on the object, capitals as findings."""
    for condition in row["surface_codes"].split(";"):
        parts = condition.split("+")
        materials = [part for part in parts if part.islower() and part not in ("any", "composite")] or [PLAIN]
        around = frozenset(materials) | ({"steel"} if condition == "composite" else frozenset())
        yield Surface(
            material=materials[0],
            zone_materials=frozenset(materials[:1]),
            object_materials=around,
            findings=tuple(Found(part) for part in parts if part.isupper()),
        )


def act(surface: Surface, agent: str, role: str, **more: Any) -> Question:
    return Question(
        day=DAY,
        person="mina",
        role=role,
        zone="SH",
        surface=surface,
        zone_grade=1,
        zone_activity=0,
        agents=frozenset({agent}),
        screen="full",
        act="place",
        **more,
    )


#: result, and codes shown
Outcome = tuple[str, tuple[str, ...]]
WITH_AGENTS = [row for row in PROHIBITION_ROWS if row["agents"]]


@by_code(WITH_AGENTS)
def test_a_prohibition_by_itself_refuses_whom_it_says(row: dict[str, str]) -> None:
    """Forbidden: everybody; conservator only: all but a conservator, who is shown it; caution: shown to everybody."""
    rules = only_prohibition(row["code"])
    refused: Outcome = ("refused", ())
    shown: Outcome = ("allowed", (row["code"],))
    by_severity: dict[str, dict[str, Outcome]] = {
        "forbidden": {"volunteer": refused, "curator": refused, "conservator": refused},
        "conservator only": {"volunteer": refused, "curator": refused, "conservator": shown},
        "caution": {"volunteer": shown, "curator": shown, "conservator": shown},
    }
    for surface in places(row):
        for agent in row["agents"].split(";"):
            for role, expected in by_severity[row["severity"]].items():
                answer = decide(act(surface, agent, role), rules)
                assert (answer.result, tuple(one.code for one in answer.shows)) == expected, (surface, agent, role)


@by_code(WITH_AGENTS)
def test_a_prohibition_is_missed_when_it_goes(row: dict[str, str]) -> None:
    """With all others standing: what has happened is stored with it, and without it no longer."""
    for surface in places(row):
        for agent in row["agents"].split(";"):
            question = act(surface, agent, "curator", happened=True)
            assert row["code"] in codes(decide(question, RULES))
            assert row["code"] not in codes(decide(question, without_prohibition(row["code"])))


def codes(answer: Answer) -> list[str]:
    return [row.code for row in answer.shows]


@by_code(PROHIBITION_ROWS)
def test_a_prohibition_stands_beside_the_object_that_it_concerns(row: dict[str, str]) -> None:
    for surface in places(row):
        assert row["code"] in [one.code for one in warnings([surface], RULES)]
        assert row["code"] not in [one.code for one in warnings([surface], without_prohibition(row["code"]))]


def test_the_row_without_agents_speaks_through_the_gate_of_deposits() -> None:
    dirty = lone("paint", "SIGNIF_DEPOSIT")
    question = with_papers(RULES.steps["TR07"], dirty)
    answer = decide(question, RULES)
    assert (answer.code, answer.prohibition) == ("DEPOSIT", prohibition("CX63"))
    assert decide(question, without_prohibition("CX63")).prohibition is None


def test_the_other_side_of_a_pair_is_the_whole_object() -> None:
    """Leather that lies on brass somewhere on the object, in whatever zone: a box below 40 % does not part them (CX20)."""
    brass = Surface(material="copper_alloy", zone_materials=frozenset({"copper_alloy"}), object_materials=frozenset({"copper_alloy", "leather"}))
    assert codes(decide(act(brass, "low_rh", "curator", happened=True), RULES)) == ["CX20"]
    alone = replace(brass, object_materials=frozenset({"copper_alloy"}))
    assert codes(decide(act(alone, "low_rh", "curator", happened=True), RULES)) == []
