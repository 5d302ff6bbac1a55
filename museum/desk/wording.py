"""Codes that the history keeps, in words for a time-line."""

from collections.abc import Sequence
from datetime import date
from typing import Any, Final

from django.db import models
from django.db.models import QuerySet
from django.db.models.functions import JSONObject
from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.text import capfirst
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from collection.objects.models import Booking, Component, Kind, Material, Opening
from collection.objects.queries import text_of
from conservation.checks.models import ConditionCheck
from conservation.rules.tables import hazards
from locations.places.models import Movement, Place
from museum.history.models import Change

#: what is told of a danger, by its level
LEVELS: Final[Sequence[Promise]] = (_("no danger: closed"), _("suspected"), _("likely"), _("held: nobody works on it"))
#: beginning of the history's code and name of the value to the list it is from
LISTS: Final[dict[tuple[str, str], type[models.TextChoices]]] = {
    ("check", "sort"): ConditionCheck.Sort,
    ("call", "sort"): ConditionCheck.Sort,
    ("booking", "kind"): Booking.Kind,
    ("component", "sort"): Component.Sort,
    ("movement", "to"): Movement.To,
    ("opening", "opened"): Opening.Why,
}
#: beginning of the history's code and name of the value to what knows its codes by name, as texts by language
WORDS: Final[dict[tuple[str, str], QuerySet[Any, Any]]] = {
    ("object", "kind"): Kind.objects.values_list("code", "texts"),
    ("made_of", "material"): Material.objects.values_list("code", "texts"),
    ("opening", "material"): Material.objects.values_list("code", "texts"),
    ("humidity", "place"): Place.objects.values_list("code", JSONObject(en="name")),
    ("movement", "place"): Place.objects.values_list("code", JSONObject(en="name")),
}


def texts_for(rows: Sequence[Change]) -> dict[str, str]:
    """The reader's words for the kinds, materials and places that these entries name."""
    words: list[QuerySet[Any, tuple[str, dict[str, str]]]] = []
    for (about, name), known in WORDS.items():
        codes = {row.after.get(name) for row in rows if row.what.startswith(f"{about}.") and isinstance(row.after, dict)} - {None}
        if codes:
            words.append(known.filter(code__in=codes))
    return {code: text_of(texts) for code, texts in words[0].union(*words[1:], all=True)} if words else {}


def in_words(what: str, name: str, value: Any, texts: dict[str, str]) -> str:
    """One value of an entry as a person says it."""
    text, about = str(value), what.partition(".")[0]
    if chosen := LISTS.get((about, name)):
        return str(dict(chosen.choices).get(text, text))
    if name == "code" and text in hazards():
        return gettext(hazards()[text].name)
    if what == "hazard.told" and name == "level":
        return str(LEVELS[int(value)])
    if name.endswith("_on"):
        return date_format(date.fromisoformat(text), "SHORT_DATE_FORMAT")
    if name == "clock":
        return gettext("the clock of the device was doubtful")
    if name in ("grade", "urgency"):
        return f"{capfirst(gettext(name))} {text}"
    return texts.get(text, text.replace("_", " ") if name in ("field", "material", "sort", "kind") else text)
