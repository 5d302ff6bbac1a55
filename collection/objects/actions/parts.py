"""The parts of an object, their letters and zones, and what they are made of."""

from collections.abc import Sequence
from typing import Final
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from collection.objects import card
from collection.objects.actions.common import component_of, visible_object
from collection.objects.actions.numbers import put_part_number, whole_number
from collection.objects.actions.screens import doubt_answers, put_opening
from collection.objects.models import Component, MadeOf, Material, Object, Opening, ZoneNote
from collection.objects.numbers import next_letter
from collection.objects.queries import in_force
from collection.objects.shipped import shipped_data
from museum.errors import Invalid, NotFound
from museum.ids import uuid7
from museum.people.action import Act, action, claim_version

PART_SORTS: Final = (Component.Sort.FIXED, Component.Sort.LOOSE, Component.Sort.RETAINED, Component.Sort.ADDED)
#: as what a part that was fixed is told of once it came off
CAME_OFF: Final = (Component.Sort.LOOSE, Component.Sort.RETAINED)
#: zones that go with a part: once it has them, the whole has them no more (a liner shell keeps a shell of its own)
GO_WITH_A_PART: Final = frozenset({"LN", "HB", "PD", "CS", "CC", "NG", "AC", "PL"})


@action("objects.add_component", may="catalogue.edit")
def add_component(
    act: Act,
    object_id: UUID,
    *,
    sort: str,
    name: str,
    lettered: bool = False,
    letter: str = "",
    zones: Sequence[str] = (),
) -> Component:
    """Adds a part; with a letter where it can be separated. The whole becomes a when a second letter is given.

    `zones` are the zones that the part has as its own: a liner shell SH, IN, RB, LN, HB; a strap CS, which the whole
    then has no more. `letter` is typed where the part carries one already, else the next is given.
    """
    thing = visible_object(act, object_id)
    part = put_component(act, thing, sort=sort, name=name, lettered=lettered, letter=letter, zones=zones)
    card.refresh([thing.pk])
    return part


@action("objects.give_letter", may="catalogue.edit")
def give_letter(act: Act, component_id: UUID) -> Component:
    """Gives a part its letter: it can be separated after all. A letter once given is never given again."""
    part = component_of(act, component_id)
    if part.letter or part.sort == Component.Sort.MAIN:
        raise Invalid(_("This part has its letter."), field="letter")
    part.letter, part.version = _next_letter(act, part.object), part.version + 1
    part.save(update_fields=["letter", "version"])
    act.wrote("component.lettered", part, after={"letter": part.letter}, about=[part.object])
    _number_part(act, part)
    card.refresh([part.object_id])
    return part


@action("objects.change_component", may="catalogue.edit")
def change_component(act: Act, component_id: UUID, *, version: int, name: str, sort: str, reason: str = "") -> Component:
    """Renames a part, or says that it came off (kept after removal) or was fixed on. Raises VersionConflict."""
    component_of(act, component_id)
    mine = {"name": name.strip(), "sort": sort}
    part = claim_version(Component.objects.select_related("object"), component_id, version, mine)
    whole = part.sort == Component.Sort.MAIN
    if (whole and sort != part.sort) or (not whole and sort not in PART_SORTS):
        raise Invalid(_("Say whether the part is fixed, loose, kept after removal or added later."), field="sort")
    if not whole and not name.strip():
        raise Invalid(_("Name the part."), field="name")
    before = {"name": part.name, "sort": part.sort}
    part.name, part.sort, part.version = name.strip(), sort, part.version + 1
    part.fixed_to = _fixed_to(part.object, sort)
    part.save(update_fields=["name", "sort", "fixed_to", "version"])
    act.wrote("component.changed", part, before=before, after=mine, reason=reason.strip(), about=[part.object])
    if before["sort"] == Component.Sort.FIXED and sort in CAME_OFF:
        put_opening(act, part.object, Opening.Why.CAME_OFF, note=part.name)
    return part


@action("objects.made_of", may="catalogue.edit")
def made_of(
    act: Act,
    component_id: UUID,
    *,
    material: str,
    zone: str = "",
    finish: str = "",
    original: str = "unknown",
    words: str = "",
) -> MadeOf:
    """Says what a component, or one of its zones, is made of."""
    component = component_of(act, component_id)
    fact = put_made_of(act, component, material=material, zone=zone, finish=finish, original=original, words=words)
    card.refresh([component.object_id])
    return fact


@action("objects.withdraw_material", may="catalogue.edit")
def withdraw_material(act: Act, made_of_id: UUID, *, reason: str) -> MadeOf:
    """Takes a material back: it was told wrongly."""
    old = in_force(MadeOf.objects.filter(pk=made_of_id)).select_related("material").first()
    if old is None:
        raise NotFound
    component = component_of(act, old.component_id)
    if MadeOf.objects.filter(corrects=old).exists():
        raise NotFound
    fact = MadeOf.objects.create(
        act_id=act.id, component=component, zone=old.zone, material=old.material, corrects=old, withdraws=True,
        recorded_at=act.now,
    )  # fmt: skip
    before = {"zone": old.zone, "material": old.material.code}
    act.wrote("made_of.withdrawn", fact, before=before, reason=reason.strip(), about=[("object", component.object_id)])
    card.refresh([component.object_id])
    return fact


@action("objects.note_zone", may="catalogue.edit")
def note_zone(
    act: Act,
    component_id: UUID,
    *,
    zone: str,
    present: bool,
    name: str = "",
) -> ZoneNote:
    """Says that an object has or lacks a zone, or names it. What is drawn on a photograph is for `draw_zone`."""
    return put_zone_note(act, component_of(act, component_id), zone=zone, present=present, name=name)


def put_component(
    act: Act,
    thing: Object,
    *,
    sort: str,
    name: str,
    lettered: bool = False,
    letter: str = "",
    zones: Sequence[str] = (),
) -> Component:
    """What `add_component` does, within another action on the same object."""
    if sort not in PART_SORTS:
        raise Invalid(_("Say whether the part is fixed, loose, kept after removal or added later."), field="sort")
    if not name.strip():
        raise Invalid(_("Name the part."), field="name")
    given = _typed_letter(act, thing, letter) if letter else _next_letter(act, thing) if lettered else ""
    part = Component.objects.create(
        id=uuid7(), object=thing, sort=sort, name=name.strip(), letter=given, position=thing.components.count(),
        fixed_to=_fixed_to(thing, sort),
    )  # fmt: skip
    act.wrote("component.added", part, after={"sort": sort, "name": part.name, "letter": given}, about=[thing])
    _take_over(act, part, zones)
    if given:
        _number_part(act, part)
    return part


def put_made_of(
    act: Act,
    component: Component,
    *,
    material: str,
    zone: str = "",
    finish: str = "",
    original: str = "unknown",
    words: str = "",
) -> MadeOf:
    """What `made_of` does, within another action on the same object."""
    row = Material.objects.filter(code=material, retired=False).first()
    if row is None:
        raise Invalid(_("Choose a material of the list."), field="material")
    if zone and zone not in shipped_data()["zones"]:
        raise Invalid(_("There is no zone '%(zone)s'."), field="zone", zone=zone)
    if original not in MadeOf.Original.values:
        raise Invalid(_("Say whether it is original, an old replacement, modern or not known."), field="original")
    fact = MadeOf.objects.create(
        act_id=act.id, component=component, zone=zone, material=row, finish=finish.strip(), original=original,
        words=words.strip(), recorded_at=act.now,
    )  # fmt: skip
    after = {"zone": zone, "material": material, "finish": fact.finish}
    act.wrote("made_of.said", fact, after=after, about=[("object", component.object_id)])
    doubt_answers(act, component.object, material)
    return fact


def put_zone_note(
    act: Act,
    component: Component,
    *,
    zone: str,
    present: bool,
    name: str = "",
) -> ZoneNote:
    """What `note_zone` does, within another action on the same object."""
    if zone not in shipped_data()["zones"]:
        raise Invalid(_("There is no zone '%(zone)s'."), field="zone", zone=zone)
    note = ZoneNote.objects.create(
        act_id=act.id, component=component, zone=zone, present=present, name=name.strip(), recorded_at=act.now,
    )  # fmt: skip
    after = {"zone": zone, "present": present, "name": note.name}
    act.wrote("zone.noted", note, after=after, about=[("object", component.object_id)])
    return note


def _take_over(act: Act, part: Component, zones: Sequence[str]) -> None:
    """The part has these zones; those that go with a part leave the whole, if it has them."""
    whole = part.object.components.get(sort=Component.Sort.MAIN)
    notes = dict(in_force(ZoneNote.objects.filter(component=whole)).values_list("zone", "present"))
    for zone in zones:
        put_zone_note(act, part, zone=zone, present=True)
        if zone in GO_WITH_A_PART and notes.get(zone, zone in part.object.kind.zones):
            put_zone_note(act, whole, zone=zone, present=False)


def _next_letter(act: Act, thing: Object) -> str:
    return next_letter(_letters(act, thing))


def _typed_letter(act: Act, thing: Object, letter: str) -> str:
    if letter in (used := _letters(act, thing)) or not letter.isascii() or not letter.islower() or len(letter) > 2:
        raise Invalid(
            _("'%(letter)s' cannot be this part's letter; %(used)s are given."),
            field="letter", letter=letter, used=", ".join(used),
        )  # fmt: skip
    return letter


def _letters(act: Act, thing: Object) -> list[str]:
    """The letters given; the whole takes a before any part takes one."""
    main = Component.objects.get(object=thing, sort=Component.Sort.MAIN)
    if not main.letter:
        main.letter, main.version = "a", main.version + 1
        main.save(update_fields=["letter", "version"])
        act.wrote("component.lettered", main, after={"letter": "a"}, about=[thing])
    return sorted(Component.objects.filter(object=thing).exclude(letter="").values_list("letter", flat=True))


def _number_part(act: Act, part: Component) -> None:
    if (whole := whole_number(part.object_id)) is not None:
        put_part_number(act, part, whole)


def _fixed_to(thing: Object, sort: str) -> Component | None:
    return thing.components.get(sort=Component.Sort.MAIN) if sort == Component.Sort.FIXED else None
