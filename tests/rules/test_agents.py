"""What people write for what they would use. The lists of words are ours."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conservation.rules.agents import one_letter_apart, understood
from conservation.rules.contraindications import Surface, matching, refusing
from conservation.rules.treatment_tables import shipped

RULES = shipped()


@pytest.mark.parametrize(
    ("text", "agents"),
    [
        ("bleach", {"bleach"}),
        ("a little household bleach", {"bleach"}),
        ("Chlorbleiche", {"bleach"}),
        ("eau de Javel", {"bleach"}),
        ("olive oil", {"dressing", "oil_film"}),
        ("oils", {"dressing", "oil_film"}),
        ("Öl", {"dressing", "oil_film"}),
        ("huile de lin", {"dressing", "oil_film"}),
        ("leather dressings", {"dressing"}),
        ("Lederfett", {"dressing"}),
        ("wire brush", {"wire"}),
        ("Stahlwolle", {"wire", "abrasive"}),
        ("damp cloth", {"damp"}),
        ("wet cloth", {"water", "wipe"}),
        ("Lappen mit Essig", {"cloth", "acid"}),
        ("soft brushes and a kneaded eraser", {"brush", "eraser"}),
        ("chiffon humide", {"damp"}),
        ("pva_on_original", {"pva_on_original"}),
    ],
)
def test_words_that_are_known(text: str, agents: set[str]) -> None:
    found = understood(text, RULES)
    assert (set(found.agents), found.guesses, found.ask_the_curator) == (agents, (), False)


@pytest.mark.parametrize(
    ("text", "taken_for"),
    [("bleech", "bleach"), ("blaech", "bleach"), ("vinagar", "vinegar"), ("Sekundenklebr", "sekundenkleber"), ("spunge", "sponge")],
)
def test_one_wrong_letter_is_a_guess_that_is_said(text: str, taken_for: str) -> None:
    found = understood(text, RULES)
    assert [guess.taken_for for guess in found.guesses] == [taken_for]
    assert found.agents


@pytest.mark.parametrize("text", ["household cleaner", "household cleaners", "cleaner", "Allzweckreiniger", "nettoyant ménager", "polish", "glue", "soap"])
def test_words_that_may_mean_several_things_count_as_all_of_them(text: str) -> None:
    found = understood(text, RULES)
    assert len(found.agents) > 1
    leather = Surface(material="leather", zone_materials=frozenset({"leather"}), object_materials=frozenset({"leather"}))
    assert refusing(matching(leather, found.agents, RULES), "curator")


@pytest.mark.parametrize("text", ["ultrasound", "unicorn spray", "brush with ultrasound", "moon dust", "oul", "", "a little", "42"])
def test_what_nobody_knows_goes_to_the_curator(text: str) -> None:
    assert understood(text, RULES).ask_the_curator


def test_what_is_known_beside_what_is_not_is_still_told() -> None:
    found = understood("bleach and stardust", RULES)
    assert (set(found.agents), found.unknown) == ({"bleach"}, ("stardust",))


@pytest.mark.parametrize("code", sorted(RULES.agents))
def test_every_agent_is_understood_by_its_own_name_and_words(code: str) -> None:
    assert understood(code.replace("_", " "), RULES).agents
    for words in RULES.agents[code].words:
        found = understood(words, RULES)
        assert found.agents, words
        assert not found.unknown, words


@given(st.text(max_size=40))
def test_anything_typed_is_either_understood_or_asked_about(text: str) -> None:
    found = understood(text, RULES)
    assert found.agents <= set(RULES.agents)
    assert found.ask_the_curator or found.agents


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [
        ("bleach", "bleech", True),
        ("bleach", "blech", True),
        ("bleach", "bleaach", True),
        ("bleach", "lbeach", True),
        ("bleach", "bleach", False),
        ("bleach", "belech", False),
        ("bleach", "breech", False),
    ],
)
def test_one_letter(one: str, other: str, apart: bool) -> None:
    assert one_letter_apart(one, other) == apart == one_letter_apart(other, one)
