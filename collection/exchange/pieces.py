"""A cell with several numbers, taken apart: what a person is offered, never what is stored without asking."""

import re
from typing import Final

from collection.objects.numbers import NumberQuestion, ObjectNumber, parse_number, part_letters, part_position

MOST_PIECES: Final = 60
_LETTERS = re.compile(r"(.*[0-9])(\.?)([A-Za-z]{1,2})((?:\s*[-\N{EN DASH},&]\s*\.?[A-Za-z]{1,2})+)")


def numbers_in(text: str) -> list[str]:
    """The numbers of a cell, each once: '57.1050, 57.1051', '1974.12.4 & 5', '1998.14.2.A-B'; else as it is cut."""
    if lettered := _LETTERS.fullmatch(text.strip()):
        return _lettered(*lettered.groups())
    read = parse_number(text)
    if isinstance(read, NumberQuestion) and read.why == "several_numbers" and len(read.offers) > 1:
        return list(read.offers)[:MOST_PIECES]
    cut = (piece.strip(" .") for piece in re.split(r"[,;&\n()]|\band\b|\bund\b|\bet\b|\bto\b|\bbis\b", text))
    return list(dict.fromkeys(piece for piece in cut if re.search("[0-9]", piece)))[:MOST_PIECES]


def _lettered(stem: str, dot: str, first: str, more: str) -> list[str]:
    """The stem with each letter; a dash runs over those between."""
    found = [first]
    for mark, letters in re.findall(r"([-\N{EN DASH},&])\s*\.?([A-Za-z]{1,2})", more):
        start, end = part_position(found[-1].lower()), part_position(letters.lower())
        between = range(start + 1, end) if mark in "-\N{EN DASH}" and start < end < start + MOST_PIECES else ()
        letters_between = [part_letters(n) for n in between]
        found += [one.upper() if letters.isupper() else one for one in letters_between] + [letters]
    return [f"{stem}{dot}{letter}" for letter in dict.fromkeys(found)]


def whole_of(pieces: list[str]) -> str:
    """The number of ours of which all the pieces are parts; '' where there is none."""
    read = [parse_number(piece) for piece in pieces]
    wholes = {str(one.whole) for one in read if isinstance(one, ObjectNumber) and one.part}
    return wholes.pop() if len(wholes) == 1 and all(isinstance(one, ObjectNumber) and one.part for one in read) else ""
