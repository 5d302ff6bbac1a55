"""Which column of a register goes to which field of the record: the targets, a first guess, and what a row says."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from collection.exchange.reading import Line
from collection.exchange.words import bare, table, target_called
from collection.objects.numbers import ObjectNumber, parse_number

#: what a column may go to, in the order in which a person is offered it
TARGETS: Final[Mapping[str, Promise]] = {
    "number": _("number"), "former_number": _("former number"), "name": _("what it is"), "title": _("title"),
    "kind": _("kind of headgear"), "model": _("model or pattern"), "description": _("description"),
    "date_made": _("date made"), "dimensions": _("dimensions"), "materials": _("materials"), "maker": _("maker"),
    "place_made": _("place made"), "marks": _("marks"), "holder": _("wearer or holder"),
    "credit": _("whom it came from, and when"), "reference": _("references"), "remarks": _("remarks"),
    "ignore": _("leave out"),
}  # fmt: skip
#: targets that hold one value: several columns are joined with their headings
SINGLE: Final = frozenset({"name", "title", "model", "description", "date_made", "place_made", "credit"})
#: targets that are no fields of the record
APART: Final = frozenset({"number", "former_number", "kind", "ignore"})
FIELD_OF: Final = {"materials": "materials_found"}
_LOOKED_AT: Final = 50


@dataclass(frozen=True, slots=True)
class Way:
    """How a file is to be read: column to target, and what was asked once for the whole file."""

    headings: Sequence[str]
    heading: int
    columns: Mapping[int, str]
    #: grammar or as_written; '' = not asked yet
    numbers_follow: str = ""
    default_kind: str = "other"
    name_from_title: bool = True
    file: str = ""

    def of(self, target: str) -> list[int]:
        """The columns of a target, from the left."""
        return sorted(column for column, name in self.columns.items() if name == target)

    def heading_of(self, column: int) -> str:
        """How a column is called."""
        text = self.headings[column].strip() if column < len(self.headings) else ""
        return text or str(_("column %(n)s") % {"n": column + 1})


@dataclass(frozen=True, slots=True)
class Said:
    """What a row says for one field: its values and the cells they came from."""

    values: list[str] = field(default_factory=list)
    cell: str = ""


def guess(lines: Sequence[Line], heading: int) -> dict[int, str]:
    """Column to target, by heading, else by content. Nothing is left out but what is empty."""
    headings = next((line.cells for line in lines if line.n == heading), [])
    body = [line.cells for line in lines if line.n > heading]
    width = max((len(line.cells) for line in lines), default=0)
    found: dict[int, str] = {}
    for column in range(width):
        cells = [row[column] for row in body if column < len(row) and row[column].strip()]
        title = headings[column] if column < len(headings) else ""
        target = target_called(title) if cells else "ignore"
        if target in ("number", "kind") and target in found.values():
            target = "former_number" if target == "number" else "remarks"
        found[column] = target or "remarks"
    if "number" not in found.values() and (numbered := _numbers_in(body, found)) is not None:
        found[numbered] = "number"
    return found


def _numbers_in(body: Sequence[Sequence[str]], columns: Mapping[int, str]) -> int | None:
    """The first column of unknown heading in which most cells are numbers of ours."""
    for column in (column for column, target in columns.items() if target == "remarks"):
        cells = [row[column] for row in body[:_LOOKED_AT] if column < len(row) and row[column].strip()]
        read = sum(isinstance(parse_number(cell), ObjectNumber) for cell in cells)
        if read > len(cells) / 2:
            return column
    return None


def cell_at(cells: Sequence[str], column: int) -> str:
    """The cell without spaces at its ends; '' where the row is shorter."""
    return cells[column].strip() if column < len(cells) else ""


def said_in(way: Way, n: int, cells: Sequence[str]) -> dict[str, Said]:
    """What a row says, by target; values of single fields are joined, each after the first with its heading."""
    found: dict[str, Said] = {}
    for target in TARGETS:
        columns = [column for column in way.of(target) if cell_at(cells, column)]
        if columns and target not in APART:
            values = [labelled(way, target, column, cell_at(cells, column)) for column in columns]
            if target in SINGLE:
                values = ["\n".join(values)]
            told = "; ".join(f"{way.heading_of(column)}: {cells[column]}" for column in columns)
            found[target] = Said(values, f"{way.file}, {_('row')} {n}, {told}"[:2_000])
    return found


def labelled(way: Way, target: str, column: int, text: str) -> str:
    """The text, after its heading where the field's name alone would not say what it is."""
    heading = way.heading_of(column)
    if target == "dimensions":
        return text if _plain(target, heading) else _measured(heading, text)
    own = column == way.of(target)[0] and (target not in ("remarks", "description") or _plain(target, heading))
    return text if own else f"{heading}: {text}"


def _measured(heading: str, text: str) -> str:
    """'Height (mm)' and '240' as 'Height: 240 mm'; a figure that says its own unit keeps it."""
    found = re.fullmatch(r"(.*?)[\s,]*(?:\(|\[|\bin |/)\s*(mm|cm|m|in|inches|g|kg|lb|oz)\s*[)\]]?", heading, re.IGNORECASE)
    bare_figure = re.fullmatch(r"[0-9]+([.,][0-9]+)?", text) is not None
    return f"{found[1]}: {text} {found[2]}" if found and bare_figure else f"{heading}: {text}"


def _plain(target: str, heading: str) -> bool:
    return bare(heading) in (*table()["columns"][target][:2], target)


def numbers_of(way: Way, cells: Sequence[str]) -> tuple[str, list[str], int | None]:
    """The number cell, the former numbers, and the column of the number."""
    columns = way.of("number")
    filled = [column for column in columns if cell_at(cells, column)]
    former = [cell_at(cells, column) for column in (*filled[1:], *way.of("former_number")) if cell_at(cells, column)]
    column = filled[0] if filled else (columns[0] if columns else None)
    return (cell_at(cells, filled[0]) if filled else ""), former, column


def looks_wrongly_read(text: str) -> bool:
    """Whether a text was written in UTF-8 and read as another character set: 'MÃ¼ller'."""
    return re.search("Ã[\x80-\xbf\u0152-\u2122]|â€", text) is not None and repaired(text) != text


def repaired(text: str) -> str:
    """The text read again as UTF-8; as it is where that does not go."""
    try:
        return text.encode("cp1252").decode("utf-8")
    except (UnicodeEncodeError, UnicodeDecodeError):
        return text
