"""Rows of rule tables as pages show them: as shipped, as in force, what was changed, by whom and why."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.utils.translation import gettext

from conservation.rules.book import Table, current
from conservation.rules.changes import last_shipped, latest
from conservation.rules.editing import Cell, sheet_of
from conservation.rules.every import TABLES
from conservation.rules.labels import label_of, value_words
from conservation.rules.models import RuleChange
from museum.errors import NotFound

#: tables of figures, each row with a name of its own
FIGURES: Final = ("rules", "gate")
#: the columns by which the rows of a table are called, where that is not `name`
NAMED: Final = {
    "treatment_rules": ("recommended_low_intervention_step",), "contraindications": ("material", "agent_or_action"), "screen": ("question",),
}  # fmt: skip
#: columns that say words, whatever codes these look like
WORDED: Final = frozenset({"name", "material", "words"})
MOST_SAID: Final = 160


@dataclass(frozen=True, slots=True)
class Line:
    """One field of a row, both ways."""

    label: str
    shipped: str
    mine: str
    #: the codes of `mine` in words; '' where it has none
    words: str = ""

    @property
    def apart(self) -> bool:
        return self.shipped != self.mine


@dataclass(frozen=True, slots=True)
class Shown:
    """A row of a list: its code, its name where it has one, and how it stands to the shipped one."""

    code: str
    name: str
    text: str
    standing: str


def table_named(name: str) -> Table:
    """The table. Raises NotFound."""
    if name not in TABLES:
        raise NotFound
    return TABLES[name]


def content_in_force(table: Table, code: str) -> Any:
    """The row as it counts. Raises NotFound."""
    rows = current().rows(table.name)
    if code not in rows:
        raise NotFound
    return rows[code]


def listed(table: Table) -> list[Shown]:
    """Every row of a table, in its order."""
    shipped, changes = table.shipped(), current().changes
    return [
        Shown(code, *_gist(table, code, content), "own" if code not in shipped else "changed" if (table.name, code) in changes else "shipped")
        for code, content in current().rows(table.name).items()
    ]


def name_of(table: Table, code: str) -> str:
    """What a row is called."""
    return _gist(table, code, content_in_force(table, code))[0]


def _gist(table: Table, code: str, content: Any) -> tuple[str, str]:
    """What it is called, and the first words of it."""
    if not isinstance(content, dict) or table.name in FIGURES:
        said = " · ".join(cell.value for cell in sheet_of(table, code, content).all_cells() if cell.value)
        return gettext(label_of(table.name, code).name), said[:MOST_SAID]
    return ": ".join(str(content.get(column, "")) for column in NAMED.get(table.name, ("name",))), ""


def compared(table: Table, code: str) -> list[Line]:
    """Field by field: as shipped, and as it counts."""
    shipped = table.shipped().get(code)
    here = sheet_of(table, code, content_in_force(table, code)).all_cells()
    there = {cell.name: cell for cell in sheet_of(table, code, shipped).all_cells()} if shipped is not None else {}
    cells = {cell.name: cell for cell in [*here, *there.values()] if not cell.name.startswith("new-")}
    mine = {cell.name: _read(cell) for cell in here}
    return [Line(cell.label, _read(there[name]) if name in there else "", mine.get(name, ""), _spelt(name, mine.get(name, ""))) for name, cell in cells.items()]


def _read(cell: Cell) -> str:
    """What stands in a cell, as people say it."""
    return gettext(value_words(cell.value)) if cell.sort == "choice" and cell.value else cell.value


def _spelt(column: str, value: str) -> str:
    """Codes of materials, terms, zones, agents and steps by their names; nothing where a part of the value is no code."""
    if column in WORDED:
        return ""
    names = _names()
    codes = value.replace("+", " ").split()
    return "; ".join(gettext(names[code]) for code in codes) if codes and all(code in names for code in codes) else ""


def _names() -> dict[str, str]:
    rows = current().rows
    found = {code: content["name"] for table in ("materials", "terms", "zones", "agents") for code, content in rows(table).items()}
    return found | {code: content["recommended_low_intervention_step"] for code, content in rows("treatment_rules").items()}


def moved(table: Table, code: str) -> bool:
    """Whether a later release ships this row otherwise than when the society changed it."""
    change = RuleChange.objects.filter(table=table.name, code=code).order_by("-version").first()
    shipped = last_shipped(table.name, code)
    return bool(change and not change.withdrawn and shipped and change.over and shipped.version > change.over)


def history(table: Table, code: str) -> Sequence[RuleChange]:
    """What the society did to the row, newest first."""
    return list(RuleChange.objects.filter(table=table.name, code=code).select_related("author").order_by("-version"))


def counts() -> dict[str, int]:
    """How many rows of each table the society has changed or added."""
    found: dict[str, int] = {}
    for row in latest():
        if not row.withdrawn:
            found[row.table] = found.get(row.table, 0) + 1
    return found
