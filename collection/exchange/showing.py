"""Imports as pages show them: the columns with their first cells, a row with what it asks and how to answer."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.http import QueryDict

from collection.exchange.columns import Way, cell_at
from collection.exchange.judging import NUMBER_CODES
from collection.exchange.models import ImportRow, ImportSession
from collection.exchange.sentences import sentence, short

#: how many offers of a question are shown
_MOST_OFFERS = 6
_CELL = 120


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the file with what it goes to."""

    n: int
    heading: str
    target: str
    cells: list[str]


@dataclass(frozen=True, slots=True)
class Shown:
    """One row with its cells, its reasons, and what can be answered."""

    row: ImportRow
    number: str
    name: str
    cells: list[tuple[str, str]]
    why: str
    notes: list[str]
    asks_number: bool
    offers: list[str]
    asks_name: bool
    name_offer: str
    asks_kind: bool
    repair: str
    #: codes of what can only be taken as it stands
    take: list[tuple[str, str]]


def column_choices(session: ImportSession, sample: Sequence[ImportRow], typed: QueryDict) -> list[Column]:
    """The columns, as mapped or as typed."""
    way = session.way
    return [Column(n, way.heading_of(n), typed.get(f"column_{n}") or target, _few(sample, n)) for n, target in sorted(way.columns.items())]


def _few(sample: Sequence[ImportRow], column: int) -> list[str]:
    cells = dict.fromkeys(cell_at(row.cells, column)[:_CELL] for row in sample)
    return [cell for cell in cells if cell][:3]


def shown(way: Way, row: ImportRow) -> Shown:
    """A row of the preview."""
    asking = [finding for finding in row.findings if finding["asks"]]
    codes = [finding["code"] for finding in asking]
    offers = [offer for one in asking if one["code"] in NUMBER_CODES for offer in one["data"].get("offers", ())]
    data = {finding["code"]: finding["data"] for finding in asking}
    named = [*way.of("name"), *(way.of("title") if way.name_from_title else ())]
    ways = NUMBER_CODES | {"ditto", "no_name", "kind_unknown", "wrong_encoding", "too_long", "refused"}
    return Shown(
        row, _first(row, way.of("number")), _first(row, named),
        [(way.heading_of(column), cell_at(row.cells, column)) for column in way.columns if cell_at(row.cells, column)],
        short(row.reason) if row.reason and not asking else "",
        [sentence(finding["code"], finding["data"]) for finding in row.findings],
        bool(NUMBER_CODES & set(codes)), list(dict.fromkeys(offers))[:_MOST_OFFERS],
        bool({"ditto", "no_name"} & set(codes)), next(iter(data.get("ditto", {}).get("offers", ())), ""),
        "kind_unknown" in codes, next(iter(data.get("wrong_encoding", {}).get("offers", ())), ""),
        [(code, sentence(code, data[code])) for code in dict.fromkeys(codes) if code not in ways],
    )  # fmt: skip


def answers_from(fields: QueryDict, row: ImportRow) -> dict[str, Any]:
    """The answers to a row as its form sends them, beside those given before."""
    if fields.get("do") == "skip":
        return {"skip": True}
    answers: dict[str, Any] = {name: value for name, value in row.answers.items() if name != "skip"}
    if number := _number_answer(fields):
        answers["number"] = number
    for name in ("name", "kind"):
        if value := fields.get(name, "").strip():
            answers[name] = value[:500]
    if fields.get("repair") == "yes":
        answers["repair"] = True
    taken = [*fields.getlist("take"), *(["wrong_encoding"] if fields.get("repair") == "no" else [])]
    if taken:
        answers["take"] = sorted({*answers.get("take", ()), *taken})
    return answers


def _number_answer(fields: Mapping[str, Any]) -> dict[str, str]:
    do, text = str(fields.get("number_do", "")), str(fields.get("number", "")).strip()
    if do.startswith("offer:"):
        return {"do": "other", "text": do.removeprefix("offer:")[:200]}
    if do == "other" or (not do and text):
        return {"do": "other", "text": text[:200]}
    return {"do": do} if do in ("written", "temporary") else {}


def _first(row: ImportRow, columns: Sequence[int]) -> str:
    return next((cell for column in columns if (cell := cell_at(row.cells, column))), "")[:_CELL]
