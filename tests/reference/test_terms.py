"""Every row of the deterioration terms (sources in its column `source`) against the shipped table."""

import pytest

from conservation.rules.tables import terms
from tests.reference.tables import reference_table

SAME = {
    "term": "name",
    "definition": "definition",
    "materials": "materials_in_words",
    "how_to_recognise": "recognise",
    "active_or_stable_cue": "cue",
    "usual_cause": "cause",
    "first_response": "response",
    "source": "source",
    "asks": "asks",
}
ROWS = reference_table("deterioration_terms.csv")


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["code"])
def test_every_term_is_shipped_as_it_stands(row: dict[str, str]) -> None:
    shipped = terms()[row["code"]]
    assert {ours: getattr(shipped, ours) for theirs, ours in SAME.items() if theirs in row} == {
        ours: row[theirs] for theirs, ours in SAME.items() if theirs in row
    }


@pytest.mark.parametrize("row", [row for row in ROWS if row.get("materials")], ids=lambda row: row["code"])
def test_what_is_said_of_all_materials_is_offered_on_all(row: dict[str, str]) -> None:
    assert (row["materials"] == "all") == (not terms()[row["code"]].materials)
