"""The accession sheet: one object as the register knows it, for the file on permanent paper."""

from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from collection.objects.models import Component, Object, Photograph, Statement
from collection.objects.queries import photographs_of, standing_fields, text_of
from locations.places.models import Home
from locations.places.queries import path_of, where_is, words_of
from museum.history.models import Change, Fact
from museum.people.actor import Actor
from museum.people.models import Person
from reports.documents import common
from reports.registry import Gathered, document

#: fields that have a place of their own on the sheet
APART = frozenset({"name", "date_made", "dimensions", "marks", "description", "earlier_treatment", "features", "remarks"})


@document(
    "accession_sheet",
    title=gettext_lazy("Accession sheet"),
    version="1",
    permission="paper.issue",
    seen_by="place.see_exact",
)
def accession_sheet(subject: UUID, actor: Actor) -> Gathered:
    """Of an object by its key. No value, no address, nobody's name that the record calls personal."""
    thing = common.object_for(actor, subject)
    said = common.statements_of(thing)
    data = {
        "object": common.heading(thing) | {"kind": thing.kind.code, "in_care_since": thing.created_on.isoformat()},
        "description": common.texts_of(said, "description"), "features": common.texts_of(said, "features"),
        "fields": _fields(said), "measures": common.texts_of(said, "dimensions"),
        "marks": [_mark(row) for row in said.get("marks", [])], "date": _date(said.get("date_made", [])),
        "parts": common.parts_of(thing), "earlier": common.texts_of(said, "earlier_treatment"),
        "remarks": common.texts_of(said, "remarks"), "ownership": _ownership(thing), "places": _places(thing),
        "dangers": common.dangers(thing), "history": _history(thing), "pictures": _pictures(thing),
    }  # fmt: skip
    title = _("Accession sheet, %(number)s %(name)s") % {"number": thing.card.number, "name": thing.card.name}
    return Gathered(data, title, common.page_of(thing), [("object", thing.pk)])


def _fields(said: dict[str, list[Statement]]) -> list[dict[str, Any]]:
    """What else the record says, in the order of its fields."""
    return [
        {"name": text_of(field.texts), "texts": [common.reading(row) for row in said[field.code]]}
        for field in standing_fields()
        if field.code in said and field.code not in APART
    ]


def _mark(row: Statement) -> dict[str, Any]:
    value = row.value or {}
    return {name: value.get(name, "") for name in ("text", "kind", "place", "method", "reading")}


def _date(rows: list[Statement]) -> dict[str, str]:
    """As found, with the days it lies between."""
    value = (rows[0].value or {}) if rows else {}
    return {
        "text": rows[0].words if rows else "",
        **{name: value.get(name, "") for name in ("edtf", "earliest", "latest")},
    }


def _ownership(thing: Object) -> list[dict[str, str]]:
    """Whose it was and is, from which day, by what evidence."""
    rows = thing.ownerships.filter(corrected_by=None, withdraws=False).order_by(*Fact.ORDER)
    return [
        {
            "on": row.happened_on.isoformat(),
            "words": row.happened_words,
            "whose": row.get_whose_display(),
            "evidence": row.evidence,
        }
        for row in rows
    ]


def _places(thing: Object) -> dict[str, str]:
    """The normal place, and where it stands."""
    home = Home.objects.filter(component__object=thing, component__sort=Component.Sort.MAIN, corrected_by=None, withdraws=False)
    last = home.order_by(*Fact.ORDER).last()
    normal = " › ".join(place.name for place in reversed(path_of(last.place_id))) if last else ""
    return {"normal": normal, "now": words_of(where_is(thing), exact=True)}


def _history(thing: Object) -> dict[str, Any] | None:
    """How much the history holds about it, and its last entry: what a later sheet is compared with."""
    entries = Change.objects.filter(about__kind="object", about__key=thing.pk).exclude(what="paper.issued")
    last = entries.order_by("-n").first()
    if last is None:
        return None
    by = Person.objects.filter(pk=last.who).values_list("name", flat=True).first() if last.who else None
    return {"count": entries.count(), "last": last.n, "on": last.at.isoformat(), "by": by or ""}


def _pictures(thing: Object) -> list[dict[str, Any]]:
    """One of the whole, the newest of the marks and of the front."""
    best: dict[str, Photograph] = {}
    for one in photographs_of("object", thing.pk).select_related("file", "taken_by"):
        best.setdefault(one.view, one)
    chosen = [best[view] for view in ("V05", "V01", "V04", "V03", "V02", "V06") if view in best][:1]
    chosen += [best[view] for view in ("V11", "V10") if view in best]
    chosen = chosen or list(best.values())[:1]
    return [common.picture(one, one.view) for one in chosen]
