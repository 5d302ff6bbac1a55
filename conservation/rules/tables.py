"""The word tables of the rules: terms, materials, zones, hazards, screen, events, views; read once from beside."""

import csv
import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final

DATA: Final = Path(__file__).parent / "data"


@dataclass(frozen=True, slots=True)
class Term:
    """A kind of trouble. `materials` are codes it is seen on, empty = anything; `asks` is who has the last word."""

    code: str
    name: str
    materials: frozenset[str]
    materials_in_words: str
    definition: str
    recognise: str
    cue: str
    cause: str
    response: str
    source: str
    asks: str

    def fits(self, materials: Collection[str]) -> bool:
        """Whether it is seen on one of these materials, or on anything."""
        return not self.materials or not self.materials.isdisjoint(materials)


@dataclass(frozen=True, slots=True)
class Material:
    """What a zone is made of; the family (metal, organic, plastic, rubber, coat, mineral) is for rules about many."""

    code: str
    name: str
    family: str


@dataclass(frozen=True, slots=True)
class ZoneWord:
    """A zone in general: a primary one sets the object grade in full, a secondary one counts up to a cap."""

    code: str
    name: str
    primary: bool
    look_for: str


@dataclass(frozen=True, slots=True)
class HazardWord:
    """A danger to people: the level it opens at, where it sits, its clue, what to do and never to do, who is next."""

    code: str
    name: str
    level: int
    where: str
    clue: str
    do: str
    do_not: str
    who: str
    source: str


@dataclass(frozen=True, slots=True)
class ScreenQuestion:
    """A question of the hazard screen: 'yes' and 'unsure' open its hazards at the given levels.

    `closer` is asked where it was so answered; left out, it counts as unsure.
    """

    number: str
    question: str
    opens: Sequence[tuple[str, int]]
    closer: "ScreenQuestion | None"


@dataclass(frozen=True, slots=True)
class EventRule:
    """What an event calls for: a look of this sort at what is near within `days`, at the room within `room_days`.

    `damp_only`: of these, only what holds material on which mould grows (RuleSet.damp_materials).
    """

    code: str
    name: str
    sort: str
    days: int
    room_days: int | None
    damp_only: bool
    reason: str


@dataclass(frozen=True, slots=True)
class View:
    """A standard photograph. An outgoing loan needs at least those marked 'yes', and 'each finding' one for each."""

    code: str
    name: str
    loan_minimum: str


def _rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


@cache
def terms() -> Mapping[str, Term]:
    """Code to term, in the order of the table."""
    return {row["code"]: _term(**row) for row in _rows("terms.csv")}


def _term(*, materials: str, **words: str) -> Term:
    return Term(**words, materials=frozenset() if materials == "*" else frozenset(materials.split()))


@cache
def materials() -> Mapping[str, Material]:
    """Code to material."""
    return {row["code"]: Material(**row) for row in _rows("materials.csv")}


@cache
def zones() -> Mapping[str, ZoneWord]:
    """Code to zone, in the order in which a check walks them. Local names stand with the kinds of objects."""
    return {row["code"]: ZoneWord(row["code"], row["name"], row["class"] == "primary", row["look_for"]) for row in _rows("zones.csv")}


@cache
def hazards() -> Mapping[str, HazardWord]:
    """Code to hazard."""
    return {row["code"]: _hazard(**row) for row in _rows("hazards.csv")}


def _hazard(*, level: str, **words: str) -> HazardWord:
    return HazardWord(**words, level=int(level))


@cache
def screen() -> Sequence[ScreenQuestion]:
    """The ten questions in order."""
    return [_question(row) for row in json.loads((DATA / "screen.json").read_text(encoding="utf-8"))]


def _question(row: Mapping[str, Any]) -> ScreenQuestion:
    closer = row.get("closer")
    opens = [(code, level) for code, level in row["opens"]]
    return ScreenQuestion(row["number"], row["question"], opens, _question(closer) if closer else None)


@cache
def event_rules() -> Mapping[str, EventRule]:
    """Code to event."""
    return {row["code"]: _event(**row) for row in _rows("events.csv")}


def _event(*, days: str, room_days: str, damp_only: str, **words: str) -> EventRule:
    room = int(room_days) if room_days else None
    return EventRule(**words, days=int(days), room_days=room, damp_only=damp_only == "yes")


@cache
def views() -> Mapping[str, View]:
    """Code to standard view, V01 to V14."""
    return {row["code"]: View(**row) for row in _rows("views.csv")}


def suspected(answers: Mapping[str, str]) -> dict[str, int]:
    """Hazard codes with level that answers of the screen open, by question number; 'unsure' counts as suspected."""
    found: dict[str, int] = {}
    for question in screen():
        if answers.get(question.number) in ("yes", "unsure"):
            closer = question.closer
            opens = [*question.opens]
            if closer is not None and answers.get(closer.number, "unsure") != "no":
                opens += closer.opens
            for code, level in opens:
                found[code] = max(level, found.get(code, 0))
    return found


def unanswered(answers: Mapping[str, str]) -> list[str]:
    """Numbers of the questions still open; a closer one is asked where its own was answered with 'yes' or 'unsure'."""
    asked: list[str] = []
    for question in screen():
        asked.append(question.number)
        if question.closer is not None and answers.get(question.number) in ("yes", "unsure"):
            asked.append(question.closer.number)
    return [number for number in asked if answers.get(number) not in ("yes", "no", "unsure")]
