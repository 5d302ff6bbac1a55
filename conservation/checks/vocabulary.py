"""The words a check offers: terms that fit the material first, the steps of severity and activity, percents with pictures."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, Final, TypeVar

from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from conservation.checks.models import Observation
from conservation.rules.tables import EventRule, HazardWord, Term, terms
from museum.web.templatetags import look

#: terms shown before the search: those of few materials say most about a zone
MOST_FIRST: Final = 12
#: the shares of which there is a picture
PERCENTS: Final = ("0.1", "0.5", "1", "3", "8", "16", "33", "50")
SEVERITIES: Final[Sequence[tuple[int, Promise, Promise | str]]] = (
    (1, _("Looks only"), ""),
    (2, _("Surface layer"), _("no strength lost")),
    (3, _("Material lost or weakened"), _("or a mark at risk")),
    (4, _("Broken or nearly lost"), ""),
)
ACTIVITIES: Final[Sequence[tuple[int, Promise, Promise | str]]] = (
    (0, _("Stable"), _("test passed, or a year unchanged")),
    (1, _("I do not know"), ""),
    (2, _("Active, slow"), ""),
    (3, _("Active, fast"), _("or spreading")),
)
SIDES: Final = (
    ("", _("not said")), ("F", _("front")), ("B", _("back")), ("L", _("wearer’s left")), ("R", _("wearer’s right")), ("T", _("top")), ("U", _("underside")),
)  # fmt: skip
#: what people read of a row, whatever its table
SPOKEN: Final = frozenset({"name", "reason", "where", "clue", "do", "do_not", "who"})
CHANGES: Final = tuple(Observation.Change.choices)

W = TypeVar("W", HazardWord, EventRule)


@dataclass(frozen=True, slots=True)
class Offer:
    """The terms for a zone: those of its materials first, then those of anything, then the rest."""

    first: Sequence[Term]
    rest: Sequence[Term]
    words: str

    @property
    def all_count(self) -> int:
        return len(self.first) + len(self.rest)


def offer_terms(materials: Collection[str], names: Collection[str] = ()) -> Offer:
    """The terms with those first that are seen on one of these materials. `names` are the materials in words."""
    known = set(materials)
    words = [replace(term, name=gettext(term.name)) for term in terms().values()]
    fitting = [term for term in words if term.materials & known]
    first = sorted(fitting, key=lambda term: len(term.materials))[:MOST_FIRST]
    rest = [term for term in words if term not in first]
    return Offer(first, sorted(rest, key=lambda term: (bool(term.materials), term.name)), ", ".join(names))


def in_words(row: W) -> W:
    """A row of the rules' tables with the texts that people read in their language."""
    texts: dict[str, Any] = {name: gettext(text) for name in SPOKEN & {part.name for part in fields(row)} if (text := getattr(row, name))}
    return replace(row, **texts)


def term_words(code: str) -> str:
    """A term in the reader's language; the code where it is unknown."""
    term = terms().get(code)
    return gettext(term.name) if term else code


def depth_words(severity: object) -> str:
    """A step of severity by its word alone; nothing where none was said."""
    return next((str(word) for number, word, _more in SEVERITIES if str(number) == str(severity)), "")


def named(scale: str, step: int) -> str:
    """A step of severity or activity by its number and, in brackets, its word."""
    words = dict(enumerate(look.ACTIVITIES)) if scale == "activity" else {number: word for number, word, _more in SEVERITIES}
    return f"{step} ({words[step]})" if step in words else str(step)
