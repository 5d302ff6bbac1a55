"""Bytes of a file as lines of cells: encodings, marks of order, line ends, delimiters, workbooks."""

import csv
import io
import re
import zipfile
from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any, Final

from openpyxl import load_workbook

from locations.climate.files.forms import Unreadable

#: between cells of what had to be taken apart cell by cell
BETWEEN: Final = "\x1f"
DELIMITERS: Final = ("\t", ";", "|", ",")
MARKS: Final = ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))
LOOKED_AT: Final = 200
#: no logger writes more than this
MOST_BYTES: Final = 300_000_000
#: what lies behind the end of a file whose room was taken before it was written, and the mark of its end on old machines
PADDING: Final = b"\x00\x1a"
NO_TEXT: Final = re.compile("[\x00-\x08\x0e-\x1e]")


@dataclass(frozen=True, slots=True)
class Sheet:
    """Lines, each ended by a line feed, of cells with `delimiter` between them, as UTF-8. `cut`: the last line had no end."""

    data: bytes
    delimiter: str
    cut: bool


def load(data: bytes) -> Sheet:
    """The cells of a file. Raises Unreadable: `empty`, `too_large`, `not_text`, `not_a_workbook`."""
    if len(data) > MOST_BYTES:
        raise Unreadable("too_large", megabytes=MOST_BYTES // 1_000_000)
    if data.startswith(b"PK\x03\x04"):
        return _of_workbook(data)
    plain = _lines(data).rstrip(PADDING)
    cut = not plain.endswith(b"\n")
    head = plain[:40_000].decode("utf-8", "ignore").split("\n")[:LOOKED_AT]
    if not any(line.strip() for line in head) and not plain.decode("utf-8").strip():
        raise Unreadable("empty")
    delimiter = sniffed(head)
    if b'"' in plain or delimiter == " ":
        return Sheet(_apart(plain.decode("utf-8"), delimiter), BETWEEN, cut)
    return Sheet(plain if not cut else plain + b"\n", delimiter, cut)


def _lines(data: bytes) -> bytes:
    """UTF-8 with line feeds."""
    if NO_TEXT.search(data[:4_000].decode("latin-1")) is None and b"\r" not in data and not data.startswith(MARKS[0][0]) and _is_utf8(data):
        return data
    text = decoded(data).rstrip("\x00\x1a").replace("\r\n", "\n").replace("\r", "\n")
    if (found := NO_TEXT.search(text)) is not None:
        raise Unreadable("not_text", line=text.count("\n", 0, found.start()) + 1)
    return text.encode("utf-8")


def _is_utf8(data: bytes) -> bool:
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def decoded(data: bytes) -> str:
    """As its mark says, else UTF-8, else what western machines write."""
    encodings = [(name, len(mark)) for mark, name in MARKS if data.startswith(mark)] or [*_unmarked(data), ("utf-8", 0), ("cp1252", 0)]
    for name, skipped in encodings:
        try:
            return data[skipped:].decode(name)
        except UnicodeDecodeError:
            continue
    raise Unreadable("not_text")


def _unmarked(data: bytes) -> list[tuple[str, int]]:
    """Of two bytes a letter without a mark every other byte is zero; zeros behind the end say nothing."""
    some = data[:200].rstrip(b"\x00")
    odd, even = some[1::2].count(0), some[0::2].count(0)
    if max(odd, even) * 4 < len(some):
        return []
    return [("utf-16-le" if odd > even else "utf-16-be", 0)]


def sniffed(lines: list[str]) -> str:
    """What stands between cells: what most lines have, and most of them equally often; of several the one that is no decimal sign."""
    filled = [line for line in lines if line.strip()]
    if not filled:
        return " "
    for delimiter in DELIMITERS:
        times, share = Counter(line.count(delimiter) for line in filled[len(filled) // 3 :]).most_common(1)[0]
        if times and share * 5 >= (len(filled) - len(filled) // 3) * 3:
            return delimiter
    return " "


def _apart(text: str, delimiter: str) -> bytes:
    """Cell by cell, where there are quotation marks or only spaces between."""
    if delimiter == " ":
        return "".join(f"{BETWEEN.join(line.split())}\n" for line in text.removesuffix("\n").split("\n")).encode()
    try:
        rows = csv.reader(io.StringIO(text), delimiter=delimiter)
        return "".join(f"{BETWEEN.join(row)}\n" if "\n" not in "".join(row) else f"{BETWEEN.join(map(_one_line, row))}\n" for row in rows).encode()
    except csv.Error as error:
        raise Unreadable("not_text") from error


def _one_line(cell: str) -> str:
    return " ".join(cell.split())


def _of_workbook(data: bytes) -> Sheet:
    """The first sheet that has anything."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if sum(one.file_size for one in packed.infolist()) > MOST_BYTES:
                raise Unreadable("too_large", megabytes=MOST_BYTES // 1_000_000)
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        for sheet in book.worksheets:
            lines = [BETWEEN.join(map(_told, row)) for row in sheet.iter_rows(values_only=True)]
            if any(line.strip(BETWEEN) for line in lines):
                return Sheet("".join(f"{line}\n" for line in lines).encode(), BETWEEN, cut=False)
    except Unreadable:
        raise
    except Exception as error:  # of a broken workbook the library raises whatever it stumbles over
        raise Unreadable("not_a_workbook") from error
    raise Unreadable("empty")


def _told(value: Any) -> str:
    """A cell of a workbook as text."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        return value.replace(microsecond=0).isoformat(sep=" ")
    if isinstance(value, (date, time)):
        return value.isoformat()
    return _one_line(str(value)).replace(BETWEEN, " ")
