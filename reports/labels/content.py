"""What stands on labels, gathered for one person: things, their lettered parts, boxes and places with all that is in them."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final
from uuid import UUID

from django.conf import settings
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from collection.objects.dangers import DANGERS
from collection.objects.models import Card, Number, Object
from collection.objects.queries import hazards_in_force
from locations.places.models import Place
from locations.places.queries import objects_below, path_of
from museum.errors import Invalid, NotFound
from museum.people.actor import Actor
from reports.labels.codes import content_for
from reports.labels.stock import Words

#: more at once would keep the worker from everything else for long
MOST: Final = 500
#: the level at which a thing is not opened and not worked on
HELD: Final = 3


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which labels are asked for."""

    things: Sequence[UUID] = ()
    places: Sequence[UUID] = ()
    #: of everything that is in the places too
    inside: bool = False
    #: of the parts that have a number of their own too
    parts: bool = False


@dataclass(frozen=True, slots=True)
class Label:
    """One label: its words and what its code says. `place` or `thing` is what it is of."""

    words: Words
    code: str
    thing: UUID | None = None
    place: UUID | None = None


def labels_for(actor: Actor, wanted: Wanted) -> list[Label]:
    """The labels: places in the order given, then things by number, each with its parts; a thing without any number has none.

    Raises NotFound, Forbidden, Invalid.
    """
    places = _places(actor, wanted.places)
    inside = {place.pk: objects_below(place.pk) for place in places}
    keys = [*wanted.things, *(key for found in inside.values() for key in found if wanted.inside)]
    visible = Object.objects.visible_to(actor)
    if visible.filter(pk__in=wanted.things).count() != len(set(wanted.things)):
        raise NotFound
    cards = list(Card.objects.filter(object__in=visible.filter(pk__in=keys)).exclude(number="").order_by("number_sort", "object"))
    levels = hazards_in_force({card.object_id for card in cards} | {key for found in inside.values() for key in found})
    labels = [_of_place(place, [levels.get(key, {}) for key in inside[place.pk]]) for place in places]
    parts = _parts(card.object_id for card in cards) if wanted.parts else {}
    for card in cards:
        labels += _of_thing(card, levels.get(card.object_id, {}), parts.get(card.object_id, ()))
    if len(labels) > MOST:
        raise Invalid(_("These are %(n)d labels; at most %(most)d are printed at once. Choose fewer."), field="thing", n=len(labels), most=MOST)
    return labels


def _places(actor: Actor, keys: Sequence[UUID]) -> list[Place]:
    if not keys:
        return []
    actor.demand("place.see_exact")
    found = Place.objects.filter(closed_on=None).in_bulk(list(keys))
    if len(found) != len(set(keys)):
        raise NotFound
    return [found[key] for key in dict.fromkeys(keys)]


def _parts(object_ids: Iterable[UUID]) -> Mapping[UUID, Sequence[Number]]:
    rows = Number.objects.filter(object__in=list(object_ids), component__isnull=False, state=Number.State.CURRENT).exclude(component__sort="main")
    found: dict[UUID, list[Number]] = {}
    for row in rows.select_related("component").order_by("sort_key"):
        found.setdefault(row.object_id, []).append(row)
    return found


def _of_thing(card: Card, levels: Mapping[str, int], parts: Sequence[Number]) -> list[Label]:
    caution, short = caution_words(levels)
    labels = [Label(Words(card.number, card.name, caution, short), _code("N", card.number), card.object_id)]
    for row in parts:
        name = f"{row.component}, {card.name}" if row.component else card.name
        labels.append(Label(Words(row.text, name, caution, short), _code("N", row.text), card.object_id))
    return labels


def _of_place(place: Place, inside: Sequence[Mapping[str, int]]) -> Label:
    """The dangers of all that is in it stand on it; a box says where it stands."""
    worst: dict[str, int] = {}
    for levels in inside:
        for code, level in levels.items():
            worst[code] = max(level, worst.get(code, 0))
    caution, short = caution_words(worst)
    # The nearest first: what does not fit is the building.
    where = ", ".join(one.name for one in path_of(place.pk)[1:]) if place.mobile else ""
    return Label(Words(place.code, place.name, caution, short, where), _code("P", place.code), place=place.pk)


def caution_words(levels: Mapping[str, int]) -> tuple[str, str]:
    """The caution of these dangers, and in few words; nothing where there are none."""
    if not levels:
        return "", ""
    codes = sorted(levels, key=lambda code: (-levels[code], code))
    names = "; ".join(str(DANGERS.get(code, code)) for code in codes)
    if max(levels.values()) >= HELD:
        whole = _("HELD, do not open or work on it: %(dangers)s. Local rules and licensed people first.") % {"dangers": names}
        return whole, _("HELD, do not open. See its page.")
    whole = _("CAUTION: %(dangers)s. Gloves and mask; local rules and a qualified person first.") % {"dangers": names}
    return whole, ngettext("CAUTION: %(n)d danger, see its page.", "CAUTION: %(n)d dangers, see its page.", len(codes)) % {"n": len(codes)}


def _code(door: str, text: str) -> str:
    return content_for(settings.SITE_URL, door, text)
