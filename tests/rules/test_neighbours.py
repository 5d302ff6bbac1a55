"""What may share a closed box."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conservation.rules.neighbours import Clash, clashes
from conservation.rules.ruleset import shipped_rules
from conservation.rules.tables import materials

RULES = shipped_rules()
LISTS = st.sets(st.sampled_from(sorted(materials())), max_size=6)


def test_rubber_beside_brass_is_a_caution() -> None:
    assert clashes(["rubber", "leather"], ["copper_alloy", "leather"], RULES) == [Clash("sulphur", "rubber", "copper_alloy", refused=False)]


@pytest.mark.parametrize("source", ["rubber", "cork"])
@pytest.mark.parametrize("victim", ["silver_plate", "lead"])
def test_silver_or_lead_with_rubber_or_cork_is_refused(source: str, victim: str) -> None:
    assert any(clash.refused for clash in clashes([source], [victim], RULES))


@pytest.mark.parametrize(
    ("source", "victim", "vapour"),
    [
        ("felt", "silver_plate", "sulphur"),
        ("cork", "steel", "acid"),
        ("wood", "zinc_plate", "acid"),
        ("cellulose_acetate", "copper_alloy", "acid"),
        ("pvc", "phenolic", "plasticiser"),
    ],
)
def test_who_gives_off_what_and_who_suffers(source: str, victim: str, vapour: str) -> None:
    assert Clash(vapour, source, victim, refused=False) in clashes([source], [victim], RULES)


def test_steel_and_leather_may_share() -> None:
    assert clashes(["steel", "leather"], ["steel", "leather", "paint"], RULES) == []


@given(LISTS, LISTS)
def test_it_does_not_matter_who_is_asked_about_first(mine: set[str], theirs: set[str]) -> None:
    assert clashes(mine, theirs, RULES) == clashes(theirs, mine, RULES)
