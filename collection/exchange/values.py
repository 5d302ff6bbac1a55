"""Dates and sizes in cells: read by the readers of the catalogue; what can be read in two ways asks. No database.

The words are kept as they are found, whatever is answered. What cannot be read at all stays in words, and is told.
"""

import re
from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Any, Final

from collection.exchange.columns import Way, cell_at, labelled, said_in
from collection.exchange.finding import Finding
from collection.objects.dates import Question, Reading, read_date
from collection.objects.measures import IN_MM, Measure, read_measures

#: reasons of the reader of dates for which two readings are possible, and what this part calls them
TWO_READINGS: Final[Mapping[str, str]] = {
    "day_number": "serial_date", "day_month_order": "ambiguous_date", "two_digit_year": "date_two_digits", "short_year": "date_two_digits",
    "year_or_day": "date_year_or_day", "month_or_years": "date_month_or_years", "month_as_number": "date_month_or_years",
    "slash": "date_month_or_years", "no_such_day": "date_no_such_day", "letter_for_digit": "date_letter", "backwards": "date_letter",
    "decade_or_century": "date_decade_or_century", "several_dates": "date_several",
}  # fmt: skip
DATE_CODES: Final = frozenset({*TWO_READINGS.values(), "date_span", "date_words"})
SIZE_CODES: Final = frozenset({"size_disagrees", "size_stamp", "size_unnamed", "size_words"})
#: which dimension a lone figure may be
DIMENSIONS: Final = ("height", "length", "width", "circumference")
_MOST: Final = 200
# Every answer has the whole register judged again, since numbers and dittos depend on the rows above; the same words read the same each time.
_date_of = lru_cache(maxsize=20_000)(read_date)
_sizes_of = lru_cache(maxsize=20_000)(read_measures)
#: head sizes in centimetres as stamped, and hat sizes
_STAMP = re.compile(r"(?:size\s+|gr(?:öße|\.)?\s+|taille\s+)?(4[89]|5[0-9]|6[0-8]|[67]\s+[1-7]/8)", re.IGNORECASE)


def date_findings(way: Way, n: int, cells: list[str], marks: Mapping[str, str], answer: Mapping[str, Any]) -> Iterator[Finding]:
    """What is to be said of the date of a row; nothing where it is plain or answered."""
    said = said_in(way, n, cells).get("date_made")
    if said is None or answer:
        return
    text, columns = said.values[0], [column for column in way.of("date_made") if cell_at(cells, column)]
    of_a_cell = len(columns) == 1 and marks.get(str(columns[0])) == "date" and " " not in text
    read = _date_of(f"{text} 00:00" if of_a_cell else text)
    data = {"text": text[:_MOST]}
    if isinstance(read, Reading):
        if read.confirm:
            yield Finding("date_span", columns[0], False, data | {"offers": [*read.confirm, read.edtf]})
        return
    code = TWO_READINGS.get(read.why, "") if read.candidates else ""
    asks = code != ""
    yield Finding(code or "date_words", columns[0], asks, data | {"offers": list(read.candidates)} | _day(read))


def _day(read: Question) -> dict[str, str]:
    return {"day": read.candidates[0]} if read.why == "day_number" and read.candidates else {}


def size_findings(way: Way, cells: list[str], answer: Mapping[str, Any]) -> Iterator[Finding]:
    """The same of its sizes; each of several columns stands by itself."""
    for column, text in _sizes(way, cells):
        if str(column) not in answer and (found := _size(text, column)):
            yield found


def _sizes(way: Way, cells: list[str]) -> Iterator[tuple[int, str]]:
    for column in way.of("dimensions"):
        if text := cell_at(cells, column):
            yield column, labelled(way, "dimensions", column, text)


def _size(text: str, column: int) -> Finding | None:
    data: dict[str, Any] = {"text": text[:_MOST]}
    if _STAMP.fullmatch(text):
        return Finding("size_stamp", column, data=data)
    read = _sizes_of(text)
    if read.unread:
        return Finding("size_words", column, False, data)
    if read.contradictions or read.unlike:
        alone = read.measures[0] if len(read.measures) == 1 and read.contradictions else None
        return Finding("size_disagrees", column, data=data | {"measures": _both(alone) if alone else []})
    if len(read.measures) == 1 and not read.measures[0].dimension and read.measures[0].unit in IN_MM:
        one = read.measures[0]
        return Finding("size_unnamed", column, False, data | {"measures": [_plain(one)]})
    return None


def _both(one: Measure) -> list[dict[str, str]]:
    other = {"label": one.label, "value": str(one.other), "unit": one.other_unit}
    return [_plain(one), other]


def _plain(one: Measure) -> dict[str, str]:
    return {"label": one.label, "value": format(one.value, "f"), "unit": one.unit}


def date_value(text: str, answer: Mapping[str, Any]) -> dict[str, str]:
    """The date of a row as its field takes it: the words, and beside them the reading that somebody chose."""
    chosen = str(answer.get("edtf", ""))
    return {"text": text, "edtf": chosen} if chosen else {"text": text}


def size_values(way: Way, cells: list[str], answer: Mapping[str, Any]) -> tuple[list[dict[str, str]], list[dict[str, str]]]:
    """The sizes of a row as their field takes them, and those of its cells that are stamps."""
    sizes: list[dict[str, str]] = []
    stamps: list[dict[str, str]] = []
    for column, text in _sizes(way, cells):
        chosen = answer.get(str(column)) or {}
        if chosen.get("as") == "stamp":
            stamps.append({"text": text, "kind": "size"})
        else:
            sizes.append({"text": text} | {name: str(chosen[name]) for name in ("label", "value", "unit") if chosen.get(name)})
    return sizes, stamps
