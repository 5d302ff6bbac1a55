"""'About' and 'probably' beside a date: ~ ? and % of EDTF."""

import re

from collection.objects.dates.atoms import Ask, Atom, read_atom
from collection.objects.dates.conventions import Conventions

#: what the signs may stand after
_ABOUT = ("year", "decade", "century", "millennium")
_DOUBT = (*_ABOUT, "month", "day", "season")
_SIGNS = {(True, True): "%", (True, False): "~", (False, True): "?", (False, False): ""}


def marks_of(words: str) -> tuple[bool, bool, str]:
    """Whether 'about' and 'probably' stand at the words, and the words without them."""
    about = doubt = False
    while True:
        if found := re.match("about |probably |[?] ?", words):
            mark, words = found[0], words[found.end() :]
        elif found := re.search("[ (]*([?]|about|probably)[ )]*$", words):
            mark, words = found[1], words[: found.start()]
        else:
            return about, doubt, words
        about, doubt = about or mark.startswith("about"), doubt or not mark.startswith("about")


def marked(atom: Atom, about: bool, doubt: bool, edtf: str = "") -> str:
    """The EDTF text with its sign. Raises Ask where the house has no meaning for it."""
    if about and atom.kind not in _ABOUT:
        raise Ask("about_on_more", atom.edtf)
    if doubt and atom.kind not in _DOUBT:
        raise Ask("doubt_on_more", atom.edtf)
    return (edtf or atom.edtf) + _SIGNS[about, doubt]


def read_end(words: str, house: Conventions, at: int) -> str | None:
    """One end of an interval, its own marks included; `at` 0 = start, 1 = end."""
    about, doubt, rest = marks_of(words)
    atom = read_atom(rest, house)
    return marked(atom, about, doubt, atom.ends[at]) if atom else None
