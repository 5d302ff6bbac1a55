"""What would become of each row, kept with it; and what an answered row makes."""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any, Final
from uuid import UUID, uuid5

from collection.exchange.columns import FIELD_OF, SINGLE, Way, cell_at, numbers_of, said_in
from collection.exchange.judging import Reading, Row, judge
from collection.exchange.models import ImportRow, ImportSession
from collection.exchange.reading import Line
from collection.exchange.values import date_value, size_values
from collection.exchange.words import kind_named, materials_in
from collection.objects.models import Kind, Number
from collection.objects.numbers import ObjectNumber, parse_number
from museum.history.chain import digest

#: under which the keys of rows are made
_ROWS: Final = UUID("6d1f4a0e-3f0b-5b0e-9b5c-0c6a2f6f5a11")
_AT_ONCE: Final = 2_000


def keys_of(lines: Sequence[Line]) -> list[UUID]:
    """A key for each row, made of what its cells say; of equal rows in one file the first, the second and so on."""
    times: Counter[str] = Counter()
    keys = []
    for line in lines:
        said = digest([cell.strip() for cell in line.cells])
        times[said] += 1
        keys.append(uuid5(_ROWS, f"{said} {times[said]}"))
    return keys


def kinds_by_word() -> dict[str, str]:
    """Every word for a kind, in small letters, to its code."""
    found: dict[str, str] = {}
    for code, texts in Kind.objects.filter(retired=False).values_list("code", "texts"):
        found |= {word.casefold(): code for word in (code, *texts.values())}
    return found


def look_again(session: ImportSession) -> None:
    """Judges all rows that made nothing yet, and keeps what changed."""
    rows = list(session.rows.order_by("n", "part"))
    brought = [_brought(row) for row in rows]
    given = _given(session.way, brought)
    readings = judge(session.way, brought, given, frozenset(kinds_by_word()))
    known = _known(session, [row.key for row in rows])
    changed = []
    for row, reading in zip(rows, readings, strict=True):
        if not row.settled and _judge_row(row, reading, known.get(row.key)):
            changed.append(row)
    fields = ["outcome", "reason", "findings", "object"]
    ImportRow.objects.bulk_update(changed, fields, batch_size=_AT_ONCE)


def reading_of(session: ImportSession, row: ImportRow) -> Reading:
    """The row alone, as it is read with its answers."""
    return judge(session.way, [_brought(row)], frozenset(), frozenset(kinds_by_word()))[0]


def made_by(way: Way, reading: Reading, answers: Mapping[str, Any], kinds: Mapping[str, str]) -> dict[str, Any]:
    """What the catalogue is told to make of a row: the arguments of its action, and beside them the former numbers."""
    said: dict[str, Any] = {}
    cells: dict[str, str] = {}
    for target, one in said_in(way, reading.n, reading.cells).items():
        code = FIELD_OF.get(target, target)
        said[code] = {"text": one.values[0]} if target in SINGLE else [{"text": value} for value in one.values]
        cells[code] = one.cell
    materials = [code for one in said.get(FIELD_OF["materials"], ()) for code in materials_in(one["text"])]
    said["name"] = {"text": reading.name}
    cells.setdefault("name", cells.get("title", ""))
    _read_values(way, reading, answers, said, cells)
    number = {"next_in": "temporary"} if reading.temporary else {"number": reading.number}
    return {
        "kind": _kind(way, reading, answers, kinds), "said": said, "cells": cells,
        "materials": list(dict.fromkeys(materials)), "as_written": reading.as_written, **number,
    }  # fmt: skip


def _read_values(way: Way, reading: Reading, answers: Mapping[str, Any], said: dict[str, Any], cells: dict[str, str]) -> None:
    """Puts date and sizes as they were answered in the place of the plain words."""
    if "date_made" in said:
        said["date_made"] = date_value(said["date_made"]["text"], answers.get("date") or {})
    if "dimensions" not in said:
        return
    sizes, stamps = size_values(way, reading.cells, answers.get("size") or {})
    said["dimensions"] = sizes
    if stamps:
        said["marks"] = [*said.get("marks", ()), *stamps]
        cells.setdefault("marks", cells["dimensions"])


def _kind(way: Way, reading: Reading, answers: Mapping[str, Any], kinds: Mapping[str, str]) -> str:
    told = str(answers.get("kind", ""))
    cells = (cell_at(reading.cells, column).casefold() for column in way.of("kind"))
    return told or next((kinds[cell] for cell in cells if cell in kinds), "") or kind_named(reading.name) or way.default_kind


def _brought(row: ImportRow) -> Row:
    return Row(row.n, row.cells, row.marks, row.answers, row.part)


def _given(way: Way, rows: Sequence[Row]) -> frozenset[str]:
    """Those of the rows' numbers that stand in the house."""
    texts: set[str] = set()
    for row in rows:
        answer = row.answers.get("number") or {}
        for text in (numbers_of(way, row.cells)[0], str(answer.get("text", "")).strip(), *map(str, answer.get("texts", ()))):
            read = parse_number(text) if text else None
            texts |= {text, str(read)} if isinstance(read, ObjectNumber) else {text}
    rows_of = Number.objects.filter(text__in=texts - {""}).exclude(state=Number.State.WITHDRAWN)
    return frozenset(rows_of.exclude(series="as_written", state=Number.State.FORMER).values_list("text", flat=True))


def _known(session: ImportSession, keys: Sequence[UUID]) -> dict[UUID, UUID]:
    """The rows that were brought in before, and what they made."""
    rows = ImportRow.objects.filter(key__in=keys, outcome=ImportRow.Outcome.TAKEN, object__withdrawn="")
    return {key: made for key, made in rows.exclude(session=session).values_list("key", "object") if made is not None}


def _judge_row(row: ImportRow, reading: Reading, known: UUID | None) -> bool:
    """Sets the outcome; answers whether anything changed."""
    before = (row.outcome, row.reason, row.findings, row.object_id)
    row.findings, row.object_id = [finding.plain() for finding in reading.findings], None
    if reading.skip:
        row.outcome, row.reason = ImportRow.Outcome.SKIPPED, reading.skip
    elif known is not None:
        row.outcome, row.reason, row.object_id = ImportRow.Outcome.KNOWN, "known", known
    elif reading.question is not None:
        row.outcome, row.reason = ImportRow.Outcome.QUESTION, reading.question.code
    else:
        row.outcome, row.reason = ImportRow.Outcome.NEW, ""
    return (row.outcome, row.reason, row.findings, row.object_id) != before
