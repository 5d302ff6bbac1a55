"""The word tables of the rules: terms, materials, zones, hazards, screen, events, views.

Shipped beside this file, changeable by the society; each is read whole and refused whole, every fault in a sentence.
"""

import json
import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

from conservation.rules.book import DATA, BadRules, Rows, Table, csv_table, in_force, register

__all__ = ["DATA", "STANDINGS", "contradicted", "event_rules", "hazards", "materials", "screen", "suspected", "terms", "unanswered", "views", "zones"]

#: who may have the last word, from the lowest to the highest
STANDINGS: Final = ("volunteer", "curator", "conservator", "licensed specialist")
FAMILIES: Final = ("metal", "organic", "plastic", "rubber", "coat", "mineral")
SORTS_OF_LOOK: Final = ("quick", "full", "follow_up")
LOAN_MINIMUM: Final = ("yes", "no", "each finding")
YES_NO: Final = ("yes", "no")
MOST_DAYS: Final = 3660


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


Row = Mapping[str, str]


def terms() -> Mapping[str, Term]:
    """Code to term, in the order of the table."""
    found: Mapping[str, Term] = in_force("terms")
    return found


def materials() -> Mapping[str, Material]:
    """Code to material."""
    found: Mapping[str, Material] = in_force("materials")
    return found


def zones() -> Mapping[str, ZoneWord]:
    """Code to zone, in the order in which a check walks them. Local names stand with the kinds of objects."""
    found: Mapping[str, ZoneWord] = in_force("zones")
    return found


def hazards() -> Mapping[str, HazardWord]:
    """Code to hazard."""
    found: Mapping[str, HazardWord] = in_force("hazards")
    return found


def screen() -> Sequence[ScreenQuestion]:
    """The ten questions in order."""
    found: Sequence[ScreenQuestion] = in_force("screen")
    return found


def event_rules() -> Mapping[str, EventRule]:
    """Code to event."""
    found: Mapping[str, EventRule] = in_force("events")
    return found


def views() -> Mapping[str, View]:
    """Code to standard view, V01 to V14."""
    found: Mapping[str, View] = in_force("views")
    return found


def _refuse(faults: Iterable[str]) -> None:
    if said := list(faults):
        raise BadRules(said)


def _named(rows: Sequence[Row], form: str, *wanted: str) -> Iterator[str]:
    """Faults that every table may have: a code of another form, a cell that may not be empty."""
    for row in rows:
        if not re.fullmatch(form, row["code"]):
            yield f"'{row['code']}' is no code of this table: it has another form than the shipped ones."
        yield from (f"{row['code']} has no {name.replace('_', ' ')}." for name in ("name", *wanted) if not row[name].strip())


def _one_of(rows: Sequence[Row], column: str, allowed: Collection[str]) -> Iterator[str]:
    for row in rows:
        if row[column] not in allowed:
            yield f"{row['code']}: '{row[column]}' is no {column.replace('_', ' ')}; choose one of: {', '.join(allowed)}."


def _whole(rows: Sequence[Row], column: str, least: int, most: int, *, empty: bool = False) -> Iterator[str]:
    for row in rows:
        said = row[column]
        if not (said == "" and empty) and not (said.isascii() and said.isdecimal() and least <= int(said) <= most):
            yield f"{row['code']}: {column.replace('_', ' ')} is a whole number from {least} to {most}."


def read_terms(rows: Sequence[Row]) -> Mapping[str, Term]:
    """Terms from rows of words. Raises BadRules."""
    known = materials()
    faults = [*_named(rows, r"[A-Z][A-Z0-9_]+", "definition", "recognise", "cue", "response", "source"), *_one_of(rows, "asks", STANDINGS)]
    for row in rows:
        if row["materials"] != "*":
            faults += [f"{row['code']} is seen on '{code}', which is no material of the table." for code in row["materials"].split() if code not in known]
    _refuse(faults)
    return {row["code"]: _term(**row) for row in rows}


def _term(*, materials: str, **words: str) -> Term:
    return Term(**words, materials=frozenset() if materials == "*" else frozenset(materials.split()))


def read_materials(rows: Sequence[Row]) -> Mapping[str, Material]:
    """Materials from rows of words. Raises BadRules."""
    _refuse([*_named(rows, r"[a-z][a-z0-9_]+"), *_one_of(rows, "family", FAMILIES)])
    return {row["code"]: Material(**row) for row in rows}


def read_zones(rows: Sequence[Row]) -> Mapping[str, ZoneWord]:
    """Zones from rows of words. Raises BadRules."""
    _refuse([*_named(rows, r"[A-Z]{2}"), *_one_of(rows, "class", ("primary", "secondary"))])
    return {row["code"]: ZoneWord(row["code"], row["name"], row["class"] == "primary", row["look_for"]) for row in rows}


def read_hazards(rows: Sequence[Row]) -> Mapping[str, HazardWord]:
    """Hazards from rows of words. Raises BadRules."""
    _refuse([*_named(rows, r"[A-Z][A-Z0-9_]+", "where", "clue", "do", "do_not", "who", "source"), *_whole(rows, "level", 1, 3)])
    return {row["code"]: _hazard(**row) for row in rows}


def _hazard(*, level: str, **words: str) -> HazardWord:
    return HazardWord(**words, level=int(level))


def read_events(rows: Sequence[Row]) -> Mapping[str, EventRule]:
    """Events from rows of words. Raises BadRules."""
    faults = [*_named(rows, r"[a-z][a-z0-9_]+", "reason"), *_one_of(rows, "sort", SORTS_OF_LOOK), *_one_of(rows, "damp_only", YES_NO)]
    _refuse([*faults, *_whole(rows, "days", 0, MOST_DAYS), *_whole(rows, "room_days", 0, MOST_DAYS, empty=True)])
    return {row["code"]: _event(**row) for row in rows}


def _event(*, days: str, room_days: str, damp_only: str, **words: str) -> EventRule:
    room = int(room_days) if room_days else None
    return EventRule(**words, days=int(days), room_days=room, damp_only=damp_only == "yes")


def read_views(rows: Sequence[Row]) -> Mapping[str, View]:
    """Standard views from rows of words. Raises BadRules."""
    _refuse([*_named(rows, r"V\d\d"), *_one_of(rows, "loan_minimum", LOAN_MINIMUM)])
    return {row["code"]: View(**row) for row in rows}


def _opens(cell: str) -> list[tuple[str, int]]:
    """'MOULD 1; DROPPINGS 1' as codes with levels; what is no level counts as 0."""
    parts = [part.split() for part in cell.split(";") if part.strip()]
    return [(part[0], int(part[1]) if len(part) == 2 and part[1].isdecimal() else 0) for part in parts]


def read_screen(rows: Rows) -> Sequence[ScreenQuestion]:
    """The questions from number to words. A closer question has the number of its own with an a. Raises BadRules."""
    known = hazards()
    faults = []
    for number, row in rows.items():
        cells = [row["opens"], *([row["closer_opens"]] if row["closer"] else [])]
        if not row["question"].strip() or not all(_opens(cell) for cell in cells):
            faults.append(f"Question {number} needs its words and the dangers it opens, as in 'MOULD 1; DROPPINGS 1'.")
        for code, level in (found for cell in cells for found in _opens(cell)):
            if code not in known or level not in (1, 2, 3):
                faults.append(f"Question {number} opens '{code}' at level {level}: name a danger of the table and a level from 1 to 3.")
    _refuse(faults)
    return [_question(number, row) for number, row in rows.items()]


def _question(number: str, row: Row) -> ScreenQuestion:
    closer = ScreenQuestion(f"{number}a", row["closer"], _opens(row["closer_opens"]), None) if row["closer"] else None
    return ScreenQuestion(number, row["question"], _opens(row["opens"]), closer)


@cache
def _shipped_screen() -> Rows:
    return {row["number"]: _flat(row) for row in json.loads((DATA / "screen.json").read_text(encoding="utf-8"))}


def _flat(row: Mapping[str, Any]) -> dict[str, str]:
    closer = row.get("closer") or {"question": "", "opens": []}
    said = {"opens": row["opens"], "closer_opens": closer["opens"]}
    cells = {name: "; ".join(f"{code} {level}" for code, level in pairs) for name, pairs in said.items()}
    return {"question": row["question"], "opens": cells["opens"], "closer": closer["question"], "closer_opens": cells["closer_opens"]}


register(csv_table("terms", "Words for what is seen", read_terms, grows=True, sorts={"asks": STANDINGS}))
register(csv_table("materials", "Materials", read_materials, grows=True, sorts={"family": FAMILIES}))
register(csv_table("zones", "Zones", read_zones, sorts={"class": ("primary", "secondary")}))
register(csv_table("hazards", "Dangers to people", read_hazards, sorts={"level": ("1", "2", "3")}))
register(Table("screen", "The ten questions about dangers", _shipped_screen, read_screen))
register(csv_table("events", "Events that ask for a look", read_events, grows=True, sorts={"sort": SORTS_OF_LOOK, "damp_only": YES_NO}))
register(csv_table("views", "Standard photographs", read_views, sorts={"loan_minimum": LOAN_MINIMUM}))


def suspected(answers: Mapping[str, str]) -> dict[str, int]:
    """Hazard codes with level that answers of the screen open, by question number; 'unsure' counts as suspected."""
    found: dict[str, int] = {}
    against = contradicted(answers)
    for question in screen():
        closer = question.closer
        if answers.get(question.number) in ("yes", "unsure") or (closer is not None and closer.number in against):
            opens = [*question.opens]
            if closer is not None and answers.get(closer.number, "unsure") != "no":
                opens += closer.opens
            for code, level in opens:
                found[code] = max(level, found.get(code, 0))
    return found


def contradicted(answers: Mapping[str, str]) -> list[str]:
    """Numbers of the closer questions answered with 'yes' or 'unsure' whose own was answered with 'no'; until somebody says which, both count."""
    pairs = [(question.number, question.closer.number) for question in screen() if question.closer is not None]
    return [closer for number, closer in pairs if answers.get(number) == "no" and answers.get(closer) in ("yes", "unsure")]


def unanswered(answers: Mapping[str, str]) -> list[str]:
    """Numbers of the questions still open; a closer one is asked where its own was answered with 'yes' or 'unsure'."""
    asked: list[str] = []
    for question in screen():
        asked.append(question.number)
        if question.closer is not None and answers.get(question.number) in ("yes", "unsure"):
            asked.append(question.closer.number)
    return [number for number in asked if answers.get(number) not in ("yes", "no", "unsure")]
