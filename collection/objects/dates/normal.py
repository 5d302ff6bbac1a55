"""The words of a date brought to one spelling, so that the rules of reading can be few."""

import re
import unicodedata
from functools import lru_cache

from collection.objects.dates.conventions import Conventions

_DASHES = "\N{HYPHEN}\N{NON-BREAKING HYPHEN}\N{FIGURE DASH}\N{EN DASH}\N{EM DASH}\N{MINUS SIGN}"


def normal(text: str, house: Conventions) -> str:
    """Small letters, one kind of dash, one word each for about, probably, AD and BC, ordinals in figures."""
    plain = unicodedata.normalize("NFKC", text).lower().translate(dict.fromkeys(map(ord, _DASHES), "-"))
    for pattern, instead in _steps(house):
        plain = pattern.sub(instead, plain)
    plain = re.sub(r"[a-z-]+", lambda word: house.ordinals.get(word[0], word[0]), plain)
    return " ".join(plain.split()).strip(" .,;")


@lru_cache
def _steps(house: Conventions) -> tuple[tuple[re.Pattern[str], str], ...]:
    steps = (
        (r"\ba\.\s*d\.?(?![a-z])", "ad"),
        (r"\bb\.\s*c\.(?:\s*e\.)?|\bbce\b", "bc"),
        (r"\bc\.\s*e\.(?![a-z])|\bce\b", "ad"),
        (r"[(\[]\s*\?\s*[)\]]", "?"),
        (r"(?<=[0-9])(st|nd|rd|th)\s*(?:centuries|cent\b\.?|c\b\.?)", r"\1 century"),
        (r"\bmillenium\b", "millennium"),
        (r"\b(early|mid|late|ad|bc)(?=[0-9])", r"\1 "),
        (rf"(?<![a-z])(?:{house.any_of('about')})(?![a-z'])[.,]?\s*(?=[a-z0-9])", "about "),
        (r"~\s*(?=[0-9])", "about "),
        (rf"(?<![a-z])(?:{house.any_of('doubt')})(?![a-z])[.,]?\s*", "probably "),
        (r"\b(early|mid|late)\s*-\s*(?=to\b|[0-9])", r"\1 "),
    )
    return tuple((re.compile(pattern), instead) for pattern, instead in steps)
