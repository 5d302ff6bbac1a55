"""Reads a register as it lies in a file: CSV or XLSX into rows of text, with what was noticed on the way.

Nothing is changed on the way but control characters, which no cell needs. A date cell becomes its ISO day and
is marked, a figure its shortest decimal writing and is marked, a formula its last value or, where the file holds
none, the formula itself and is marked.
"""

import csv
import io
import re
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, time
from itertools import islice
from typing import Any, Final

from django.utils.translation import gettext_lazy as _
from openpyxl import load_workbook
from openpyxl.utils.exceptions import InvalidFileException

from collection.exchange.words import target_called
from museum.errors import Invalid

MOST_BYTES: Final = 20 * 1024 * 1024
#: a workbook is packed; this is what it may be unpacked
MOST_UNPACKED: Final = 64 * 1024 * 1024
MOST_ROWS: Final = 20_000
MOST_COLUMNS: Final = 200
MOST_IN_A_CELL: Final = 100_000
#: the heading row is looked for among so many
HEADING_AMONG: Final = 20
DELIMITERS: Final = (",", ";", "\t", "|")
ENCODING_WORDS: Final = {"utf-8": "UTF-8", "utf-16": "UTF-16", "cp1252": "Windows-1252", "latin-1": "ISO 8859-1"}
#: the beginning of declarations in a part of a workbook, in either width of letters
_DECLARES: Final = (b"<!DOCTYPE", "<!DOCTYPE".encode("utf-16-le"), "<!DOCTYPE".encode("utf-16-be"))
#: how files begin that are chosen in place of a list: PDF, PNG, JPEG, GIF
_NO_LISTS: Final = (b"%PDF-", b"\x89PNG", b"\xff\xd8\xff", b"GIF8")
#: control characters but line ends and tabs
_CONTROLS = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


@dataclass(slots=True)
class Line:
    """One row of the file: its number as in the file from 1, its cells, and marks by column: date, figure, formula."""

    n: int
    cells: list[str]
    marks: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Sheet:
    """A register as read."""

    lines: list[Line]
    heading: int
    encoding: str = ""
    delimiter: str = ""
    sheets: tuple[str, ...] = ()
    sheet: str = ""

    @property
    def headings(self) -> list[str]:
        """The cells of the heading row."""
        return next((line.cells for line in self.lines if line.n == self.heading), [])


def read(data: bytes, name: str, *, sheet: str = "") -> Sheet:
    """The register in these bytes; `sheet` names one of a workbook's. Raises Invalid with what to do about it."""
    if not data:
        raise Invalid(_("The file is empty."), field="file")
    demand_size(len(data))
    found = _workbook(data, sheet) if data[:4] == b"PK\x03\x04" else _text(data, name)
    if not any(any(line.cells) for line in found.lines):
        raise Invalid(_("There are no rows in the file."), field="file")
    if found.heading and not any(any(cell.strip() for cell in line.cells) for line in found.lines if line.n > found.heading):
        raise Invalid(_("The file holds headings in row %(n)s and no row below them."), field="file", n=found.heading)
    return found


def demand_size(size: int) -> None:
    """Refuses what is larger than is read, before it is read."""
    if size > MOST_BYTES:
        told = _("The file is larger than %(most)s MB. Split the list, or take pictures out of it.")
        raise Invalid(told, field="file", most=MOST_BYTES // 1024 // 1024)


# CSV


def _text(data: bytes, name: str) -> Sheet:
    if data[:4] == b"\xd0\xcf\x11\xe0" and "EncryptedPackage".encode("utf-16-le") in data:
        raise Invalid(_("This spreadsheet is protected by a password. Open it, save it without the password and send that."), field="file")
    if name.lower().endswith((".xls", ".ods")) or data[:4] == b"\xd0\xcf\x11\xe0":
        raise Invalid(_("This is a spreadsheet of another kind. Save it as XLSX or CSV and send that."), field="file")
    if data.startswith(_NO_LISTS):
        raise Invalid(_("This is a PDF or a picture, and no list. Save the list itself as XLSX or CSV and send that."), field="file")
    text, encoding = decoded(data)
    _demand_text(text)
    delimiter = _delimiter(text)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    lines = [Line(n, cells) for n, cells in enumerate(_bounded(_csv_rows(reader)), 1)]
    return Sheet(lines, heading_of(lines), ENCODING_WORDS[encoding], delimiter)


def decoded(data: bytes) -> tuple[str, str]:
    """The text and the character set that it was read in: the first that fits."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", errors="replace"), "utf-16"
    for encoding in ("utf-8", "cp1252"):
        try:
            return data.decode(encoding).removeprefix("\ufeff"), encoding
        except UnicodeDecodeError:
            continue
    return data.decode("latin-1"), "latin-1"


def _demand_text(text: str) -> None:
    """A NUL stands in no text: the file is damaged or of another kind, and where it stands is said."""
    at = text.find("\x00")
    if at < 0:
        return
    line, before = text.count("\n", 0, at) + 1, text[:at].rsplit("\n", 1)[-1]
    raise Invalid(
        _("Line %(n)s holds a sign that stands in no text, after “%(before)s”. The file is damaged, or no list; save it anew as CSV and send that."),
        field="file", n=line, before=before[-40:],
    )  # fmt: skip


def _delimiter(text: str) -> str:
    """The one that cuts the first rows into most columns, most evenly."""
    head = text[:50_000]

    def evenness(delimiter: str) -> tuple[int, int]:
        try:
            rows = list(islice(csv.reader(io.StringIO(head, newline=""), delimiter=delimiter), 50))
        except csv.Error:
            return 0, 0
        width, times = Counter(len(row) for row in rows).most_common(1)[0] if rows else (1, 0)
        return (times if width > 1 else 0), width

    return max(DELIMITERS, key=evenness)


def _csv_rows(reader: Iterable[list[str]]) -> Iterator[list[str]]:
    rows = iter(reader)
    n = 0
    while True:
        n += 1
        try:
            row = next(rows)
        except StopIteration:
            return
        except csv.Error:
            raise _too_much_in_a_cell(n) from None
        yield [_clean(cell, n, column) for column, cell in enumerate(row)]


# XLSX


def _workbook(data: bytes, sheet: str) -> Sheet:
    """Read twice, for the values and for the formulas, row beside row."""
    _demand_bounded(data)
    try:
        values = load_workbook(io.BytesIO(data), read_only=True, data_only=True, keep_links=False)
        formulas = load_workbook(io.BytesIO(data), read_only=True, keep_links=False)
        names = tuple(page.title for page in values.worksheets)
        chosen = sheet if sheet in names else names[0]
        rows = zip(values[chosen].iter_rows(), formulas[chosen].iter_rows(), strict=True)
        lines = list(_lines(rows))
    except Invalid:
        raise
    except (
        InvalidFileException,
        zipfile.BadZipFile,
        KeyError,
        ValueError,
        IndexError,
        SyntaxError,
        OSError,
        TypeError,
        AttributeError,
        EOFError,
        zlib.error,
        NotImplementedError,
        RuntimeError,
    ):
        raise Invalid(
            _("The spreadsheet cannot be read; the file may be damaged. Open it, save it again and send that."),
            field="file",
        ) from None
    return Sheet(lines, heading_of(lines), sheets=names, sheet=chosen)


def _demand_bounded(data: bytes) -> None:
    """No more than can be read in bounded memory, and no part with declarations of its own, by which a text can swell."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            parts = packed.infolist()
            if sum(part.file_size for part in parts) > MOST_UNPACKED:
                raise Invalid(_("The spreadsheet is too large when unpacked. Save the list alone as CSV and send that."), field="file")
            declares = any(sign in packed.read(part) for part in parts for sign in _DECLARES)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, ValueError, OSError):
        raise Invalid(_("The file is damaged. Send it again."), field="file") from None
    if declares:
        raise Invalid(_("The spreadsheet holds what no spreadsheet program writes; it is not read. Save the list as CSV and send that."), field="file")


def _lines(rows: Iterable[tuple[Any, Any]]) -> Iterator[Line]:
    """The rows up to the last that holds something."""
    waiting: list[Line] = []
    for n, (values, formulas) in enumerate(rows, 1):
        line = Line(n, [])
        for column, (value, formula) in enumerate(zip(values, formulas, strict=False)):
            text, mark = _cell(value.value, formula.value, getattr(value, "number_format", "") or "")
            line.cells.append(_clean(text, n, column))
            if mark:
                line.marks[str(column)] = mark
        while line.cells and not line.cells[-1]:
            line.cells.pop()
        _demand_few(n if line.cells else 0, line.cells)
        waiting.append(line)
        if len(waiting) > MOST_ROWS and not line.cells:
            break
        if line.cells:
            yield from waiting
            waiting = []


def _cell(value: Any, formula: Any, form: str) -> tuple[str, str]:
    """A cell as text, and what it was."""
    if isinstance(formula, str) and formula.startswith("=") and value is None:
        return formula, "formula"
    if value is None:
        return "", ""
    if isinstance(value, (datetime, date)):
        day = value.date() if isinstance(value, datetime) and value.time() == time() else value
        return day.isoformat(), "date"
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return _figure(value, form), "figure"
    return str(value), ""


def _figure(value: float, form: str) -> str:
    """A figure as its cell shows it where that is zeros only, '0.00' or '0000'; else in its shortest writing."""
    whole, _point, places = form.partition(".")
    if isinstance(value, float) and places and set(places) == {"0"}:
        return f"{value:.{len(places)}f}"
    text = f"{value:.15g}" if isinstance(value, float) else str(value)
    return text.zfill(len(whole)) if set(whole) == {"0"} and not places else text


# both


def heading_of(lines: list[Line]) -> int:
    """The number of the row that most looks like headings: cells of known names count thrice; 0 where none does."""
    best, row = 1, 0
    for line in lines[:HEADING_AMONG]:
        filled = [cell for cell in line.cells if cell.strip()]
        known = sum(1 for cell in filled if target_called(cell))
        plain = all(len(cell) < 60 and not cell.strip()[0].isdigit() for cell in filled)
        points = 3 * known + len(filled) if plain and known else 0
        if points > best:
            best, row = points, line.n
    return row


def _bounded(rows: Iterable[list[str]]) -> Iterator[list[str]]:
    for n, row in enumerate(rows, 1):
        _demand_few(n, row)
        yield row


def _demand_few(n: int, row: list[str]) -> None:
    if n > MOST_ROWS:
        raise Invalid(
            _("The list has more than %(most)s rows. Split it and bring in the parts one by one."),
            field="file",
            most=MOST_ROWS,
        )
    if len(row) > MOST_COLUMNS:
        raise Invalid(_("Row %(n)s has more than %(most)s columns. Is this the right file?"), field="file", n=n, most=MOST_COLUMNS)


def _clean(cell: str, n: int, column: int) -> str:
    if len(cell) > MOST_IN_A_CELL:
        raise _too_much_in_a_cell(n, column)
    return _CONTROLS.sub("", cell)


def _too_much_in_a_cell(n: int, column: int | None = None) -> Invalid:
    where = _("Row %(n)s, column %(column)s") if column is not None else _("Row %(n)s")
    told = _("%(where)s: a cell holds more than a page of a book. A quotation mark may be missing before it; repair the file and send it again.")
    return Invalid(told, field="file", where=str(where) % {"n": n, "column": (column or 0) + 1}, n=n)
