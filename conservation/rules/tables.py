"""The word tables of the rules: terms, hazards, the hazard screen, events, views. Read once from the files beside."""

import csv
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from conservation.rules.ruleset import DATA


@dataclass(frozen=True, slots=True)
class Term:
    """A kind of trouble. `materials` are codes it is seen on; empty = on anything."""

    code: str
    name: str
    materials: frozenset[str]
    definition: str
    recognise: str
    cue: str
    cause: str
    response: str
    source: str
    asks: str


@dataclass(frozen=True, slots=True)
class HazardWord:
    """A danger to people: what points to it, what to do and never to do, who is next, and the source."""

    code: str
    name: str
    clue: str
    do: str
    do_not: str
    who: str
    source: str


@dataclass(frozen=True, slots=True)
class ScreenQuestion:
    """One of the ten questions; 'yes' and 'unsure' both open its hazards at the given level."""

    number: str
    question: str
    opens: Sequence[tuple[str, int]]


@dataclass(frozen=True, slots=True)
class EventRule:
    """What an event calls for: a look of this sort, near things within `days`, the room within `room_days` (None = not)."""

    code: str
    name: str
    sort: str
    days: int
    room_days: int | None
    reason: str


def _rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


@cache
def terms() -> Mapping[str, Term]:
    """Code to term, in the order of the table."""
    found = {}
    for row in _rows("terms.csv"):
        materials = frozenset() if row["materials"] == "*" else frozenset(row["materials"].split())
        found[row["code"]] = Term(**{**row, "materials": materials})  # type: ignore[arg-type]
    return found


@cache
def hazards() -> Mapping[str, HazardWord]:
    """Code to hazard."""
    return {row["code"]: HazardWord(**row) for row in _rows("hazards.csv")}


@cache
def screen() -> Sequence[ScreenQuestion]:
    """The ten questions in order."""
    raw = json.loads((DATA / "screen.json").read_text(encoding="utf-8"))
    return [ScreenQuestion(row["number"], row["question"], [(code, level) for code, level in row["opens"]]) for row in raw]


@cache
def event_rules() -> Mapping[str, EventRule]:
    """Code to event."""
    return {
        row["code"]: EventRule(
            row["code"], row["name"], row["sort"], int(row["days"]), int(row["room_days"]) if row["room_days"] else None, row["reason"]
        )
        for row in _rows("events.csv")
    }


def suspected(answers: Mapping[str, str]) -> dict[str, int]:
    """Hazard codes with level that answers of the screen open; 'unsure' counts as suspected."""
    found: dict[str, int] = {}
    for question in screen():
        if answers.get(question.number) in ("yes", "unsure"):
            for code, level in question.opens:
                found[code] = max(level, found.get(code, 0))
    return found
