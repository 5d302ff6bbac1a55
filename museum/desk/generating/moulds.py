"""Makes things through the actions, reads what was written, and undoes it."""

import random
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any, Final
from uuid import UUID

from django.conf import settings
from django.db import transaction

from collection.objects import card
from collection.objects.actions.objects import create_object
from collection.objects.actions.photographs import add_photograph, make_smaller
from collection.objects.models import (
    Acceptance,
    Card,
    Component,
    Derivative,
    Hazard,
    MadeOf,
    Number,
    Object,
    Ownership,
    Photograph,
    Screen,
    Shows,
    Statement,
    ZoneNote,
)
from collection.objects.photos import Upload
from collection.objects.queries import zones_of
from conservation.checks.actions.record import record_check
from conservation.checks.entry import CheckEntry, Seen, ZoneKey
from conservation.checks.models import Call, CallAnswer, ConditionCheck, Due, Finding, Judgement, Observation, State
from locations.places.actions import make_place, move_object
from locations.places.models import Movement, Place, Stay
from museum import clock
from museum.desk.demo.museum import NO_TO_ALL, TROUBLES
from museum.desk.generating import words
from museum.desk.generating.casting import N_HOLE, Mould, mould_of
from museum.history.models import Change
from museum.ids import uuid7
from museum.papers import files
from museum.people import action as frame
from museum.people.actor import PROGRAM, Actor

PICTURES: Final = settings.BASE_DIR / "fixtures" / "demo" / "pictures"
VIEWS: Final = ("V01", "V04", "V08")
#: what stands where something is told of each stamp; a lot that no society reaches, words that nobody writes
NUMBER, NUMBER_SORT, NAME, WORDS = "2199.654321.7", "   2199654321000007", "qxname", "qxwords"
BUILDING, ROOM, SHELF, CODE = "Qxbuilding", "Qxroom", "Qxshelf", "QXCODE"
#: days ago on which a mould's thing was entered, and between which its checks fell
ENTERED, FIRST, SECOND = 720, (380, 700), (10, 350)
LINER: Final = {"sort": "loose", "name": "liner shell", "lettered": True, "zones": ["SH", "IN", "RB", "LN", "HB"]}


@dataclass(frozen=True, slots=True)
class Recipe:
    """What a mould is made by: the thing, what its place is for, and how often it was looked at."""

    kind: str
    materials: Sequence[str]
    use: str
    looks: Sequence[str]
    photographs: int
    parts: bool
    public: bool


def recipe(dice: random.Random) -> Recipe:
    """One of the situations that a museum has, drawn."""
    kind = dice.choice(sorted(words.THINGS))
    looks = dice.choices(((), ("full",), ("full", "full"), ("full", "quick"), ("full", "needs_full")), (6, 10, 54, 25, 5))[0]
    return Recipe(
        kind, dice.choice(words.THINGS[kind][1]), dice.choices(("store", "display"), (4, 1))[0], looks, dice.choices((0, 1, 2), (5, 4, 1))[0],
        parts=dice.random() < 0.1, public=dice.random() < 0.3,
    )  # fmt: skip


@frame.action("desk.keep_pictures", may="photo.add")
def keep_pictures(act: frame.Act) -> list[str]:
    """Keeps the files that the photographs of generated things share; answers their hashes."""
    paths = sorted(PICTURES.glob("*-V??.jpg"))[: len(VIEWS)]
    return [files.store(act, path.read_bytes(), name=path.name, media_type="image/jpeg").sha256 for path in paths]


@contextmanager
def undone() -> Iterator[None]:
    """Whatever is written within is taken back at the end."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def _ago(days: int) -> datetime:
    """The middle of a morning, so that moving it by whole days keeps it on the same day of any zone's clock."""
    return datetime.combine(clock.today() - timedelta(days=days), datetime.min.time(), clock.zone()) + timedelta(hours=10)


def thing_mould(made_of: Recipe, dice: random.Random, registrar: Actor, checkers: Sequence[Actor]) -> Mould:
    """A thing with its place, photographs and checks, made and read. What stands beside it is not touched: it stands alone."""
    with undone():
        shelf = _shelf(made_of.use)
        head = _head()
        with clock.at(_ago(ENTERED)):
            thing = _entered(made_of, dice, registrar, shelf)
        last = _looked_at(thing, made_of, dice, checkers)
        texts = card.texts_of([thing.pk])[thing.pk]
        return mould_of(_tables(thing), _acts_since(head), _marks(shelf), use=made_of.use, kind=made_of.kind, room=last, beside=texts)


def _head() -> int:
    return Change.objects.order_by("-n").values_list("n", flat=True).first() or 0


def _acts_since(head: int) -> list[UUID]:
    return list(Change.objects.filter(n__gt=head).order_by().values_list("act", flat=True).distinct())


def _marks(shelf: Place) -> dict[str, str]:
    path = " › ".join((BUILDING, ROOM, SHELF))
    return {
        str(N_HOLE): "n", NUMBER: "number", NUMBER_SORT: "number_sort", NAME: "name", WORDS: "words", str(shelf.pk): "place",
        path: "place_words", BUILDING: "building_words", CODE: "code",
    }  # fmt: skip


def _shelf(use: str) -> Place:
    building = make_place(PROGRAM, place_id=uuid7(), level="building", code="QX-B", name=BUILDING)
    room = make_place(PROGRAM, place_id=uuid7(), level="room", code="QX-R", name=ROOM, parent_id=building.pk, use=use)
    return make_place(PROGRAM, place_id=uuid7(), level="shelf", code=CODE, name=SHELF, parent_id=room.pk)


def shelf_mould() -> Mould:
    """An empty shelf."""
    with undone():
        head = _head()
        shelf = _shelf("store")
        marks = {str(N_HOLE): "n", str(shelf.parent_id): "parent", CODE: "code", SHELF: "name", str(shelf.pk): "place"}
        acts = [key for key in _acts_since(head) if Change.objects.filter(act=key, subject=f"place:{shelf.pk}").exists()]
        return mould_of([Place.objects.filter(pk=shelf.pk)], acts, marks)


def _entered(made_of: Recipe, dice: random.Random, registrar: Actor, shelf: Place) -> Object:
    said: dict[str, Any] = {"name": {"text": NAME, "broader": "headgear"}, "description": WORDS, "date_made": dice.choice(words.DATES)}
    thing = create_object(
        registrar, object_id=uuid7(), kind=made_of.kind, number=NUMBER, said=said, materials=list(made_of.materials),
        components=[LINER] if made_of.parts else [], whose="own", public=made_of.public,
    )  # fmt: skip
    move_object(registrar, thing.pk, place_id=shelf.pk)
    for path, view in zip(sorted(PICTURES.glob("*-V??.jpg"))[: made_of.photographs], VIEWS, strict=False):
        _photograph(thing, path, view, registrar)
    return thing


def _photograph(thing: Object, path: Path, view: str, actor: Actor) -> None:
    with path.open("rb") as file:
        added = add_photograph(actor, uuid7(), Upload.of(file, path.name), shows=[("object", thing.pk)], view=view)
    make_smaller(PROGRAM, added.pk)


def _looked_at(thing: Object, made_of: Recipe, dice: random.Random, checkers: Sequence[Actor]) -> int:
    """The checks of a thing; answers how many days ago the last thing happened to it."""
    seen = _trouble(made_of.materials, dice)
    known: dict[str, UUID] = {}
    days = ENTERED
    for sort, between in zip(made_of.looks, (FIRST, SECOND), strict=False):
        days = dice.randint(*between)
        with clock.at(_ago(days)):
            actor = dice.choice(checkers)
            entry = _full(thing, made_of.materials, seen, known) if sort == "full" else _quick(thing, sort)
            record_check(actor.keyed(entry.id), entry)
    return days


def _trouble(materials: Sequence[str], dice: random.Random) -> dict[str, tuple[str, int, Decimal, int, str]]:
    """Zone to what is seen there: term, severity, percent, activity, material."""
    return {
        zone: (term, severity, Decimal(dice.choice(("0.1", "0.5", "1", "3", "8", "16", "33"))), dice.choice((0, 0, 0, 1, 2)), material)
        for material in materials
        for zone, term, severity in TROUBLES.get(material, ())
        if dice.random() < 0.35
    }


def _full(thing: Object, materials: Sequence[str], trouble: Mapping[str, tuple[str, int, Decimal, int, str]], known: dict[str, UUID]) -> CheckEntry:
    zones = zones_of(thing)
    seen = []
    for zone in zones:
        if zone.code in trouble and not zone.part:
            term, severity, percent, activity, material = trouble[zone.code]
            change = "same" if zone.key in known else "new"
            finding = known.setdefault(zone.key, uuid7())
            seen.append(Seen(uuid7(), finding, ZoneKey(zone.component_id, zone.code), term, change, material, percent, severity, activity))
    found = {str(one.zone) for one in seen}
    return CheckEntry(
        id=uuid7(), object_id=thing.pk, sort="full", happened_on=clock.today(), happened_at=clock.now(), seen=tuple(seen),
        looks={zone.key: "findings" if zone.key in found else "nothing" for zone in zones}, no_treatment=not seen,
        screen=None if thing.screens.exists() else NO_TO_ALL | _not_no(materials, trouble),
    )  # fmt: skip


def _not_no(materials: Sequence[str], trouble: Mapping[str, tuple[str, int, Decimal, int, str]]) -> dict[str, str]:
    """What the ten questions find in it."""
    hairy = {"4": "yes"} if {"felt", "wool"} & {*materials} else {}
    return hairy | ({"2": "unsure"} if "paint" in {row[4] for row in trouble.values()} else {})


def _quick(thing: Object, sort: str) -> CheckEntry:
    result = "needs_full" if sort == "needs_full" else "nothing_new"
    return CheckEntry(id=uuid7(), object_id=thing.pk, sort="quick", happened_on=clock.today(), happened_at=clock.now(), result=result)


def _tables(thing: Object) -> list[Any]:
    """The rows of one thing, of every part of the house; its card last."""
    key, shown = thing.pk, Shows.objects.filter(subject=thing.pk)
    photographs = shown.values("photograph")
    return [
        Object.objects.filter(pk=key), Component.objects.filter(object=key), Number.objects.filter(object=key),
        Statement.objects.filter(component__object=key), Acceptance.objects.filter(component__object=key), MadeOf.objects.filter(component__object=key),
        ZoneNote.objects.filter(component__object=key), Ownership.objects.filter(object=key), Hazard.objects.filter(object=key),
        Screen.objects.filter(object=key), Photograph.objects.filter(pk__in=photographs), shown, Derivative.objects.filter(photograph__in=photographs),
        Movement.objects.filter(component__object=key), Stay.objects.filter(component__object=key), ConditionCheck.objects.filter(object=key),
        Finding.objects.filter(object=key), Observation.objects.filter(finding__object=key), Judgement.objects.filter(object=key),
        Call.objects.filter(object=key), CallAnswer.objects.filter(call__object=key), State.objects.filter(object=key),
        Due.objects.filter(object=key), Card.objects.filter(pk=key),
    ]  # fmt: skip
