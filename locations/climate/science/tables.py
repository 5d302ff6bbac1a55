"""The tables beside the modules: every limit is a row with its source, none stands in the code."""

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from locations.climate.science.values import NoValue

DATA: Final = Path(__file__).parent / "data"


@cache
def rows(table: str) -> tuple[Mapping[str, str], ...]:
    """The rows of a table, as text."""
    with (DATA / f"{table}.csv").open(encoding="utf-8", newline="") as lines:
        return tuple(csv.DictReader(lines))


def row(table: str, code: str) -> Mapping[str, str]:
    """The row of a code. Raises NoValue `unknown_code`."""
    for one in rows(table):
        if one["code"] == code:
            return one
    raise NoValue("unknown_code", table=table, given=code)


def number(one: Mapping[str, str], column: str) -> float | None:
    """A cell as a number; None where the table says nothing."""
    return float(one[column]) if one[column] else None


@dataclass(frozen=True, slots=True)
class Limit:
    """low..high in `unit`, None = open. `standing`: published (seen), memory (to be verified), ours (house rule)."""

    code: str
    what: str
    low: float | None
    high: float | None
    unit: str
    standing: str
    source: str


@cache
def limit(code: str) -> Limit:
    """A limit of the trade with its source. Raises NoValue `unknown_code`."""
    found = row("limits", code)
    return Limit(code, found["what"], number(found, "low"), number(found, "high"), found["unit"], found["standing"], found["source"])


def highest(code: str) -> float:
    """The upper figure of a limit. Raises NoValue `no_upper_limit`."""
    if (high := limit(code).high) is None:
        raise NoValue("no_upper_limit", given=code)
    return high
