"""Objects and their parts."""

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from collection.objects import card
from collection.objects.actions.numbers import give_number, next_number
from collection.objects.actions.statements import component_of, say
from collection.objects.models import Component, Kind, MadeOf, Material, Number, Object, Ownership, ZoneNote
from collection.objects.numbers import next_letter
from collection.objects.outlines import sets
from museum import clock
from museum.errors import Invalid, NotFound
from museum.history.record import lock
from museum.ids import uuid7
from museum.people.action import Act, action, claim_version


@action("objects.create_object", may="catalogue.edit")
def create_object(
    act: Act, *, object_id: UUID, kind: str, number: str = "", next_in: str = "", as_written: bool = False, year: int = 0,
    said: Mapping[str, Any] | None = None, materials: Sequence[str] = (), whose: str = "", public: bool = False, cells: Mapping[str, str] | None = None,
) -> Object:  # fmt: skip
    """Makes an object with its main component, its number, and what is said of it. Repeatable by the act's key.

    `number` is typed, or `next_in` names the series of which the next is issued. `said` maps field code to
    value or to a list of values. Raises Forbidden, Invalid, NumberTaken.
    """
    row = Kind.objects.filter(code=kind, retired=False).first()
    if row is None:
        raise Invalid(_("Choose what kind of headgear it is."), field="kind")
    thing = Object.objects.create(id=object_id, kind=row, public=public, created_on=clock.day_of(act.now))
    main = Component.objects.create(id=uuid7(), object=thing, sort=Component.Sort.MAIN)
    act.wrote("object.made", thing, after={"kind": kind, "public": public}, about=[thing])
    card.refresh([thing.pk])
    if number:
        give_number(act, thing.pk, number, as_written=as_written)
    elif next_in:
        next_number(act, thing.pk, next_in, year or clock.day_of(act.now).year)
    for code, value in (said or {}).items():
        for one in value if isinstance(value, list) else [value]:
            say(act, main.pk, code, one, cell=(cells or {}).get(code, ""))
    for material in materials:
        made_of(act, main.pk, material=material)
    if whose:
        set_ownership(act, thing.pk, whose=whose)
    return thing


@action("objects.add_component", may="catalogue.edit")
def add_component(act: Act, object_id: UUID, *, sort: str, name: str, lettered: bool = False, zones: Sequence[str] = ()) -> Component:
    """Adds a part; with a letter where it can be separated. The main one takes a when a second letter is given.

    `zones` are the zone codes that the part has as its own (a liner shell: SH, IN, RB, LN, HB; a strap: CS), taken over from
    the main component where that is a strap's.
    """
    thing = visible_object(act, object_id)
    if sort not in (Component.Sort.FIXED, Component.Sort.LOOSE, Component.Sort.RETAINED, Component.Sort.ADDED):
        raise Invalid(_("Say whether the part is fixed, loose, kept after removal or added later."), field="sort")
    if not name.strip():
        raise Invalid(_("Name the part."), field="name")
    letter = _letter(act, thing) if lettered else ""
    position = thing.components.count()
    main = thing.components.get(sort=Component.Sort.MAIN)
    fixed_to = main if sort == Component.Sort.FIXED else None
    part = Component.objects.create(
        id=uuid7(), object=thing, sort=sort, name=name.strip(), letter=letter, position=position, fixed_to=fixed_to
    )
    act.wrote("component.added", part, after={"sort": sort, "name": part.name, "letter": letter}, about=[thing])
    for zone in zones:
        note_zone(act, part.pk, zone=zone, present=True)
    if letter and (number := Number.objects.filter(object=thing, component=None, state="current").exclude(series="as_written").first()):
        _part_number(act, thing, part, number)
    return part


def _letter(act: Act, thing: Object) -> str:
    used = list(Component.objects.filter(object=thing).exclude(letter="").values_list("letter", flat=True))
    if not used:
        main = thing.components.get(sort=Component.Sort.MAIN)
        main.letter, main.version = "a", main.version + 1
        main.save(update_fields=["letter", "version"])
        act.wrote("component.lettered", main, after={"letter": "a"}, about=[thing])
        used = ["a"]
    return next_letter(used)


def _part_number(act: Act, thing: Object, part: Component, whole: Number) -> None:
    """The part's number: the whole's with its letter. It belongs to the whole's issue, so it needs no other right."""
    number = Number.objects.create(
        object=thing, component=part, series=whole.series, text=f"{whole.text}{part.letter}",
        sort_key=f"{whole.sort_key[:-1]}{len(part.letter)}{part.letter}",
    )  # fmt: skip
    act.wrote("object.numbered", number, after={"number": number.text, "series": number.series}, about=[thing])


@action("objects.made_of", may="catalogue.edit")
def made_of(act: Act, component_id: UUID, *, material: str, zone: str = "", finish: str = "", original: str = "unknown", words: str = "") -> MadeOf:
    """Says what a component, or one of its zones, is made of."""
    component = component_of(act, component_id)
    row = Material.objects.filter(code=material).first()
    if row is None:
        raise Invalid(_("Choose a material of the list."), field="material")
    fact = MadeOf.objects.create(
        act_id=act.id, component=component, zone=zone, material=row, finish=finish, original=original, words=words, recorded_at=act.now
    )
    act.wrote("made_of.said", fact, after={"zone": zone, "material": material, "finish": finish}, about=[("object", component.object_id)])
    card.refresh([component.object_id])
    return fact


@action("objects.withdraw_material", may="catalogue.edit")
def withdraw_material(act: Act, made_of_id: UUID, *, reason: str) -> MadeOf:
    """Takes a material back: it was told wrongly."""
    old = MadeOf.objects.select_related("component").filter(pk=made_of_id, corrected_by=None).first()
    if old is None:
        raise NotFound()
    component = component_of(act, old.component_id)
    fact = MadeOf.objects.create(
        act_id=act.id, component=component, zone=old.zone, material=old.material, corrects=old, withdraws=True, recorded_at=act.now
    )
    act.wrote("made_of.withdrawn", fact, reason=reason, about=[("object", component.object_id)])
    card.refresh([component.object_id])
    return fact


@action("objects.note_zone", may="catalogue.edit")
def note_zone(
    act: Act, component_id: UUID, *, zone: str, present: bool, name: str = "", photograph: UUID | None = None, shape: Any = None
) -> ZoneNote:
    """Says that an object has or lacks a zone, names it, or draws it on the object's own photograph."""
    component = component_of(act, component_id)
    note = ZoneNote.objects.create(
        act_id=act.id, component=component, zone=zone, present=present, name=name, photograph=photograph, shape=shape, recorded_at=act.now
    )
    act.wrote("zone.noted", note, after={"zone": zone, "present": present, "name": name}, about=[("object", component.object_id)])
    return note


@action("objects.set_ownership", may="catalogue.edit")
def set_ownership(act: Act, object_id: UUID, *, whose: str, evidence: str = "") -> Ownership:
    """Says whose it is, from today, by what evidence."""
    thing = visible_object(act, object_id)
    if whose not in Ownership.Whose.values:
        raise Invalid(_("Say whose it is."), field="whose")
    fact = Ownership.objects.create(act_id=act.id, object=thing, whose=whose, evidence=evidence, recorded_at=act.now)
    act.wrote("ownership.said", fact, after={"whose": whose, "evidence": evidence}, about=[thing])
    card.refresh([thing.pk])
    return fact


@action("objects.change_object", may="catalogue.edit")
def change_object(act: Act, object_id: UUID, *, version: int, kind: str, outline_set: str = "", public: bool = False) -> Object:
    """Changes kind, drawings and whether the public sees it. Raises VersionConflict with both versions."""
    visible_object(act, object_id)
    row = Kind.objects.filter(code=kind).first()
    if row is None or outline_set not in ("", "photograph", *sets()):
        raise Invalid(_("Choose what kind of headgear it is."), field="kind")
    mine = {"kind": row, "outline_set": outline_set, "public": public}
    thing = claim_version(Object.objects.all(), object_id, version, mine)
    before = {"kind": thing.kind.code, "outline_set": thing.outline_set, "public": thing.public}
    thing.kind, thing.outline_set, thing.public, thing.version = row, outline_set, public, thing.version + 1
    thing.save(update_fields=["kind", "outline_set", "public", "version"])
    act.wrote("object.changed", thing, before=before, after=mine | {"kind": kind}, about=[thing])
    card.refresh([thing.pk])
    return thing


def visible_object(act: Act, object_id: UUID) -> Object:
    """The object, locked; absent where the person may not see it."""
    thing = Object.objects.visible_to(act.actor).select_related("kind").filter(pk=object_id).first()
    if thing is None:
        raise NotFound()
    lock(f"object:{object_id}")
    return thing
