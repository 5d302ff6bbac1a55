"""How a row of a rule table is shown and typed by people: plain fields and small grids, never raw JSON."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from conservation.rules.book import Table
from conservation.rules.labels import label_of
from museum.errors import Invalid

#: longer than this is written on several lines
LINE: Final = 60
#: written where a table knows 'none' beside a number
NONE: Final = "-"


@dataclass(frozen=True, slots=True)
class Cell:
    """One field: `sort` is line, text or choice."""

    name: str
    label: str
    value: str
    sort: str = "line"
    options: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """What is typed for a row: cells one below the other, or in a grid with its headings."""

    cells: Sequence[Cell] = ()
    columns: Sequence[str] = ()
    lines: Sequence[tuple[str, Sequence[Cell]]] = field(default_factory=tuple)

    def holding(self, typed: Mapping[str, str]) -> "Sheet":
        """The same with what was typed."""
        cells = [replace(cell, value=typed.get(cell.name, cell.value)) for cell in self.cells]
        lines = [(label, [replace(cell, value=typed.get(cell.name, cell.value)) for cell in line]) for label, line in self.lines]
        return Sheet(cells, self.columns, lines)

    def all_cells(self) -> list[Cell]:
        return [*self.cells, *(cell for _label, line in self.lines for cell in line)]


def columns_of(table: Table) -> list[str]:
    """The columns of a table of words; none for the table of numbers."""
    first = next(iter(table.shipped().values()))
    return list(first) if isinstance(first, dict) and table.name != "rules" else []


def sheet_of(table: Table, code: str, content: Any) -> Sheet:
    """The row as people see it."""
    if columns := columns_of(table):
        said = content or {}
        return Sheet([_column(table, name, str(said.get(name, ""))) for name in columns])
    if code == "grade_matrix":
        return _matrix(content)
    if code == "urgency":
        return _pairs(content)
    if isinstance(content, dict):
        cells = [Cell(f"k-{key}", key.replace("_", " "), _words(value)) for key, value in content.items()]
        return Sheet([*cells, Cell("new-key", _now("one more, its code"), ""), Cell("new-value", _now("one more, its value"), "")])
    sort = "text" if isinstance(content, list) else "line"
    return Sheet([Cell("value", label(table, code), _words(content), sort)])


def content_of(table: Table, code: str, typed: Mapping[str, str]) -> Any:
    """What was typed as content. Raises Invalid for what is no number where one belongs."""
    if columns := columns_of(table):
        return {name: " ".join(typed.get(name, "").replace("\x00", "").split()) for name in columns}
    shipped = table.shipped()[code]
    if code == "grade_matrix":
        return [[_number(typed.get(f"g-{r}-{c}", "")) for c, _was in enumerate(row)] for r, row in enumerate(shipped)]
    if code == "urgency":
        cells = {f"{g},{a}": typed.get(f"g-{g}-{a}", "").strip() for g in range(4) for a in range(4)}
        return {key: _number(value) for key, value in cells.items() if value}
    if isinstance(shipped, dict):
        return _map(shipped, typed)
    return _like(shipped, typed.get("value", ""))


def fitting(table: Table, code: str, content: Any) -> Any:
    """The content, if it has the form of its table: all columns in words, or what JSON has of the shipped sort. Raises Invalid."""
    columns = columns_of(table)
    if columns and (not isinstance(content, dict) or set(content) != set(columns) or not all(isinstance(one, str) for one in content.values())):
        raise Invalid(_("A row has these columns, each in words: %(columns)s."), field="content", columns=", ".join(columns))
    shipped = table.shipped().get(code)
    if not columns and type(content) is not type(shipped) and not (isinstance(content, (int, float)) and isinstance(shipped, (int, float))):
        raise Invalid(_("This has another form than the shipped row."), field="content")
    return content


def _column(table: Table, name: str, value: str) -> Cell:
    sort = table.sorts.get(name, "line")
    if not isinstance(sort, str):
        return Cell(name, label(table, name), value, "choice", sort)
    long = any(len(str(row.get(name, ""))) > LINE for row in table.shipped().values())
    return Cell(name, label(table, name), value, "text" if long else sort)


def label(table: Table, key: str) -> str:
    """What a column or a figure is called, with its unit, in the reader's language."""
    told = label_of(table.name, key)
    return f"{_now(told.name)} ({_now(told.unit)})" if told.unit else _now(told.name)


def _matrix(content: Any) -> Sheet:
    severity, extent = _now("severity"), _now("extent")
    lines = [(f"{severity} {r + 1}", [Cell(f"g-{r}-{c}", f"S{r + 1} E{c + 1}", str(value)) for c, value in enumerate(row)]) for r, row in enumerate(content)]
    return Sheet((), [f"{extent} {c + 1}" for c, _value in enumerate(content[0])], lines)


def _pairs(content: Any) -> Sheet:
    grade, activity = _now("grade"), _now("activity")
    lines = [(f"{grade} {g}", [Cell(f"g-{g}-{a}", f"{grade} {g} A{a}", str(content.get(f"{g},{a}", ""))) for a in range(4)]) for g in range(4)]
    return Sheet((), [f"{activity} {a}" for a in range(4)], lines)


def _words(value: Any) -> str:
    if value is None:
        return NONE
    if isinstance(value, list):
        nested = bool(value) and isinstance(value[0], list)
        return "\n".join(_words(one) for one in value) if nested else " ".join(str(one) for one in value)
    return str(value)


def _like(shipped: Any, text: str) -> Any:
    """Text in the form of a shipped value: words, numbers, a list of either, or pairs line by line."""
    if isinstance(shipped, list) and shipped and isinstance(shipped[0], list):
        return [line.split() for line in text.splitlines() if line.strip()]
    if isinstance(shipped, list):
        return [_like(shipped[0], part) for part in text.split()]
    return text.strip() if isinstance(shipped, str) else _number(text)


def _map(shipped: Mapping[str, Any], typed: Mapping[str, str]) -> dict[str, Any]:
    """Keys with their values; what was emptied goes, one may be added."""
    like = next((value for value in shipped.values() if value is not None), 0)
    said = {name.removeprefix("k-"): text for name, text in typed.items() if name.startswith("k-")}
    if key := typed.get("new-key", "").strip():
        said[key] = typed.get("new-value", "")
    return {key: None if text.strip() == NONE else _like(like, text) for key, text in said.items() if text.strip()}


def _number(text: str) -> int | float:
    try:
        return int(text) if text.strip().lstrip("-").isdecimal() else float(text.replace(",", "."))
    except ValueError:
        raise Invalid(_("'%(text)s' is no number."), field="content", text=text.strip()) from None
