"""Judges each row of a register: new, known, skipped, or a question that a person must answer. No database.

Nothing is guessed: what can be read in two ways, or not at all, asks. What was answered is looked at again.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from collection.exchange.amounts import amount_findings, total_findings
from collection.exchange.columns import Way, cell_at, looks_wrongly_read, numbers_of, repaired
from collection.exchange.finding import Finding
from collection.exchange.pieces import numbers_in, whole_of
from collection.exchange.values import date_findings, size_findings
from collection.exchange.words import is_ditto, is_total
from collection.objects.numbers import NumberQuestion, ObjectNumber, holds_several, parse_number

#: no cell of more letters fits a field
MOST_LETTERS: Final = 20_000
MOST_IN_A_NUMBER: Final = 200
#: what the reading of numbers asks, as this part names it
CODES: Final = {
    "looks_like_a_date": "number_is_date", "other_separator": "number_separator",
    "year_of_two_digits": "two_digit_year",
    "several_numbers": "several_numbers", "out_of_range": "number_range", "not_our_form": "not_our_form",
}  # fmt: skip
#: the questions of the number cell, answered together
NUMBER_CODES: Final = frozenset({*CODES.values(), "no_number", "part_letter", "number_was_figure", "duplicate_number", "number_taken"})
_WORDS_OF_OTHERS: Final = (
    ("on_loan_unknown", re.compile(r"\b(lent|on loan|loaned|verliehen|ausgeliehen|prêté) (to|an|à)\b", re.IGNORECASE)),
    ("returned", re.compile(r"\b(returned|zurückgegeben|rendu)\b", re.IGNORECASE)),
    ("not_ours", re.compile(r"\b(loan from|lent by|on loan|leihgabe|prêt de)\b", re.IGNORECASE)),
)


@dataclass(slots=True)
class Reading:
    """A row as it is read with the answers given so far."""

    n: int
    cells: list[str]
    name: str = ""
    number: str = ""
    as_written: bool = False
    temporary: bool = False
    former: list[str] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    #: no data row: title_row, heading_row, empty_row, total_row, left_out
    skip: str = ""

    @property
    def question(self) -> Finding | None:
        """The first thing that asks."""
        return next((finding for finding in self.findings if finding.asks), None)


@dataclass(frozen=True, slots=True)
class Row:
    """What a row brings to the judge."""

    n: int
    cells: list[str]
    marks: Mapping[str, str]
    answers: Mapping[str, Any]
    #: which of the several things of a row
    part: int = 0


def judge(way: Way, rows: Iterable[Row], given: frozenset[str], kinds: frozenset[str]) -> list[Reading]:
    """Every row, in the order of the file. `given` are numbers of the house, `kinds` the words of its kinds."""
    readings: list[Reading] = []
    seen: dict[str, int] = {}
    above = ""
    for row in rows:
        reading = _judged(way, row, above, kinds)
        if not reading.skip:
            _compare(reading, way, seen, given)
            above = reading.name or above
        readings.append(reading)
    _sum_up(way, readings)
    return readings


def _sum_up(way: Way, readings: Sequence[Reading]) -> None:
    """Each line that sums up the list, held against the rows above it."""
    for at, reading in enumerate(readings):
        if reading.skip == "total_row":
            things = {one.n: one.cells for one in readings[:at] if not one.skip}
            reading.findings += total_findings(way, reading.cells, list(things.values()))


def _judged(way: Way, row: Row, above: str, kinds: frozenset[str]) -> Reading:
    cells = [repaired(cell) for cell in row.cells] if row.answers.get("repair") else list(row.cells)
    reading = Reading(row.n, cells, skip=_no_data(way, row))
    if reading.skip:
        return reading
    _read_number(reading, way, row)
    _read_name(reading, way, row, above)
    accepted = set(row.answers.get("take", ()))
    for finding in (*_kind(way, row, cells, kinds), *_values(way, row, cells), *amount_findings(way, cells), *_others(way, cells), *_letters(way, cells)):
        reading.findings.append(Finding(finding.code, finding.column, finding.asks and finding.code not in accepted, finding.data))
    return reading


def _values(way: Way, row: Row, cells: list[str]) -> Iterator[Finding]:
    yield from date_findings(way, row.n, cells, row.marks, row.answers.get("date") or {})
    yield from size_findings(way, cells, row.answers.get("size") or {})


def _no_data(way: Way, row: Row) -> str:
    """Why a row is none of the list's; '' where it is one."""
    if row.part and not row.answers.get("part"):
        return "joined_again"
    if not any(cell.strip() for cell in row.cells):
        return "empty_row"
    if row.n <= way.heading:
        return "heading_row" if row.n == way.heading else "title_row"
    if is_total(row.cells):
        return "total_row"
    return "left_out" if row.answers.get("skip") else ""


# the number


def _read_number(reading: Reading, way: Way, row: Row) -> None:
    text, reading.former, column = numbers_of(way, reading.cells)
    answer = row.answers.get("number") or {}
    do = answer.get("do")
    if do == "temporary":
        reading.temporary, reading.former = True, [text, *reading.former] if text else reading.former
    elif do == "written" and text:
        reading.number, reading.as_written = text[:MOST_IN_A_NUMBER], True
    elif do in ("former", "split", "other") and (texts := _told(answer)):
        _take_told(reading, way, row, text, texts, column)
    else:
        _take(reading, text, _asked(way, text, column, row.marks), as_written=way.numbers_follow == "as_written")


def _told(answer: Mapping[str, Any]) -> list[str]:
    """The numbers that somebody gave as an answer."""
    texts = answer.get("texts") or [answer.get("text", "")]
    return [text for one in texts if (text := str(one).strip())]


def _take_told(reading: Reading, way: Way, row: Row, text: str, texts: list[str], column: int | None) -> None:
    """One number typed instead; or of several the first and the others as former ones; or of each part its own."""
    do = row.answers["number"]["do"]
    number = texts[max(row.part, 1) - 1] if do == "split" and row.part <= len(texts) else texts[0]
    if do == "former":
        reading.former = [*texts[1:], *reading.former]
    elif do == "other" and text and text != number:
        reading.former = [text, *reading.former]
    as_written = do != "other" and (way.numbers_follow == "as_written" or not isinstance(parse_number(number), ObjectNumber))
    _take(reading, number, None if as_written else _by_grammar(number, column), as_written=as_written)


def _take(reading: Reading, text: str, asked: Finding | None, *, as_written: bool) -> None:
    reading.number, reading.as_written = text, as_written
    if asked:
        reading.findings.append(asked)
    elif not as_written:
        reading.number = str(parse_number(text))


def _asked(way: Way, text: str, column: int | None, marks: Mapping[str, str]) -> Finding | None:
    """What is to be asked of a number cell; None where it is plain."""
    if not text:
        return Finding("no_number", column)
    mark = marks.get(str(column))
    read = parse_number(text)
    if mark == "figure" and "." in text:
        return Finding("number_was_figure", column, data={"text": text, "offers": [text, f"{text}0"]})
    if holds_several(text) and len(several := numbers_in(text)) > 1:
        return Finding("several_numbers", column, data={"text": text[:MOST_IN_A_NUMBER], "pieces": several, "offers": _wholes(way, several)})
    if mark == "date" or (isinstance(read, NumberQuestion) and read.why == "looks_like_a_date"):
        return Finding("number_is_date", column, data={"text": text, "offers": list(getattr(read, "offers", ()))})
    if way.numbers_follow == "as_written":
        if len(text) > MOST_IN_A_NUMBER:
            return Finding("too_long", column)
        return Finding("several_numbers", column, data={"text": text, "pieces": []}) if holds_several(text) else None
    return _by_grammar(text, column)


def _wholes(way: Way, several: list[str]) -> list[str]:
    """The whole that the several numbers are parts of, where numbers follow our form."""
    return [whole] if way.numbers_follow != "as_written" and (whole := whole_of(several)) else []


def _by_grammar(text: str, column: int | None) -> Finding | None:
    read = parse_number(text)
    if isinstance(read, NumberQuestion):
        code, offers = CODES.get(read.why, "no_number"), list(read.offers)
        told = {"pieces": offers} if code == "several_numbers" else {"offers": offers}
        return Finding(code, column, data={"text": text[:MOST_IN_A_NUMBER]} | told)
    if read.part:
        return Finding("part_letter", column, data={"text": text, "whole": str(read.whole), "offers": []})
    return None


def _compare(reading: Reading, way: Way, seen: dict[str, int], given: frozenset[str]) -> None:
    """The number against the rows above and against the house."""
    keys = {reading.number} if reading.number else set()
    offered = [offer for finding in reading.findings if finding.code in NUMBER_CODES for offer in finding.data.get("offers", ())]
    keys |= set(offered) if len(offered) == 1 else set()
    twice = next((key for key in sorted(keys) if key in seen), None)
    column = next(iter(way.of("number")), None)
    if twice is not None:
        reading.findings.insert(0, Finding("duplicate_number", column, data={"text": twice, "row": seen[twice], "offers": []}))
    elif reading.number in given:
        reading.findings.insert(0, Finding("number_taken", column, data={"text": reading.number, "offers": []}))
    for key in keys:
        seen.setdefault(key, reading.n)


# the other cells


def _read_name(reading: Reading, way: Way, row: Row, above: str) -> None:
    columns = way.of("name")
    text = next((cell for column in columns if (cell := cell_at(reading.cells, column))), "")
    if answered := str(row.answers.get("name", "")).strip():
        reading.name = answered
        return
    if text and is_ditto(text):
        reading.findings.append(Finding("ditto", columns[0], data={"text": text, "offers": [above] if above else []}))
        return
    if not text and way.name_from_title:
        text = next((cell for column in way.of("title") if (cell := cell_at(reading.cells, column))), "")
        if text:
            reading.findings.append(Finding("name_from_title", asks=False, data={"text": text[:200]}))
    reading.name = text
    if not text:
        reading.findings.append(Finding("no_name", next(iter(columns), None)))


def _kind(way: Way, row: Row, cells: Sequence[str], kinds: frozenset[str]) -> Iterator[Finding]:
    for column in way.of("kind"):
        said = cell_at(cells, column)
        if said and said.casefold() not in kinds and not row.answers.get("kind"):
            yield Finding("kind_unknown", column, data={"text": said[:200]})


def _others(way: Way, cells: Sequence[str]) -> Iterator[Finding]:
    """Words that say it is not ours, or not here."""
    columns = [column for target in ("credit", "remarks", "holder") for column in way.of(target)]
    for code, pattern in _WORDS_OF_OTHERS:
        found = next((column for column in columns if pattern.search(cell_at(cells, column))), None)
        if found is not None:
            yield Finding(code, found, data={"text": cell_at(cells, found)[:200]})
            return


def _letters(way: Way, cells: Sequence[str]) -> Iterator[Finding]:
    """Cells in the wrong character set, and cells that no field holds."""
    for column in (column for column, target in way.columns.items() if target != "ignore"):
        text = cell_at(cells, column)
        if len(text) > MOST_LETTERS:
            yield Finding("too_long", column)
        elif looks_wrongly_read(text):
            yield Finding("wrong_encoding", column, data={"text": text[:200], "offers": [repaired(text)[:200]]})
