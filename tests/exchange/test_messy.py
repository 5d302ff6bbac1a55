"""Spreadsheets as they come: the columns are guessed, the numbers stay as they are written, nothing breaks."""

import csv
import io

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as some
from openpyxl import Workbook

from collection.exchange import columns, judging, reading
from museum.errors import Invalid
from tests.exchange.messy import Messy, sheets

SHEETS = sheets()
ODD = ["1974.12.3", "45.10", "c. 1880", "38", "H 24 L 33 cm", "ditto", "TOTAL", '"', "=1+1", "57", "3/4/1938", "A-B"]
CELL = some.text(max_size=30) | some.sampled_from(ODD)


def read(one: Messy) -> tuple[reading.Sheet, dict[int, str]]:
    sheet = reading.read(one.data, one.name)
    return sheet, columns.guess(sheet.lines, sheet.heading)


def test_of_all_columns_at_least_95_in_100_are_guessed_right() -> None:
    """goals.md, Liked 6; a column that holds nothing at all is left out and does not count."""
    wrong: list[tuple[str, str, str, str]] = []
    total = 0
    for one in SHEETS:
        sheet, found = read(one)
        body = [line.cells for line in sheet.lines if line.n > sheet.heading]
        for column, target in enumerate(one.targets):
            if any(column < len(row) and row[column].strip() for row in body):
                total += 1
                if found[column] != target:
                    wrong.append((one.name, sheet.headings[column] if column < len(sheet.headings) else "", found[column], target))
    print(f"{total - len(wrong)} of {total} columns", wrong)
    assert total > 200
    assert len(wrong) <= total * 0.05, wrong


@pytest.mark.parametrize("one", SHEETS, ids=lambda one: str(one.name))
def test_headings_are_found_and_numbers_stay_sign_by_sign(one: Messy) -> None:
    sheet, _found = read(one)
    assert sheet.heading == one.heading
    column = one.targets.index("number")
    said = [line.cells[column] for line in sheet.lines if line.n > one.heading and column < len(line.cells) and line.cells[column]]
    assert said == one.numbers


@pytest.mark.parametrize("one", SHEETS, ids=lambda one: str(one.name))
@pytest.mark.parametrize("follow", ["grammar", "as_written"])
def test_every_row_is_judged(one: Messy, follow: str) -> None:
    sheet, found = read(one)
    way = columns.Way(sheet.headings, sheet.heading, found, follow)
    rows = [judging.Row(line.n, line.cells, line.marks, {}) for line in sheet.lines]
    readings = judging.judge(way, rows, frozenset(), frozenset())
    assert [reading.n for reading in readings] == [line.n for line in sheet.lines]


def test_a_figure_where_a_number_should_be_asks_and_text_does_not() -> None:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for number in ("45.10", 45.1, 1974.1, "0042", 42):
        sheet.append([number, "Mask"])
    sheet.cell(row=5, column=1).number_format = "0000"
    sheet.insert_rows(1)
    sheet.cell(row=1, column=1).value, sheet.cell(row=1, column=2).value = "No.", "Item"
    sheet.cell(row=6, column=1).number_format = "0000"
    out = io.BytesIO()
    book.save(out)
    found = reading.read(out.getvalue(), "a.xlsx")
    assert [line.cells[0] for line in found.lines[1:]] == ["45.10", "45.1", "1974.1", "0042", "0042"]
    way = columns.Way(found.headings, 1, {0: "number", 1: "name"}, "as_written")
    readings = judging.judge(way, [judging.Row(line.n, line.cells, line.marks, {}) for line in found.lines], frozenset(), frozenset())
    asked = [reading.question.code if reading.question else "" for reading in readings[1:]]
    assert asked == ["", "number_was_figure", "number_was_figure", "", "duplicate_number"]


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(some.lists(some.lists(CELL, max_size=6), max_size=8), some.sampled_from([",", ";", "\t"]), some.sampled_from(["utf-8", "utf-8-sig", "utf-16"]))
def test_whatever_a_table_holds_is_read_and_judged(table: list[list[str]], delimiter: str, encoding: str) -> None:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=delimiter).writerows(table)
    _through(out.getvalue().encode(encoding, errors="ignore"), "a.csv")


@settings(max_examples=200, deadline=None)
@given(some.binary(max_size=400), some.sampled_from(["a.csv", "a.xlsx", "a.xls", "a", "a.ods"]))
def test_whatever_bytes_come_are_read_or_refused_in_words(data: bytes, name: str) -> None:
    _through(data, name)
    _through(b"PK\x03\x04" + data, name)


def _through(data: bytes, name: str) -> None:
    try:
        sheet = reading.read(data, name)
    except Invalid:
        return
    targets = [one for one in columns.TARGETS if one != "ignore"]
    for mapping in (columns.guess(sheet.lines, sheet.heading), {n: targets[n % len(targets)] for n in range(20)}):
        for follow in ("grammar", "as_written"):
            way = columns.Way(sheet.headings, sheet.heading, mapping, follow)
            rows = [judging.Row(line.n, line.cells, line.marks, {}) for line in sheet.lines]
            assert len(judging.judge(way, rows, frozenset(), frozenset())) == len(rows)
