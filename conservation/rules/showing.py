"""Rows of rule tables as pages show them: as shipped, as in force, what was changed, by whom and why."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from conservation.rules.book import Table, current
from conservation.rules.changes import last_shipped, latest
from conservation.rules.editing import sheet_of
from conservation.rules.every import TABLES
from conservation.rules.models import RuleChange
from museum.errors import NotFound


@dataclass(frozen=True, slots=True)
class Line:
    """One field of a row, both ways."""

    label: str
    shipped: str
    mine: str

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


def _gist(table: Table, code: str, content: Any) -> tuple[str, str]:
    """What it is called, and the first words of it."""
    texts = [cell.value for cell in sheet_of(table, code, content).all_cells() if cell.value]
    if isinstance(content, dict) and isinstance(content.get("name"), str):
        return content["name"], ""
    said = " · ".join(texts)
    name = code.replace("_", " ") if table.name == "rules" else ""
    return name, said[:160]


def compared(table: Table, code: str) -> list[Line]:
    """Field by field: as shipped, and as it counts."""
    shipped = table.shipped().get(code)
    here = sheet_of(table, code, content_in_force(table, code)).all_cells()
    there = {cell.name: cell.value for cell in sheet_of(table, code, shipped).all_cells()} if shipped is not None else {}
    names = {cell.name: cell.label for cell in here if not cell.name.startswith("new-")}
    names |= {name: name.removeprefix("k-") for name in there if name not in names and not name.startswith("new-")}
    mine = {cell.name: cell.value for cell in here}
    return [Line(label, there.get(name, ""), mine.get(name, "")) for name, label in names.items()]


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
