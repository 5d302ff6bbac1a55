"""The one entry: all answers of one object, their reasons in words, and what a person may overrule."""

import json
from dataclasses import asdict

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conservation.rules.assess import Overruled, assess
from conservation.rules.grading import Context, Hazard, Seen
from conservation.rules.reasons import SENTENCES, Reason
from conservation.rules.ruleset import shipped_rules
from tests.rules.kit import any_context, any_seen, seen

RULES = shipped_rules()


def test_a_judgement_names_the_version_of_its_rules() -> None:
    assert assess([], Context(), RULES).rules_version == RULES.version


def test_a_reason_reads_in_words() -> None:
    judgement = assess([seen("RB", "RUST_SPOT", 2, 2, 1)], Context(), RULES)
    assert judgement.grade.reasons[0].sentence() == "RB RUST_SPOT 2 %, S2, A1: grade 1"
    assert judgement.grade.reasons[0].sentence(term="rust") == "RB rust 2 %, S2, A1: grade 1"


def test_a_reason_is_translated_before_its_values_are_set() -> None:
    assert Reason("wet").sentence({"it is wet": "es ist nass"}.__getitem__) == "es ist nass"


@given(st.lists(any_seen(), max_size=4), any_context())
def test_every_answer_has_reasons_that_make_sentences_and_can_be_stored(found: list[Seen], context: Context) -> None:
    reasons = assess(found, context, RULES).reasons()
    for part in ("grade", "urgency", "full", "quick", "who"):
        assert reasons[part]
    for reason in (one for part in reasons.values() for one in part):
        assert reason.sentence()
        assert Reason(**json.loads(json.dumps(asdict(reason)))) == reason


@pytest.mark.parametrize("template", SENTENCES.values())
def test_templates_name_their_places(template: str) -> None:
    assert "%s" not in template


def test_an_overruled_grade_drives_the_intervals_and_the_computed_one_stays() -> None:
    judgement = assess([seen(percent=50)], Context(), RULES, Overruled(grade=0))
    assert (judgement.grade.grade, judgement.grade_in_force, judgement.full.days) == (2, 0, 730)
    assert [reason.code for reason in judgement.in_force_reasons] == ["overruled"]


def test_grade_and_urgency_are_overruled_each_by_itself() -> None:
    judgement = assess([seen(percent=50)], Context(), RULES, Overruled(urgency=3))
    assert (judgement.grade_in_force, judgement.urgency_in_force, judgement.who.who) == (2, 3, "conservator")


def test_a_forcing_term_is_not_overruled_by_a_number() -> None:
    judgement = assess([seen(term="PEST_LIVE")], Context(), RULES, Overruled(grade=0, urgency=0))
    assert (judgement.grade_in_force, judgement.urgency_in_force) == (3, 3)
    assert {reason.code for reason in judgement.in_force_reasons} == {"not_overruled"}


@pytest.mark.parametrize("context", [Context(wet=True), Context(hazards=[Hazard("RADIOACTIVE", 3)])])
def test_a_hold_and_wet_fix_the_urgency_and_leave_the_grade_to_people(context: Context) -> None:
    judgement = assess([seen(percent=50)], context, RULES, Overruled(grade=1, urgency=0))
    assert (judgement.grade_in_force, judgement.urgency_in_force) == (1, 3)


def test_damp_calls_for_a_look_and_a_curator() -> None:
    judgement = assess([], Context(materials=frozenset({"felt"}), damp_spells=[(79, 8)]), RULES)
    assert [reason.sentence() for reason in judgement.triggers] == ["mould check within 7 days (dose 0.64)"]
    assert judgement.who.who == "curator"


def test_new_damage_on_a_loans_return_is_looked_at_again_with_what_the_work_asks() -> None:
    context = Context(loan_return_new_damage=True, work=["damp_at_bare_iron"])
    assert assess([], context, RULES).follow_up_days == [1, 7, 30, 90, 180]
    assert assess([], Context(loan_return_new_damage=True), RULES).follow_up_days == [30]


def test_insects_call_for_the_neighbours_and_the_room() -> None:
    assert assess([seen(term="PEST_LIVE"), seen(term="DUST")], Context(), RULES).neighbours == {"PEST_LIVE": 7}


@pytest.mark.parametrize(
    ("found", "context", "who"),
    [
        ([], Context(), "volunteer"),
        ([seen(term="DUST")], Context(), "volunteer"),
        ([seen(term="SOOT")], Context(), "curator"),
        ([seen(term="RED_ROT")], Context(), "conservator"),
        ([seen(term="FIBRE_PAD_FRAY")], Context(), "licensed specialist"),
        ([seen(term="TERM_OF_LONG_AGO")], Context(), "curator"),
        ([], Context(hazards=[Hazard("LEAD", 1)]), "volunteer"),
        ([], Context(hazards=[Hazard("LEAD", 2)]), "curator"),
        ([], Context(hazards=[Hazard("ASBESTOS", 3)]), "licensed specialist"),
        ([], Context(wet=True), "conservator"),
        ([], Context(loan_return_new_damage=True), "curator"),
    ],
)
def test_who_is_needed_is_the_highest_that_anything_asks(found: list[Seen], context: Context, who: str) -> None:
    needed = assess(found, context, RULES).who
    assert needed.who == who
    assert needed.reasons
