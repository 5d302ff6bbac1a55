"""Where a name stands besides the personal words that can be erased: notes, reasons, titles, what was said of a place or a batch.

Every table of what happened, and of what people keep, is looked through in all its free text; a test holds this list against
the tables there are. Nothing is changed here: each place is named with a link, for a person to deal with.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final
from uuid import UUID

from django.apps import apps
from django.db import models
from django.db.models import Q, TextField
from django.db.models.functions import Cast
from django.urls import reverse
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

#: of each table at most
MOST: Final = 50
#: letters shown before and after the words
BESIDE: Final = 40
#: the page of a row (its name, and the column that has its key) by table, under what a person calls such rows
TABLES: Final[Mapping[Promise, Mapping[str, tuple[str, str]]]] = {
    _("the record of a thing"): {
        "objects.Statement": ("objects:said", "component__object"), "objects.MadeOf": ("objects:parts", "component__object"),
        "objects.ZoneNote": ("objects:parts", "component__object"), "objects.Component": ("objects:parts", "object"),
        "objects.Number": ("objects:edit", "object"), "objects.Ownership": ("objects:edit", "object"), "objects.Object": ("objects:edit", "pk"),
        "objects.Booking": ("objects:planned", "object"), "objects.Photograph": ("", ""),
    },
    _("a danger, the ten questions"): {
        "objects.Hazard": ("objects:dangers", "object"), "objects.Opening": ("checks:thing_screen", "object"), "objects.LotScreen": ("checks:lots", ""),
    },
    _("a place, a move"): {
        "places.Place": ("places:place", "pk"), "places.Movement": ("places:move_thing", "component__object"),
        "places.HumidityDecision": ("places:move_thing", "object"),
    },
    _("the climate"): {
        "climate.Logger": ("climate:logger", "pk"), "climate.Placement": ("climate:logger", "logger"), "climate.Calibration": ("climate:logger", "logger"),
        "climate.Verdict": ("climate:logger", "logger"), "climate.Coverage": ("climate:room", "place"), "climate.Wall": ("climate:walls", "place"),
        "climate.ClimateFile": ("climate:file", "pk"), "climate.Settlement": ("climate:suspicion", "suspicion"), "climate.Spot": ("climate:room", "place"),
    },
    _("a check, a look asked for"): {
        "checks.ConditionCheck": ("checks:result", "pk"), "checks.Observation": ("checks:result", "of_check"),
        "checks.Overrule": ("desk:thing", "judgement__object"),
        "checks.Call": ("desk:thing", "object"), "checks.CallAnswer": ("desk:thing", "call__object"), "checks.Event": ("desk:thing", "object"),
        "checks.CardTest": ("desk:thing", "object"), "checks.Round": ("checks:round", "pk"), "checks.Stop": ("checks:round", "round"),
        "checks.Draft": ("desk:thing", "object"),
    },
    _("an incident"): {"checks.Incident": ("checks:incident", "pk"), "checks.IncidentStep": ("checks:incident", "incident")},
    _("a treatment"): {
        "treatments.Proposal": ("treatments:proposal", "pk"), "treatments.Decision": ("treatments:proposal", "proposal"),
        "treatments.Approval": ("treatments:proposal", "decision__proposal"), "treatments.Lapse": ("treatments:proposal", "approval__decision__proposal"),
        "treatments.StandingApproval": ("treatments:standing", ""), "treatments.StandingEnd": ("treatments:standing", ""),
        "treatments.DepositDecision": ("treatments:may", "finding__object"), "treatments.DepositDefault": ("treatments:deposit_defaults", ""),
        "treatments.OwnerLeave": ("treatments:may", "object"), "treatments.TestSpot": ("treatments:work", "work"),
        "treatments.WorkStep": ("treatments:work", "work"), "treatments.WorkEnd": ("treatments:work", "work"), "treatments.Kept": ("treatments:work", "work"),
        "treatments.FollowUp": ("treatments:work", "work"),
    },
    _("what people were shown"): {
        "treatments.Practice": ("learning:person", "person"), "people.Competence": ("learning:person", "person"),
        "people.CompetenceMark": ("learning:person", "competence__person"), "people.Qualification": ("people:person", "person"),
    },
    _("an invitation"): {"people.Invitation": ("treatments:invitations", "")},
    _("materials in stock"): {
        "treatments.Batch": ("stock:batch", "pk"), "treatments.BatchTest": ("stock:batch", "batch"), "treatments.BatchMark": ("stock:batch", "batch"),
        "treatments.BatchUse": ("stock:batch", "batch"),
    },
    _("a changed rule"): {"rules.RuleChange": ("rules:table", "table")},
    _("an issued paper"): {"papers.IssuedPaper": ("papers:paper", "pk"), "papers.Signature": ("papers:papers", "")},
    _("a list that was brought in"): {"exchange.ImportSession": ("exchange:imports", ""), "exchange.ImportRow": ("exchange:preview", "session")},
}  # fmt: skip
#: what people typed that lies in a column of another form
ALSO: Final = {"papers.IssuedPaper": ("data",), "checks.Draft": ("content",), "treatments.Proposal": ("steps",), "exchange.ImportRow": ("cells",)}
#: what can be written anew where it stands; all else stays as it was told
CHANGES: Final = frozenset({
    "objects.Statement", "objects.Component", "objects.Booking", "objects.Photograph", "places.Place", "climate.Logger", "checks.Draft", "treatments.Batch",
})  # fmt: skip


@dataclass(frozen=True, slots=True)
class Mention:
    """One text: in what it stands, its page ('' = none), the words with what stands round them, whether they can be written anew there.

    `more`: it is the last that was looked at in a table that has further ones.
    """

    what: str
    address: str
    text: str
    changes: bool
    more: bool = False


def stands_elsewhere(words: str) -> list[Mention]:
    """Where all of these words stand together in one text, of each table the newest; nothing for no words."""
    parts = words.split()
    return [one for what, tables in TABLES.items() for name, page in tables.items() for one in _in_table(str(what), name, page, parts)] if parts else []


def texts_of(model: type[models.Model]) -> list[str]:
    """The columns of a table in which people write freely."""
    return [one.name for one in model._meta.concrete_fields if isinstance(one, TextField) and not one.choices] + list(ALSO.get(model._meta.label, ()))


def _in_table(what: str, name: str, page: tuple[str, str], parts: list[str]) -> Iterator[Mention]:
    model = apps.get_model(name)
    columns = texts_of(model)
    whole: dict[str, Any] = {f"said_{column}": Cast(column, TextField()) for column in columns}
    found = Q(pk__in=[])
    for column in whole:
        found |= Q(*(Q(**{f"{column}__icontains": part}) for part in parts))
    rows = model._default_manager.alias(**whole).filter(found)
    if name == "objects.Statement":
        rows = rows.filter(field__personal=False)
    held = list(rows.order_by("-pk").values_list(page[1] or "pk", *columns)[: MOST + 1])
    told = [
        Mention(what, _address(page, key), _around(text, parts[0]), name in CHANGES)
        for key, *said in held[:MOST]
        for value in said
        for text in _saying(parts, list(dict.fromkeys(_texts(value))))
    ]
    yield from told[:-1] if len(held) > MOST else told
    if told and len(held) > MOST:
        yield replace(told[-1], more=True)


def _saying(parts: list[str], texts: list[str]) -> list[str]:
    """The texts of a column that say all of the words; where only several together do, as the cells of a row, those joined."""
    for some in (texts, [" · ".join(texts)]):
        if found := [text for text in some if all(part.casefold() in text.casefold() for part in parts)]:
            return found
    return []


def _texts(value: Any) -> Iterator[str]:
    """What people read of a column: of one with a form of its own each text in it, without the names of its parts."""
    if isinstance(value, dict | list):
        for one in value.values() if isinstance(value, dict) else value:
            yield from _texts(one)
    elif value is not None:
        yield str(value)


def _address(page: tuple[str, str], key: UUID | str | None) -> str:
    """The page of a row; '' where it has none of its own, as the move of a box."""
    name, column = page
    if not name or (column and key is None):
        return ""
    return reverse(name, args=[key] if column else [])


def _around(text: str, part: str) -> str:
    at = text.casefold().find(part.casefold())
    begin, end = max(0, at - BESIDE), at + len(part) + BESIDE
    return ("… " if begin else "") + text[begin:end] + (" …" if end < len(text) else "")
