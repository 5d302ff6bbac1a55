"""The word tables explain each other: no code points nowhere, and the screen opens what it must."""

import json
from pathlib import Path

import pytest

from conservation.rules.tables import (
    event_rules,
    hazards,
    materials,
    screen,
    suspected,
    terms,
    unanswered,
    views,
    zones,
)
from conservation.rules.who import STANDINGS

KINDS = Path(__file__).parents[2] / "collection" / "objects" / "data" / "kinds.json"
ALL_NO = {question.number: "no" for question in screen()}


def test_terms_name_materials_of_the_vocabulary_and_people_of_the_house() -> None:
    for term in terms().values():
        assert term.materials <= set(materials()), term.code
        assert term.asks in STANDINGS, term.code
        assert all([term.name, term.definition, term.recognise, term.cue, term.response, term.source]), term.code


def test_the_catalogue_and_the_rules_speak_of_the_same_zones_and_materials() -> None:
    catalogue = json.loads(KINDS.read_text(encoding="utf-8"))
    assert set(catalogue["zones"]) == set(zones())
    assert set(catalogue["materials"]) == set(materials())


@pytest.mark.parametrize("material", sorted(set(materials()) - {"glass"}))
def test_every_material_has_terms_of_its_own(material: str) -> None:
    assert any(term.materials and term.fits([material]) for term in terms().values())


def test_every_hazard_says_where_what_and_who() -> None:
    for hazard in hazards().values():
        assert all([hazard.where, hazard.clue, hazard.do, hazard.do_not, hazard.who, hazard.source]), hazard.code
        assert 1 <= hazard.level <= 3


@pytest.mark.parametrize("code", ["RADIOACTIVE", "AMMUNITION", "MERCURY_LIQUID"])
def test_held_at_once(code: str) -> None:
    assert hazards()[code].level == 3


def test_ten_questions_that_open_known_hazards() -> None:
    assert [question.number for question in screen()] == [str(n) for n in range(1, 11)]
    for question in screen():
        for asked in (question, question.closer):
            assert asked is None or (asked.opens and {code for code, _ in asked.opens} <= set(hazards()))


def test_ten_times_no_opens_nothing() -> None:
    assert suspected(ALL_NO) == {}


@pytest.mark.parametrize("question", screen(), ids=lambda question: question.number)
def test_unsure_counts_as_suspected(question: object) -> None:
    number = question.number  # type: ignore[attr-defined]
    assert suspected(ALL_NO | {number: "unsure"}) == suspected(ALL_NO | {number: "yes"}) != {}


@pytest.mark.parametrize(
    ("answers", "opened"),
    [
        ({"1": "yes", "1a": "yes"}, {"ASBESTOS": 3}),
        ({"1": "yes", "1a": "unsure"}, {"ASBESTOS": 3}),
        ({"1": "yes"}, {"ASBESTOS": 3}),
        ({"1": "yes", "1a": "no"}, {"ASBESTOS": 1}),
        ({"1": "no", "1a": "yes"}, {"ASBESTOS": 3}),
        ({"1": "no", "1a": "no"}, {}),
        ({"9": "no", "9a": "unsure"}, {"SHARP_HEAVY": 1, "AMMUNITION": 3}),
        ({"9": "yes", "9a": "no"}, {"SHARP_HEAVY": 1}),
        ({"9": "yes", "9a": "yes"}, {"SHARP_HEAVY": 1, "AMMUNITION": 3}),
        ({"3": "unsure"}, {"RADIOACTIVE": 3}),
        ({"4": "yes", "5": "unsure"}, {"PESTICIDE": 1, "MERCURY_FELT": 1}),
    ],
)
def test_what_the_answers_open(answers: dict[str, str], opened: dict[str, int]) -> None:
    """Fibre that is seen is held, where only the type of object speaks for it level 1; a flare is held, a lamp not. What was seen goes before a ‘no’."""
    assert suspected(ALL_NO | answers) == opened


def test_a_closer_question_is_asked_only_where_its_own_was_not_denied() -> None:
    assert unanswered({}) == [question.number for question in screen()]
    assert unanswered(ALL_NO) == []
    assert unanswered(ALL_NO | {"1": "unsure", "9": "yes", "9a": "no"}) == ["1a"]


def test_fourteen_views_of_which_a_loan_needs_twelve_and_one_for_each_finding() -> None:
    assert list(views()) == [f"V{n:02d}" for n in range(1, 15)]
    assert [view.code for view in views().values() if view.loan_minimum == "yes"] == [f"V{n:02d}" for n in range(1, 13)]
    assert views()["V13"].loan_minimum == "each finding"


@pytest.mark.parametrize(
    ("code", "days", "room_days", "damp_only"),
    [
        ("leak", 0, None, False),
        ("insects", 0, 7, False),
        ("shock", 0, None, False),
        ("arrived", 28, None, False),
        ("damp", 7, None, True),
        ("damp_long", 0, None, True),
    ],
)
def test_events_and_when_to_look(code: str, days: int, room_days: int | None, damp_only: bool) -> None:
    event = event_rules()[code]
    assert (event.days, event.room_days, event.damp_only) == (days, room_days, damp_only)
