"""Reads the demo's stories and tells them: people, places, things, and the checks that were made of them."""

import json
import random
from collections.abc import Iterator, Mapping, Sequence
from datetime import timedelta
from decimal import Decimal
from typing import Any

from django.conf import settings
from django.utils.translation import gettext

from collection.objects.actions.objects import create_object
from collection.objects.actions.parts import add_component
from collection.objects.actions.photographs import add_photograph
from collection.objects.models import Object
from collection.objects.photos import Upload
from collection.objects.queries import zones_of
from conservation.checks.actions.record import record_check
from conservation.checks.actions.rounds import make_round
from conservation.checks.entry import CheckEntry, Seen, ZoneKey
from conservation.checks.models import Observation
from locations.places.actions import describe_place, make_place, move_object
from locations.places.models import Place
from museum import clock
from museum.desk.demo import care, climate
from museum.desk.demo.days import ago as _ago
from museum.ids import uuid7
from museum.people.actions import add_person, change_society, end_role, first_act, give_role
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person, Society
from museum.people.secret import Secret

STORIES = settings.BASE_DIR / "fixtures" / "demo" / "museum.json"
CARE = STORIES.parent / "care.json"
#: drawn by the project, in colour and with a scale, and saying so: '<number>-<view>.jpg'
PICTURES = STORIES.parent / "pictures"
#: things besides the stories, made of word lists with a fixed seed
GENERATED = 406
SEED = 1938
NO_TO_ALL = {str(n): "no" for n in range(1, 11)}
#: days ago on which everything was entered, and from when on places are told
ENTERED, BUILT = 700, 740
LINER_ZONES = ("SH", "IN", "RB", "LN", "HB")


def load(password: str, *, things: bool = True, air: bool = True) -> None:
    """Fills an empty house. Every password is the same: nothing here is worth keeping from anybody. Without `air` nothing was read of the climate."""
    raw = json.loads(STORIES.read_text(encoding="utf-8"))
    secret = Secret(password)
    people = _people(raw, secret)
    if not things:
        return
    with clock.at(_ago(BUILT)):
        places = _places(raw)
    cared = json.loads(CARE.read_text(encoding="utf-8"))
    told = {story["number"]: _tell(story, people, places) for story in [*raw["stories"], *cared["things"]]}
    care.tell(cared, care.cast_of(people), told, secret)
    for story in _generated(raw, places):
        _tell(story, people, places)
    if air:
        climate.tell(people, places, told)
    _rounds(people)


def _people(raw: Mapping[str, Any], password: Secret) -> dict[str, Person]:
    society, admin = raw["society"], raw["people"][-1]
    first = first_act(PROGRAM, name=admin["name"], email=admin["email"], password=password, society=society["name"])
    people = {"administrator": first}
    for row in raw["people"][:-1]:
        person = add_person(PROGRAM, name=row["name"], email=row["email"], password=password)
        for role in row["roles"]:
            give_role(PROGRAM, person.pk, role, kind=row.get("kind", ""))
            people.setdefault(role, person)
    # The first person is registrar too; in this house somebody else is.
    end_role(PROGRAM, first.pk, "registrar", reason="Nell is the registrar")
    house = Society.load()
    change_society(PROGRAM, version=house.version, **society)
    return people


def _places(raw: Mapping[str, Any]) -> dict[str, Place]:
    places: dict[str, Place] = {}
    for row in raw["places"]:
        parent = places[row["in"]].pk if "in" in row else None
        places[row["code"]] = make_place(
            PROGRAM, place_id=uuid7(), level=row["level"], code=row["code"], name=row["name"], parent_id=parent, use=row.get("use", ""),
            walk=row.get("walk", 0),
        )  # fmt: skip
        if "spot" in row:
            describe_place(PROGRAM, places[row["code"]].pk, version=1, spot=row["spot"])
    for room, name, count in raw["shelves"]:
        for n in range(1, count + 1):
            places[f"{room}-{n}"] = make_place(
                PROGRAM, place_id=uuid7(), level="shelf", code=f"{room}-{n}", name=f"{name.capitalize()} {n}", parent_id=places[room].pk, walk=n,
            )  # fmt: skip
    return places


def _tell(story: Mapping[str, Any], people: Mapping[str, Person], places: Mapping[str, Place]) -> Object:
    """One thing with its place and its checks."""
    registrar = Actor.of(people["registrar"])
    said = {"name": story["name"], "date_made": story["date"]}
    said |= {name: story[name] for name in ("description", "significance") if name in story}
    with clock.at(_ago(story.get("entered", ENTERED))):
        thing = create_object(
            registrar, object_id=uuid7(), kind=story["kind"], number=story["number"], said=said, materials=story["materials"], whose=story.get("whose", "own"),
            public=story["number"].startswith("19"),
        )  # fmt: skip
        if story.get("liner"):
            add_component(registrar, thing.pk, sort="loose", name="liner shell", lettered=True, zones=LINER_ZONES)
        move_object(registrar, thing.pk, place_id=places[story["place"]].pk)
        _pictures(thing, story["number"], Actor.of(people["curator"]))
    known: dict[tuple[str, str], Any] = {}
    for check in story["checks"]:
        _check(thing, check, story.get("screen", {}), Actor.of(people[check["by"]]), known)
    return thing


def _pictures(thing: Object, number: str, actor: Actor) -> None:
    for path in sorted(PICTURES.glob(f"{number}-V??.jpg")):
        with path.open("rb") as file:
            upload, view = Upload.of(file, path.name), path.stem[-3:]
            add_photograph(actor, uuid7(), upload, shows=[("object", thing.pk)], view=view, caption=gettext("drawn for the demonstration"))


def _check(thing: Object, told: Mapping[str, Any], screen: Mapping[str, str], actor: Actor, known: dict[tuple[str, str], Any]) -> None:
    """One full check on its day; a finding told again keeps its key."""
    zones = zones_of(thing)
    by_code = {zone.code: ZoneKey(zone.component_id, zone.code) for zone in reversed(zones)}
    seen = tuple(_seen(by_code, row, known) for row in told["seen"] if row[0] in by_code)
    found = {str(one.zone) for one in seen}
    instant = _ago(told["days"])
    with clock.at(instant):
        entry = CheckEntry(
            id=uuid7(), object_id=thing.pk, sort="full", happened_on=clock.today(), happened_at=instant, seen=seen,
            looks={zone.key: "findings" if zone.key in found else "nothing" for zone in zones}, note=told.get("note", ""),
            screen=None if thing.screens.exists() else {**NO_TO_ALL, **screen}, no_treatment=not seen,
        )  # fmt: skip
        record_check(actor.keyed(entry.id), entry)


def _seen(by_code: Mapping[str, ZoneKey], row: Sequence[Any], known: dict[tuple[str, str], Any]) -> Seen:
    code, term, percent, severity, activity, material, change = row
    finding = known.setdefault((code, term), uuid7())
    return Seen(uuid7(), finding, by_code[code], term, Observation.Change(change), material, Decimal(str(percent)), severity, activity)


def _generated(raw: Mapping[str, Any], places: Mapping[str, Place]) -> Iterator[dict[str, Any]]:
    """Things from the word lists, always the same ones."""
    dice = random.Random(SEED)
    kinds, shelves = sorted(raw["words"]), sorted(code for code in places if code.count("-") == 2 and "QUAR" not in code)
    for n in range(GENERATED):
        kind = dice.choice(kinds)
        name, materials = dice.choice(raw["words"][kind])
        yield {
            "number": f"{1946 + n // 12}.{20 + n % 12}.{1 + dice.randrange(4)}", "kind": kind, "name": name, "materials": materials,
            "date": dice.choice(raw["decades"]), "place": dice.choice(shelves), "screen": _answers(materials), "checks": _looks(dice, materials),
        }  # fmt: skip


def _answers(materials: Sequence[str]) -> dict[str, str]:
    answers = {"4": "yes"} if {"felt", "wool", "fur", "plume"} & set(materials) else {}
    return answers | ({"2": "unsure"} if "paint" in materials else {})


TROUBLES: Mapping[str, Sequence[tuple[str, str, int]]] = {
    "steel": (("RB", "RUST_SPOT", 2), ("SH", "RUST_SPOT", 2), ("FX", "RUST_GEN", 2)),
    "copper_alloy": (("SH", "TARNISH", 1), ("FX", "CU_SOAP", 2)),
    "leather": (("HB", "LEA_DRY", 2), ("LN", "LEA_CRACK", 2), ("SH", "LEA_DRY", 2)),
    "paint": (("SH", "PAINT_CRACK", 2), ("SH", "SCRATCH", 1)),
    "felt": (("SH", "FADE", 1), ("SH", "FELT_CRUSH", 1)),
    "wool": (("SH", "PEST_OLD", 2),),
    "cork": (("RB", "CORK_SPLIT", 2),),
    "rubber": (("AC", "RUB_HARD", 3),),
    "vulcanised_fibre": (("SH", "SCRATCH", 1), ("RB", "FIBRE_WARP", 2)),
}


def _looks(dice: random.Random, materials: Sequence[str]) -> list[dict[str, Any]]:
    """None, one or two full checks with what such materials suffer from."""
    if dice.random() < 0.3:
        return []
    seen: list[list[Any]] = []
    for material in materials:
        for zone, term, severity in TROUBLES.get(material, ()):
            if dice.random() < 0.3 and not any(row[0] == zone for row in seen):
                seen.append([zone, term, dice.choice((0.1, 0.5, 1, 3, 8, 16, 33)), severity, dice.choice((0, 0, 0, 1, 2)), material, "new"])
    last = dice.randrange(5, 640)
    looks = [{"days": last, "by": dice.choice(("volunteer", "curator")), "seen": seen}]
    if seen and last > 200 and dice.random() < 0.4:
        again = [[*row[:6], "same"] for row in seen]
        looks.append({"days": last - 180, "by": "volunteer", "seen": again})
    return looks


def _rounds(people: Mapping[str, Person]) -> None:
    curator = Actor.of(people["curator"])
    for code, name in (("H-COLD", "Cold store, this fortnight"), ("H-HALL", "Great hall, cases")):
        place = Place.objects.get(code=code)
        make_round(
            curator, name=name, due_by=clock.today() + timedelta(days=14), place_id=place.pk,
            walkers=[people["volunteer"].pk, people["curator"].pk],
        )  # fmt: skip
