"""What somebody means to do, in their own words beside a step of the tables."""

import pytest

from conservation.rules.treatment_tables import shipped
from conservation.treatments.deeds import Meant, understand

RULES = shipped()


@pytest.mark.parametrize("words", ["with polyester film, 75 micrometre", "clear polyester film 50-75 µm", "a strip of polyester film"])
def test_what_the_step_itself_names_is_known_and_measures_are(words: str) -> None:
    """The curator asks which film; the answer can be approved."""
    assert "polyester" in RULES.steps["TR18"].tools
    assert not understand(Meant(step="TR18", words=words), RULES).unknown


def test_what_the_step_does_not_name_stays_unknown() -> None:
    assert understand(Meant(step="TR14", words="polyester film"), RULES).unknown
    assert understand(Meant(words="polyester film"), RULES).unknown
    assert understand(Meant(step="TR18", words="polyester film and wonder mix"), RULES).unknown == ("wonder", "mix")


def test_an_agent_beside_what_the_step_names_is_added_all_the_same() -> None:
    deed = understand(Meant(step="TR18", words="polyester film with a drop of olive oil"), RULES)
    assert deed.added == {"dressing", "oil_film"}
    assert not deed.unknown
