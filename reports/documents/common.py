"""What several documents say of an object."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.urls import reverse
from django.utils.translation import gettext as _

from collection.objects.models import Component, Object, Photograph, Statement
from collection.objects.queries import accepted, hazards_in_force, in_force, material_words, ownership_of
from conservation.rules.tables import hazards, views
from museum.errors import NotFound
from museum.people.actor import Actor
from museum.people.models import Society


def object_for(actor: Actor, object_id: UUID) -> Object:
    """The object, if this person may see it."""
    found = Object.objects.visible_to(actor).select_related("kind", "card").filter(pk=object_id).first()
    if found is None:
        raise NotFound
    return found


def page_of(thing: Object) -> str:
    """The object's page."""
    return reverse("desk:thing", args=[thing.pk])


def heading(thing: Object) -> dict[str, Any]:
    """Number, former numbers, name: what tells one object from the next."""
    former = thing.numbers.exclude(text=thing.card.number).exclude(state="withdrawn").order_by("sort_key")
    return {
        "number": thing.card.number,
        "former": [{"text": row.text, "series": row.get_series_display()} for row in former if row.component_id is None],
        "name": thing.card.name,
        "broader_name": thing.card.broader_name,
        "made": thing.card.date_text,
        "owner": owner_words(thing),
        "how_many": thing.how_many,
    }


def owner_words(thing: Object) -> str:
    """Whose it is, in words; with the society's name where it is its own."""
    whose = ownership_of([thing.pk]).get(thing.pk, "")
    words = dict(thing.ownerships.model._meta.get_field("whose").flatchoices).get(whose)
    if words is None:
        return _("not recorded")
    return f"{Society.load().name}: {words}" if whose.startswith("own") else str(words)


def parts_of(thing: Object) -> list[dict[str, Any]]:
    """Each part with its letter, sort and materials."""
    return [_part(part) for part in thing.components.order_by("position", "letter")]


def _part(part: Component) -> dict[str, Any]:
    made_of = in_force(part.made_of.select_related("material"))
    words: dict[str, list[str]] = {}
    for row in made_of:
        text = ", ".join(filter(None, [*material_words([row.material.code]), row.finish]))
        words.setdefault(row.zone, []).append(text)
    number = part.numbers.filter(state="current").values_list("text", flat=True).first()
    return {
        "letter": part.letter, "name": part.name, "sort": part.get_sort_display(), "number": number or "",
        "materials": [{"zone": zone, "words": ", ".join(texts)} for zone, texts in words.items()],
    }  # fmt: skip


def statements_of(thing: Object, *, personal: bool = False) -> dict[str, list[Statement]]:
    """Field code to what the record says; what is about people is left out of papers that travel."""
    found: dict[str, list[Statement]] = {}
    for row in accepted([thing.pk]):
        if personal or not row.field.personal:
            found.setdefault(row.field.code, []).append(row)
    return found


def texts_of(said: Mapping[str, list[Statement]], code: str) -> list[str]:
    """What stands in a field, as words."""
    return [reading(row) for row in said.get(code, [])]


def reading(row: Statement) -> str:
    """One statement as it reads, a label before a measure."""
    label = (row.value or {}).get("label", "")
    text = row.words or str((row.value or {}).get("text", ""))
    return f"{label}: {text}" if label and not text.startswith(label) else text


def dangers(thing: Object) -> list[dict[str, Any]]:
    """Open hazards, the worst first, with what to do at the step."""
    levels = hazards_in_force([thing.pk]).get(thing.pk, {})
    known = hazards()
    return [
        {
            "name": _(known[code].name) if code in known else code, "level": level,
            "do": _(known[code].do) if code in known else "", "do_not": _(known[code].do_not) if code in known else "",
            "who": _(known[code].who) if code in known else "",
        }
        for code, level in sorted(levels.items(), key=lambda one: (-one[1], one[0]))
    ]  # fmt: skip


def picture(row: Photograph, ref: str) -> dict[str, Any]:
    """A photograph as data: by the hash of its original."""
    view = views().get(row.view)
    return {
        "ref": ref, "view": row.view, "view_words": _(view.name) if view else "", "sha256": row.file.sha256,
        "on": row.happened_on.isoformat(), "by": row.taken_by.name if row.taken_by else "", "caption": row.caption,
    }  # fmt: skip
