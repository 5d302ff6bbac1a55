"""What columns, cells and rows of old registers are usually called; the table is data/words.json."""

import json
import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any


@cache
def table() -> Mapping[str, Any]:
    """The file of words."""
    raw: Mapping[str, Any] = json.loads((Path(__file__).parent / "data" / "words.json").read_text(encoding="utf-8"))
    return raw


def bare(text: str) -> str:
    """A heading or a word without case, stops at its end and doubled spaces."""
    return " ".join(text.casefold().split()).strip(" .:")


@cache
def _target_by_heading() -> Mapping[str, str]:
    return {word: target for target, words in table()["columns"].items() for word in words}


def target_called(heading: str) -> str:
    """The target that a column of this heading is usually meant for; '' where none is."""
    return _target_by_heading().get(bare(heading), "")


@cache
def _material_by_word() -> Mapping[str, str]:
    return {word: code for code, words in table()["materials"].items() for word in words}


def materials_in(text: str) -> list[str]:
    """The codes of those materials that are named plainly, each once.

    'steel, leather' names two; 'steel (?)', 'iron bowl', 'gilt on brass' none: what is in doubt, of a part only or of
    two in one is kept as words and no more.
    """
    pieces = re.split(r"[,;&\n/+]|\band\b|\bund\b|\bet\b", text.casefold())
    found = (_material_by_word().get(bare(piece)) for piece in pieces)
    return list(dict.fromkeys(code for code in found if code))


def kind_named(text: str) -> str:
    """The kind of headgear that a name says; '' where it says none or more than one."""
    said = text.casefold()
    if not any(re.search(rf"\b{word}|helm(et)?s?\b", said) for word in table()["headgear"]):
        return ""
    found = [code for code, words in table()["kinds"] if any(re.search(rf"\b{re.escape(word)}", said) for word in words)]
    return found[0] if len(found) == 1 else ""


def is_ditto(text: str) -> bool:
    """Whether a cell repeats the one above: 'ditto', 'ditto, brass'."""
    first = re.split(r"[,; ]", text.strip(), maxsplit=1)[0]
    return bare(first) in table()["ditto"] or text.strip() in table()["ditto"]


def is_total(cells: list[str]) -> bool:
    """Whether a row sums up the list."""
    first = next((cell for cell in cells if cell.strip()), "")
    return bare(first) in table()["total"]
