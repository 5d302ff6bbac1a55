"""Fills a house with generated things."""

import random
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from django.conf import settings
from django.db import connections
from django.utils import translation
from django.utils.translation import gettext_lazy as _

from collection.objects.models import Number
from collection.objects.numbers import ObjectNumber
from conservation.checks import follow
from locations.places.actions import make_place
from locations.places.derived import order_tree
from locations.places.models import Movement, Place
from locations.places.queries import whereabouts, words_of
from museum import clock
from museum.desk.generating import moulds, words
from museum.desk.generating.casting import Mould
from museum.desk.generating.press import Days, Press, keys
from museum.errors import DomainError
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person, Society

SEED: Final = 1938
A_BATCH: Final = 1_000
MOST_MOULDS: Final = 48
#: things to a shelf, shelves to a room, rooms to a building
TO_A_SHELF, TO_A_ROOM, TO_A_BUILDING = 50, 30, 20
#: lots are of eight things and run over these years
YEARS: Final = range(1946, 2020)
TO_A_LOT: Final = 8
#: how far back a thing's days are moved at the most
BACK: Final = 300


class NobodyToCheck(DomainError):
    """Generated checks are somebody's."""

    code = "nobody_to_check"
    template = _("A house needs its society and a registrar before it can be filled. Begin it: bin/manage first_administrator")


@dataclass(frozen=True, slots=True)
class Shelf:
    """Where stamps can stand, and how its cards say so."""

    told: Mapping[str, str]
    use: str


def fill(objects: int, say: Callable[[str], object] = lambda _told: None) -> None:
    """Adds so many generated things with their history. Each thousand is written whole or not at all.

    Raises NobodyToCheck.
    """
    registrar, checkers = _people()
    dice = random.Random(SEED)
    moulds.keep_pictures(PROGRAM)
    cast = _moulds(objects, dice, registrar, checkers)
    fresh = keys(dice)
    shelves = _shelves(objects, fresh)
    # Whatever was done before is judged first, so that the mark of what was read can pass over what comes now.
    follow.catch_up()
    numbers, days = _numbers(), Days()
    for start in range(0, objects, A_BATCH):
        with Press(fresh, days) as press:
            for _one in range(min(A_BATCH, objects - start)):
                mould = dice.choice(cast)
                press.stamp(mould, _told(dice, mould, next(numbers), dice.choice(shelves[mould.use])), dice.randint(-BACK, mould.room - 1))
        say(f"{min(start + A_BATCH, objects)} of {objects}")
    _look_over()


def _people() -> tuple[Actor, Sequence[Actor]]:
    actors = [Actor.of(person) for person in Person.objects.filter(left_on=None).order_by("pk")]
    registrar = next((actor for actor in actors if actor.may("number.issue")), None)
    if registrar is None or not Society.objects.exists():
        raise NobodyToCheck
    return registrar, [actor for actor in actors if actor.may("check.record")]


def _moulds(objects: int, dice: random.Random, registrar: Actor, checkers: Sequence[Actor]) -> list[Mould]:
    count = max(6, min(MOST_MOULDS, objects // 50))
    return [moulds.thing_mould(moulds.recipe(dice), dice, registrar, checkers) for _one in range(count)]


def _told(dice: random.Random, mould: Mould, number: ObjectNumber, shelf: Shelf) -> dict[str, str]:
    """What this one thing is told of itself."""
    return {
        **shelf.told, "number": str(number), "number_sort": number.sort_key[:-1], "name": words.name(dice, mould.kind), "words": words.description(dice),
    }  # fmt: skip


def _numbers() -> Iterator[ObjectNumber]:
    """Numbers that nothing has carried, lot by lot over the years."""
    given = Number.objects.filter(series="accession").order_by("sort_key").values_list("text", flat=True)
    highest: dict[int, int] = {}
    for text in given.iterator():
        year, lot = (int(part) for part in text.split(".")[:2])
        highest[year] = max(lot, highest.get(year, 0))
    while True:
        for year in YEARS:
            highest[year] = highest.get(year, 0) + 1
            yield from (ObjectNumber("", year, highest[year], item) for item in range(1, TO_A_LOT + 1))


def _shelves(objects: int, fresh: Iterator[str]) -> dict[str, list[Shelf]]:
    """New shelves in new rooms, by what the rooms are for: of five rooms one is for display."""
    count = max(10, objects // TO_A_SHELF)
    rooms = _rooms(max(5, count // TO_A_ROOM))
    mould, days = moulds.shelf_mould(), Days()
    made: list[str] = []
    with Press(fresh, days) as press:
        for n in range(count):
            room, shelf = rooms[n % len(rooms)], n // len(rooms) + 1
            code = f"{room.code}-{shelf:03}"
            made.append(code)
            press.stamp(mould, {"parent": str(room.pk), "code": code, "name": f"Shelf {shelf}"})
    order_tree()
    return _by_use(Place.objects.filter(code__in=made, closed_on=None))


def _rooms(count: int) -> list[Place]:
    first = Place.objects.filter(level="building", code__startswith="G").count() + 1
    made = []
    for n in range(count):
        if n % TO_A_BUILDING == 0:
            house = first + n // TO_A_BUILDING
            building = make_place(PROGRAM, place_id=uuid7(), level="building", code=f"G{house}", name=f"Granary {house}")
        room, use = n % TO_A_BUILDING + 1, "display" if n % 5 == 4 else "store"
        made.append(_room(building, room, use))
    return made


def _room(building: Place, room: int, use: str) -> Place:
    code = f"{building.code}-{room}"
    return make_place(PROGRAM, place_id=uuid7(), level="room", code=code, name=f"Loft {room}", parent_id=building.pk, use=use, walk=room)


def _by_use(places: Iterable[Place]) -> dict[str, list[Shelf]]:
    found: dict[str, list[Shelf]] = {}
    with translation.override(settings.LANGUAGE_CODE):
        for place in places:
            where = whereabouts(Movement.To.PLACE, place.pk, clock.now())
            told = {
                "place": str(place.pk), "code": place.code, "place_words": words_of(where, exact=True), "building_words": words_of(where, exact=False),
            }  # fmt: skip
            found.setdefault(where.use, []).append(Shelf(told, where.use))
    return found


def _look_over() -> None:
    """So that the database knows how much of what there is; only the owner may ask it to look."""
    with connections["owner" if "owner" in connections else "default"].cursor() as cursor:
        cursor.execute("ANALYZE")
