"""Every row of the numbering cases (practice of small museums, collected beside them)."""

from typing import Any

import pytest

from collection.objects.numbers import NumberQuestion, ObjectNumber, RangeAnswer, expand_range, parse_number
from tests.reference.tables import reference_table

CASES: dict[str, Any] = reference_table("numbering_cases.json")


def read(text: str) -> ObjectNumber:
    number = parse_number(text)
    assert isinstance(number, ObjectNumber), number
    return number


def test_natural_order() -> None:
    assert sorted(CASES["unsorted"], key=lambda text: read(text).sort_key) == CASES["sorted"]


@pytest.mark.parametrize(("text", "key"), CASES.get("sort_key_text", {}).items())
def test_sort_key(text: str, key: str) -> None:
    assert read(text).sort_key == key


@pytest.mark.parametrize("row", CASES.get("same_number", []), ids=lambda row: repr(row["typed"]))
def test_forgiven(row: dict[str, str]) -> None:
    assert str(read(row["typed"])) == row["canonical"]


@pytest.mark.parametrize("text", CASES.get("not_a_number_ask", []))
def test_asked(text: str) -> None:
    assert isinstance(parse_number(text), NumberQuestion)


def test_date_cell_is_offered_back() -> None:
    answer = parse_number("1974-12-03 00:00:00")
    assert isinstance(answer, NumberQuestion)
    assert answer.offers == ("1974.12.3",)


@pytest.mark.parametrize("row", CASES.get("ranges", []), ids=lambda row: row["typed"])
def test_ranges(row: dict[str, Any]) -> None:
    answer: RangeAnswer = expand_range(row["typed"])
    if row["numbers"] is None:
        assert not answer.numbers
        assert answer.ask or answer.refuse
        assert bool(answer.refuse) == ("refuse" in row["note"])
    else:
        assert [str(number) for number in answer.numbers] == row["numbers"]
