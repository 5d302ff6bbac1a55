"""Stays made from movements: where each thing was told to be, during when."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from uuid import UUID

from django.conf import settings
from django.db.backends.postgresql.psycopg_any import DateTimeTZRange
from django.db.models import Q
from django.utils import translation

from collection.objects import card
from collection.objects.models import Component, Object
from locations.places import placing
from locations.places.models import Misplaced, Movement, Place, Stay
from locations.places.queries import NOWHERE, whereabouts, words_of
from museum import clock
from museum.history.models import Fact

#: things judged together
AT_ONCE = 500


def recut(*, components: Iterable[UUID] = (), mobiles: Iterable[UUID] = ()) -> None:
    """Makes the stays of these things anew from their movements. The caller holds their locks."""
    for key in components:
        _recut(Q(component_id=key), {"component_id": key})
    for key in mobiles:
        _recut(Q(mobile_id=key), {"mobile_id": key})


def _recut(thing: Q, owner: dict[str, UUID]) -> None:
    moves = list(Movement.objects.filter(thing, corrected_by=None, withdraws=False).order_by(*Fact.ORDER))
    Stay.objects.filter(thing).delete()
    Stay.objects.bulk_create(stays_of(moves, owner))


def stays_of(moves: Sequence[Movement], owner: dict[str, UUID]) -> list[Stay]:
    """One stay a movement, from it to the next; a movement overtaken within the same instant leaves none."""
    starts = [instant_of(move) for move in moves]
    stays = []
    for n, (move, start) in enumerate(zip(moves, starts, strict=True)):
        end = starts[n + 1] if n + 1 < len(moves) else None
        if end is None or start < end:
            stays.append(Stay(**owner, to=move.to, place_id=move.place_id, during=DateTimeTZRange(start, end), movement=move.pk))
    return stays


def instant_of(move: Movement) -> datetime:
    """When a movement counts from: its instant, else the first of its day."""
    return move.happened_at or clock.start_of(move.happened_on)


def tell_cards(object_ids: Iterable[UUID]) -> None:
    """Writes where things are onto their cards, in the house's own language. One walk up the tree for each place, not each thing."""
    keys, now = list(object_ids), clock.now()
    stays = Stay.objects.filter(component__object_id__in=keys, component__sort="main", during__contains=now)
    told = {key: (to, place) for key, to, place in stays.values_list("component__object_id", "to", "place_id")}
    spots: dict[tuple[str, UUID | None], list[UUID]] = {}
    for key in keys:
        spots.setdefault(told.get(key, (NOWHERE.to, None)), []).append(key)
    with translation.override(settings.LANGUAGE_CODE):
        for (to, place), things in spots.items():
            where = whereabouts(to, place, now)
            exact, building = words_of(where, exact=True), words_of(where, exact=False)
            card.set_place(things, place=place, place_text=exact, building_text=building)


def order_tree() -> None:
    """The walking order of the whole tree as a key that sorts: siblings by walk, then code."""
    children: dict[UUID | None, list[Place]] = {}
    for place in Place.objects.filter(mobile=False).order_by("walk", "code"):
        children.setdefault(place.parent_id, []).append(place)
    changed: list[Place] = []
    waiting: list[tuple[UUID | None, str]] = [(None, "")]
    while waiting:
        parent, prefix = waiting.pop()
        for n, place in enumerate(children.get(parent, [])):
            key = f"{prefix}{n:04}."
            waiting.append((place.pk, key))
            if place.path_key != key:
                place.path_key = key
                changed.append(place)
    Place.objects.bulk_update(changed, ["path_key"], batch_size=500)


def rebuild() -> int:
    """Every stay, the order of the tree, the places on all cards and what stands wrong; answers how many things have stays."""
    components = list(Component.objects.filter(movements__isnull=False).distinct().values_list("pk", flat=True))
    mobiles = list(Place.objects.filter(mobile=True).values_list("pk", flat=True))
    order_tree()
    recut(components=components, mobiles=mobiles)
    things = list(Object.objects.order_by("pk").values_list("pk", flat=True))
    tell_cards(things)
    Misplaced.objects.all().delete()
    for start in range(0, len(things), AT_ONCE):
        placing.restate(things[start : start + AT_ONCE])
    return len(components) + len(mobiles)
