"""Objects: made, changed, taken back; whose they are."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from collection.objects import card
from collection.objects.actions.common import visible_object
from collection.objects.actions.first import put_first_statements
from collection.objects.actions.numbers import put_next_number, put_number
from collection.objects.actions.parts import put_component, put_made_of
from collection.objects.models import Component, Kind, Number, Object, Ownership
from collection.objects.outlines import sets
from museum import clock
from museum.errors import Invalid
from museum.ids import uuid7
from museum.people.action import Act, action, claim_version

MOST_AT_ONCE = 1_000_000


@action("objects.create_object", may="catalogue.edit")
def create_object(
    act: Act, *, object_id: UUID, kind: str, number: str = "", next_in: str = "", as_written: bool = False,
    year: int = 0, said: Mapping[str, Any] | None = None, materials: Sequence[str] = (),
    components: Sequence[Mapping[str, Any]] = (), whose: str = "", public: bool = False, how_many: int = 1,
    cells: Mapping[str, str] | None = None,
) -> Object:  # fmt: skip
    """Makes an object with its main component, its number, and what is said of it. Repeatable by the act's key.

    `number` is typed, or `next_in` names the series of which the next is issued. `said` maps field code to value or to
    a list of values, `cells` field code to the cell it came from. `components` are further parts: sort, name, and as
    wanted lettered, zones, materials. Raises Forbidden, Invalid, NumberTaken.
    """
    return put_object(
        act, object_id=object_id, kind=kind, number=number, next_in=next_in, as_written=as_written, year=year, said=said, materials=materials,
        components=components, whose=whose, public=public, how_many=how_many, cells=cells,
    )  # fmt: skip


def put_object(
    act: Act, *, object_id: UUID, kind: str, number: str = "", next_in: str = "", as_written: bool = False, year: int = 0,
    said: Mapping[str, Any] | None = None, materials: Sequence[str] = (), components: Sequence[Mapping[str, Any]] = (), whose: str = "",
    public: bool = False, how_many: int = 1, cells: Mapping[str, str] | None = None,
) -> Object:  # fmt: skip
    """What `create_object` does, within another action that has asked for the right."""
    if not 1 <= how_many <= MOST_AT_ONCE:
        raise Invalid(_("Say how many there are: one or more."), field="how_many")
    thing = Object.objects.create(id=object_id, kind=kind_of(kind), public=public, how_many=how_many, created_on=clock.day_of(act.now))
    main = Component.objects.create(id=uuid7(), object=thing, sort=Component.Sort.MAIN)
    act.wrote("object.made", thing, after={"kind": kind, "public": public}, about=[thing])
    if number:
        put_number(act, thing.pk, number, as_written=as_written)
    elif next_in:
        put_next_number(act, thing.pk, next_in, year or clock.day_of(act.now).year)
    put_first_statements(act, main, said or {}, cells or {})
    for material in materials:
        put_made_of(act, main, material=material)
    for part in components:
        _put_part(act, thing, part)
    if whose:
        put_ownership(act, thing, whose=whose)
    card.refresh([thing.pk])
    return thing


@action("objects.change_object", may="catalogue.edit")
def change_object(
    act: Act,
    object_id: UUID,
    *,
    version: int,
    kind: str,
    outline_set: str = "",
    public: bool = False,
    how_many: int = 1,
) -> Object:
    """Changes kind, drawings, count and whether readers see it. Raises VersionConflict with both versions."""
    visible_object(act, object_id)
    row = kind_of(kind)
    if outline_set not in ("", "photograph", *sets()):
        raise Invalid(_("Choose one of the drawings, or the object's own photograph."), field="outline_set")
    if not 1 <= how_many <= MOST_AT_ONCE:
        raise Invalid(_("Say how many there are: one or more."), field="how_many")
    mine = {"kind": row, "outline_set": outline_set, "public": public, "how_many": how_many}
    thing = claim_version(Object.objects.select_related("kind"), object_id, version, mine)
    before = {name: getattr(thing, name) for name in mine} | {"kind": thing.kind.code}
    for name, value in mine.items():
        setattr(thing, name, value)
    thing.version += 1
    thing.save(update_fields=[*mine, "version"])
    act.wrote("object.changed", thing, before=before, after=mine | {"kind": kind}, about=[thing])
    card.refresh([thing.pk])
    return thing


@action("objects.set_public", may="catalogue.edit")
def set_public(act: Act, object_id: UUID, *, public: bool) -> Object:
    """Shows a thing to readers, or no longer."""
    thing = visible_object(act, object_id)
    before, thing.public, thing.version = thing.public, public, thing.version + 1
    thing.save(update_fields=["public", "version"])
    act.wrote("object.changed", thing, before={"public": before}, after={"public": public}, about=[thing])
    card.refresh([thing.pk])
    return thing


@action("objects.withdraw_object", may="import.run")
def withdraw_object(act: Act, object_id: UUID, *, reason: str) -> Object:
    """Takes a record back that should never have been made, as an undone import; its numbers are free again."""
    thing = visible_object(act, object_id)
    if not reason.strip():
        raise Invalid(_("Say why the record is taken back."), field="reason")
    thing.withdrawn, thing.version = reason.strip(), thing.version + 1
    thing.save(update_fields=["withdrawn", "version"])
    ended = {"state": Number.State.WITHDRAWN, "reason": thing.withdrawn, "ended_on": clock.day_of(act.now)}
    numbers = list(Number.objects.filter(object=thing).exclude(state=Number.State.WITHDRAWN))
    Number.objects.filter(pk__in=[row.pk for row in numbers]).update(**ended)
    freed = [row.text for row in numbers]
    act.wrote("object.withdrawn", thing, after={"numbers": freed}, reason=thing.withdrawn, about=[thing])
    card.refresh([thing.pk])
    return thing


@action("objects.set_ownership", may="catalogue.edit")
def set_ownership(act: Act, object_id: UUID, *, whose: str, evidence: str = "", on: date | None = None) -> Ownership:
    """Says whose it is, from a day on (today where none is said), by what evidence."""
    thing = visible_object(act, object_id)
    fact = put_ownership(act, thing, whose=whose, evidence=evidence, on=on)
    card.refresh([thing.pk])
    return fact


def put_ownership(act: Act, thing: Object, *, whose: str, evidence: str = "", on: date | None = None) -> Ownership:
    """What `set_ownership` does, within another action on the same object."""
    today = clock.day_of(act.now)
    if whose not in Ownership.Whose.values:
        raise Invalid(_("Say whose it is."), field="whose")
    if on is not None and on > today:
        raise Invalid(_("This day lies ahead. Say whose it is when it has come."), field="on")
    fact = Ownership.objects.create(
        act_id=act.id,
        object=thing,
        whose=whose,
        evidence=evidence.strip(),
        happened_on=on or today,
        recorded_at=act.now,
    )
    act.wrote("ownership.said", fact, after={"whose": whose, "evidence": fact.evidence}, about=[thing])
    return fact


def kind_of(code: str) -> Kind:
    """The kind with this code. Raises Invalid."""
    row = Kind.objects.filter(code=code, retired=False).first()
    if row is None:
        raise Invalid(_("Choose what kind of headgear it is."), field="kind")
    return row


def _put_part(act: Act, thing: Object, part: Mapping[str, Any]) -> None:
    made = put_component(
        act, thing, sort=str(part.get("sort", "")), name=str(part.get("name", "")), lettered=bool(part.get("lettered")),
        letter=str(part.get("letter", "")), zones=list(part.get("zones", ())),
    )  # fmt: skip
    for material in part.get("materials", ()):
        put_made_of(act, made, material=str(material))
