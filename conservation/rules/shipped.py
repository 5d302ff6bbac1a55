"""Brings the shipped rows of every rule table; repeatable. What the society changed stays as it changed it."""

from typing import Any

from conservation.rules.every import TABLES
from conservation.rules.models import ShippedRow
from museum.people.action import Act, action
from museum.people.actor import Actor


def load(actor: Actor) -> int:
    """Adds a version for each row that this release ships otherwise than the last one; answers how many."""
    moved = _moved()
    return bring_rules(actor, list(moved)) if moved else 0


@action("rules.bring_rules", may="rules.change")
def bring_rules(act: Act, rows: list[str]) -> int:
    """Stores the shipped rows that are new or moved since the last release, or are shipped no more."""
    moved = {name: row for name, row in _moved().items() if name in rows}
    ShippedRow.objects.bulk_create(
        ShippedRow(act_id=act.id, table=table, code=code, version=version, content=content, recorded_at=act.now)
        for table, code, version, content in moved.values()
    )
    act.wrote("rules.brought", ("rules", act.id), after={"rows": sorted(moved)})
    return len(moved)


def _moved() -> dict[str, tuple[str, str, int, Any]]:
    """'table/code' to table, code, next version and content."""
    last = ShippedRow.objects.order_by("table", "code", "-version").distinct("table", "code")
    known = {(row.table, row.code): row for row in last}
    shipped: dict[tuple[str, str], Any] = {(name, code): content for name, table in TABLES.items() for code, content in table.shipped().items()}
    moved: dict[str, tuple[str, str, int, Any]] = {}
    for table, code in sorted({*known, *shipped}):
        before, content = known.get((table, code)), shipped.get((table, code))
        if before is None or before.content != content:
            moved[f"{table}/{code}"] = (table, code, before.version + 1 if before else 1, content)
    return moved
