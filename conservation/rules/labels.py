"""What tables, columns and figures of the rules are called where people read them. Texts are English; who shows them translates.

`labels.csv`: the key is a column, or a row of the two tables of figures; a line without a key tells what its table is for;
those of the table `value` are words for what columns choose among.
"""

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

LABELS: Final = Path(__file__).with_name("labels.csv")


@dataclass(frozen=True, slots=True)
class Label:
    """A name, and for a figure its unit."""

    name: str
    unit: str = ""


@cache
def _told() -> dict[tuple[str, str], Label]:
    with LABELS.open(encoding="utf-8", newline="") as lines:
        return {(row["table"], row["key"]): Label(row["label"], row["about"]) for row in csv.DictReader(lines)}


def about(table: str) -> str:
    """What a table is for, in a sentence."""
    return _told()[table, ""].unit


def label_of(table: str, key: str) -> Label:
    """What a column or a figure is called. Raises KeyError for one that nobody named."""
    return _told()[table, key]


def value_words(value: str) -> str:
    """A value that a column chooses, in words; itself where it has none."""
    found = _told().get(("value", value))
    return found.name if found and value else value
