"""Imports as pages show them: the columns with their first cells, a row with what it asks and how to answer."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.http import QueryDict
from django.utils.translation import gettext as _

from collection.exchange import answering
from collection.exchange.answering import ALIKE, WORDS, Answers, Choice, matter
from collection.exchange.columns import Way, cell_at
from collection.exchange.edtf_words import in_words
from collection.exchange.models import ImportRow, ImportSession
from collection.exchange.queries import CAN_BE_ANSWERED, sorts_of
from collection.exchange.sentences import sentence, short

#: how many offers of a question are shown
_MOST_OFFERS: Final = 6
_CELL: Final = 120
_TYPED: Final = frozenset({"number", "name", "date"})


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the file with what it goes to."""

    n: int
    heading: str
    target: str
    cells: list[str]


@dataclass(frozen=True, slots=True)
class Asked:
    """One matter that a row asks, and how it can be answered. `typed` labels the input for something else."""

    code: str
    at: int
    legend: str
    choices: list[Choice]
    typed: str
    kind: bool


@dataclass(frozen=True, slots=True)
class Shown:
    """One row with its cells, its reasons, and what can be answered."""

    row: ImportRow
    number: str
    name: str
    cells: list[tuple[str, str]]
    why: str
    notes: list[str]
    asked: list[Asked]


@dataclass(frozen=True, slots=True)
class Sort:
    """What can be answered for all rows of a sort at once."""

    code: str
    words: str
    rows: int
    choices: list[Choice]
    typed: bool


def column_choices(session: ImportSession, sample: Sequence[ImportRow], typed: QueryDict) -> list[Column]:
    """The columns, as mapped or as typed."""
    way = session.way
    return [Column(n, way.heading_of(n), typed.get(f"column_{n}") or target, _few(sample, n)) for n, target in sorted(way.columns.items())]


def _few(sample: Sequence[ImportRow], column: int) -> list[str]:
    cells = dict.fromkeys(cell_at(row.cells, column)[:_CELL] for row in sample)
    return [cell for cell in cells if cell][:3]


def shown(way: Way, row: ImportRow) -> Shown:
    """A row of the preview."""
    named = [*way.of("name"), *(way.of("title") if way.name_from_title else ())]
    asked = [_asked(one, at) for at, one in enumerate(row.findings) if one["asks"] or one["code"] in CAN_BE_ANSWERED]
    plain = [sentence(one["code"], one["data"]) for one in row.findings if not one["asks"] and one["code"] not in CAN_BE_ANSWERED]
    asks = any(one["asks"] for one in row.findings)
    return Shown(
        row, _first(row, way.of("number")), _first(row, named),
        [(way.heading_of(column), cell_at(row.cells, column)) for column in way.columns if cell_at(row.cells, column)],
        why_of(row) if row.reason and not asks else "", plain, asked,
    )  # fmt: skip


def why_of(row: ImportRow) -> str:
    """Why a row is what it is; one left out says what the person said."""
    told = str(row.answers.get("why", "")) if row.reason == "left_out" else ""
    return _("is left out: %(why)s") % {"why": told} if told else short(row.reason)


def sorts(session: ImportSession) -> list[Sort]:
    """All that can be answered the same for every row of a sort."""
    return [
        Sort(code, short(code), n, answering.alike(code), "other" in ALIKE.get(code, ()))
        for code, n in sorts_of(session) if code in ALIKE
    ]  # fmt: skip


def _asked(finding: Mapping[str, Any], at: int) -> Asked:
    code, data, about = finding["code"], finding["data"], matter(finding["code"])
    typed = {"number": _("Another number, or several parted by commas"), "name": _("What it is"), "date": _("In EDTF, if you know it")}
    choices = [*_offers(about, data), *(choice for choice in _plain(code, data) if not choice.value.startswith("offer:"))]
    if about in _TYPED and code != "size":
        choices.append(Choice("other", WORDS["other"]))
    return Asked(code, at, sentence(code, data), choices, typed.get(about, ""), about == "kind")


def _offers(about: str, data: Mapping[str, Any]) -> list[Choice]:
    offers = list(data.get("offers", ()))[:_MOST_OFFERS]
    return [Choice(f"offer:{at}", in_words(offer) if about == "date" else offer) for at, offer in enumerate(offers)]


def _plain(code: str, data: Mapping[str, Any]) -> list[Choice]:
    """The choices of a sort that this row allows, said with what stands in it."""
    pieces, measures = list(data.get("pieces", ())), list(data.get("measures", ()))
    said: dict[str, str] = {}
    if len(pieces) > 1:
        said["former"] = _("One thing, %(first)s; former numbers %(others)s") % {"first": pieces[0], "others": ", ".join(pieces[1:])}
        said["split"] = _("%(n)s things, one each: %(all)s") % {"n": len(pieces), "all": ", ".join(pieces)}
    said |= {f"measure:{at}": f"{one['value']} {one['unit']}" for at, one in enumerate(measures)}
    if code in ("refused", "too_long"):
        return [Choice("again", WORDS["again"])] if code == "refused" else []
    known = answering.alike(code) or [Choice("take", WORDS["take"])]
    possible = [one for one in known if not one.value.startswith("measure:") or one.value in said]
    if code == "several_numbers" and len(pieces) < 2:
        said |= {"former": str(WORDS["former"]), "split": str(WORDS["split"])}
    return [Choice(one.value, said.get(one.value, one.words)) for one in possible if one.value != "other"]


def answers_from(fields: QueryDict, row: ImportRow) -> Answers:
    """The answers to a row as its form sends them, beside those given before. Raises Invalid."""
    if fields.get("do") == "skip":
        return answering.left_out(fields.get("why", ""))
    if fields.get("do") == "again":
        return {"part": row.answers["part"], "number": row.answers["number"]} if row.part and row.answers.get("part") else {}
    answers: Answers = {name: value for name, value in row.answers.items() if name not in ("skip", "why")}
    for at, finding in enumerate(row.findings):
        if choice := fields.get(f"choice_{at}"):
            told = _Told(row.findings, answers)
            answers = answering.answered(told, finding["code"], choice, fields.get(f"text_{at}", ""))
    return answers


@dataclass(frozen=True, slots=True)
class _Told:
    """A row on the way, with what was answered of it so far."""

    findings: list[dict[str, Any]]
    answers: Answers


def _first(row: ImportRow, columns: Sequence[int]) -> str:
    return next((cell for column in columns if (cell := cell_at(row.cells, column))), "")[:_CELL]
