"""Dates in words: every case of the table, EDTF against a library, two museums' own dates with the score reached."""

import re
from typing import Any

import pytest
from edtf import parse_edtf

from collection.objects.dates import SHIPPED, Question, Reading, bounds, conventions, read_date
from collection.objects.dates.normal import normal
from tests.reference.tables import reference_table

CASES: dict[str, Any] = reference_table("date_cases.json")
HOUSE = conventions({"about_years": CASES["about_width_years"]}) if "about_width_years" in CASES else SHIPPED
ROWS: list[dict[str, Any]] = CASES.get("cases", [])


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["text"])
def test_read(row: dict[str, Any]) -> None:
    read = read_date(row["text"], HOUSE)
    assert isinstance(read, Reading), read
    assert read.edtf == row["edtf"]
    assert [day and str(day) for day in (read.earliest, read.latest)] == [row["earliest"], row["latest"]]


@pytest.mark.parametrize("row", CASES.get("must_ask_a_person", []), ids=lambda row: row["text"])
def test_asked(row: dict[str, Any]) -> None:
    asked = read_date(row["text"], HOUSE)
    assert isinstance(asked, Question), asked
    assert list(asked.candidates) == row["candidates"]


@pytest.mark.parametrize(("name", "edtf"), CASES.get("periods", {}).items())
def test_periods(name: str, edtf: str) -> None:
    read = read_date(name, HOUSE)
    assert isinstance(read, Reading)
    assert read.edtf == edtf


@pytest.mark.parametrize("edtf", [row["edtf"] for row in ROWS if row["edtf"]])
def test_the_library_accepts_what_we_write_and_finds_the_same_days(edtf: str) -> None:
    """Where its answer is not one of its known faults: unknown starts, winter, no width for 'about'."""
    theirs = parse_edtf(edtf)
    if edtf.startswith("/") or ".." in edtf.split("/") or edtf.endswith("-24"):
        return
    ours = bounds(edtf, conventions({"about_years": 0}))
    for day, their in zip(ours, (theirs.lower_strict(), theirs.upper_strict()), strict=True):
        assert day is None or tuple(day) == tuple(their)[:3]


# Two museums' dates ------------------------------------------------------------------------------------------------

#: forms whose width is a convention of the house: the core must lie inside
CONVENTIONAL = re.compile(r"\b(about|early|mid|late|before|after|later|earlier|by|probably)\b|\?")
#: forms counted 00 to 99 by one house and 01 to 00 by another: one year off at each end is the same reading
COUNTED = re.compile(r"\b(century|millennium|half|quarter|third)\b")


def _historical(year: int) -> int:
    """Without a year 0: 400 BC is -400."""
    return year if year > 0 else year - 1


def _agrees(read: Reading, text: str, earliest: int, latest: int) -> bool:
    words = normal(text, SHIPPED)
    off = 1 if COUNTED.search(words) else 0
    plain = bounds(read.edtf or "", conventions({"about_years": 0}))
    first, last = (_historical(day.year) if day else None for day in plain)
    if CONVENTIONAL.search(words):
        ends = [year for year in (first, last) if year is not None]
        return earliest - 1 <= sum(ends) / len(ends) <= latest + 1
    return first is not None and last is not None and abs(first - earliest) <= off and abs(last - latest) <= off


def _outcome(row: dict[str, str]) -> str:
    read = read_date(row["text"])
    years = int(row["earliest_year"]), int(row["latest_year"])
    if isinstance(read, Question):
        offered = (Reading(row["text"], edtf, *bounds(edtf)) for edtf in read.candidates)
        return "asked, right one offered" if any(_agrees(o, row["text"], *years) for o in offered) else "asked"
    return "read" if read.edtf and _agrees(read, row["text"], *years) else "other years"


def _score(rows: list[dict[str, str]]) -> dict[str, int]:
    outcomes = [_outcome(row) for row in rows]
    return {name: outcomes.count(name) for name in ("read", "asked, right one offered", "asked", "other years")}


#: what was reached on the 408 rows without a contradiction. Of the rest most are asked because the house asks: a '?'
#: or 'about' on more than one plain date, months in figures, years of a design or a casting, words beside. Where other
#: years were read than the museum has, the text says ours: its reasons, or its thirds and quarters, are not in it
REACHED = {
    "exact forms": {"read": 156, "asked, right one offered": 27, "other years": 14},
    "forms with a convention": {"read": 132, "asked, right one offered": 49, "other years": 3},
}


def test_real_dates() -> None:
    """Exact forms strictly, forms with a convention by 'the core lies inside': the score reached does not fall."""
    rows = [row for row in reference_table("real_dates.csv") if row["status"] == "ok"]
    forms: dict[str, list[dict[str, str]]] = {name: [] for name in REACHED}
    for row in rows:
        form = "forms with a convention" if CONVENTIONAL.search(normal(row["text"], SHIPPED)) else "exact forms"
        forms[form].append(row)
    for name, part in forms.items():
        score = _score(part)
        print(f"{name}: {len(part)} rows, {score}")
        if len(rows) == 408:
            assert score["read"] >= REACHED[name]["read"]
            assert score["asked, right one offered"] + score["read"] >= sum(REACHED[name][kind] for kind in ("read", "asked, right one offered"))
            assert score["other years"] <= REACHED[name]["other years"]


@pytest.mark.parametrize("status", ["contested", "composite", "suspect", "undated"])
def test_every_real_date_has_an_answer(status: str) -> None:
    for row in reference_table("real_dates.csv"):
        if row["status"] == status:
            read = read_date(row["text"])
            assert read.text == row["text"]
            assert isinstance(read, Question) or status != "composite"
