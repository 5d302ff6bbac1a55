"""What columns, cells and rows of old registers are usually called; the table is data/words.json."""

import json
import re
import unicodedata
from collections.abc import Mapping
from difflib import get_close_matches
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


def _folded(text: str) -> str:
    """The same without accents and with one kind of apostrophe and space."""
    apart = unicodedata.normalize("NFKD", bare(text.replace("_", " ").replace("’", "'").replace("ß", "ss")))
    return "".join(sign for sign in apart if not unicodedata.combining(sign))


@cache
def _target_by_heading() -> Mapping[str, str]:
    return {_folded(word): target for target, words in table()["columns"].items() for word in words}


def target_called(heading: str) -> str:
    """The target that a column of this heading is usually meant for; '' where none is.

    What stands in brackets, units, and a slip of one letter are passed over: 'Height (mm)', 'Materail'.
    """
    known, whole = _target_by_heading(), _folded(heading)
    plain = re.sub(r"\s*[\[(].*?[\])]\s*", " ", whole)
    without_unit = re.sub(r"[\s,/]+(?:in\s+)?(?:mm|cm|kg|g|lb|inches|ins?)$", "", plain.strip(" .:*?"))
    pieces = re.split(r"\s*(?:/|&|,|;|\n|\bor\b|\band\b|\boder\b|\bund\b|\bou\b|\bet\b)\s*", without_unit)
    for way in (whole, plain.strip(" .:*?"), without_unit, *pieces):
        tight = re.sub(r"\s*\.\s*", " ", way).strip(" .:*?'\"-")
        if target := known.get(way) or known.get(tight) or known.get(tight.replace("-", " ")):
            return target
    close = get_close_matches(without_unit, known, n=1, cutoff=0.86) if len(without_unit) > 4 else []
    return known[close[0]] if close else ""


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
