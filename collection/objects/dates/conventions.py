"""The conventions of the house for dates: widths, parts, seasons, periods and the words for them.

The shipped ones stand in `conventions.json` (ours, printed in the manual; the days of the two world wars are those of
the first and last declarations). A society's settings come over them: `conventions({"about_years": 3})`.
"""

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

_SHIPPED: Final[Mapping[str, Any]] = json.loads(Path(__file__).with_name("conventions.json").read_text("utf-8"))


@dataclass(frozen=True, eq=False)
class Conventions:
    """What the reader goes by.

    `about_years`: how far 'about' reaches either side of a year. `seasons`: season code of EDTF to first month and
    count of months; a season that runs over the turn of the year is named by the year it begins in. `parts`: first and
    last hundredth of a century or millennium; `parts_of_decade`: first and last year of a decade, from 0.
    `periods`: name to EDTF.
    """

    about_years: int
    seasons: Mapping[str, Sequence[int]]
    parts: Mapping[str, Sequence[int]]
    parts_of_decade: Mapping[str, Sequence[int]]
    periods: Mapping[str, str]
    months: Mapping[str, int]
    season_words: Mapping[str, int]
    ordinals: Mapping[str, str]
    words: Mapping[str, Sequence[str]]

    def any_of(self, group: str) -> str:
        """A regular expression for the words of a group, longest first."""
        names = sorted(self.words[group], key=len, reverse=True)
        return "|".join(re.escape(name) for name in names)


def conventions(changed: Mapping[str, Any] | None = None) -> Conventions:
    """The shipped conventions with a society's changes over them."""
    made = {**_SHIPPED, **(changed or {})}
    ordinals = made["ordinals"]
    periods = {_figures(name, ordinals): row["edtf"] for row in made["periods"] for name in row["names"]}
    parts = {_figures(name, ordinals): part for name, part in made["parts"].items()}
    return Conventions(**{**made, "periods": periods, "parts": parts})


def _figures(name: str, ordinals: Mapping[str, str]) -> str:
    """The name as the reader spells it: small letters, ordinals in figures."""
    return " ".join(ordinals.get(word, word) for word in name.lower().split())


SHIPPED: Final = conventions()
