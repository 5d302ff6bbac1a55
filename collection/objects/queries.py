"""Questions about objects that pages, actions and papers ask."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar
from uuid import UUID

from django.db.models import QuerySet
from django.utils.translation import get_language

from collection.objects.models import (
    Component,
    Field,
    Hazard,
    MadeOf,
    Material,
    Object,
    Ownership,
    Photograph,
    Shows,
    Statement,
    ZoneNote,
)
from collection.objects.shipped import shipped_data
from museum import clock
from museum.history.models import Fact
from museum.people.actor import Actor
from museum.prepared import ANY_DAY, ANY_KEY, ANY_KEYS, Prepared

F = TypeVar("F", bound=Fact)


@dataclass(frozen=True, slots=True)
class Zone:
    """A zone of an object: the pair (component, code), its local name, what it is made of."""

    component_id: UUID
    code: str
    name: str
    part: str
    made_of: tuple[Material, ...]

    @property
    def materials(self) -> tuple[str, ...]:
        """What it is made of, by code."""
        return tuple(one.code for one in self.made_of)

    @property
    def material_words(self) -> list[str]:
        """What it is made of, in the reader's language."""
        return [text_of(one.texts) for one in self.made_of]

    @property
    def key(self) -> str:
        """'component/code', as checks write it."""
        return f"{self.component_id}/{self.code}"


def text_of(texts: Mapping[str, str]) -> str:
    """The text in the reader's language, else in English, else any."""
    language = (get_language() or "en")[:2]
    return texts.get(language) or texts.get("en") or next(iter(texts.values()), "")


def in_force(rows: "QuerySet[F]") -> "QuerySet[F]":
    """Facts that nothing corrected, oldest first."""
    return rows.filter(corrected_by=None, withdraws=False).order_by(*Fact.ORDER)


_IN_CARE = Prepared(lambda key: Object.objects.in_care().select_related("kind", "card").filter(pk=key)[:1], ANY_KEY)
_COMPONENTS = Prepared(lambda key: Component.objects.filter(object_id=key).order_by("position", "letter"), ANY_KEY)
_NOTES = Prepared(lambda key: in_force(ZoneNote.objects.filter(component__object_id=key)), ANY_KEY)
_MADE_OF = Prepared(lambda keys: in_force(MadeOf.objects.filter(component__pk__any_of=keys)).select_related("material"), ANY_KEYS)
_HAZARDS = Prepared(
    lambda keys: (
        Hazard.objects.filter(object__pk__any_of=keys, corrected_by=None, withdraws=False)
        .order_by("recorded_at", "id")
        .values_list("object_id", "code", "level")
    ),
    ANY_KEYS,
)
_OWNERSHIPS = Prepared(
    lambda keys, today: in_force(Ownership.objects.filter(object__pk__any_of=keys, happened_on__lte=today)).values_list("object_id", "whose"), ANY_KEYS, ANY_DAY
)


def visible_thing(actor: Actor, object_id: UUID) -> Object | None:
    """The thing with its kind and card, if this person may see it."""
    if actor.may("catalogue.see_all"):
        return _IN_CARE.first(object_id)
    return Object.objects.visible_to(actor).select_related("kind", "card").filter(pk=object_id).first()


def components_of(object_id: UUID) -> list[Component]:
    """The whole and its parts, by position and letter."""
    return _COMPONENTS(object_id)


def notes_of(object_id: UUID) -> list[ZoneNote]:
    """All that stands noted of the zones of an object, drawn ones too, oldest first."""
    return _NOTES(object_id)


def zones_of(thing: Object, components: Sequence[Component] | None = None, *, notes: Sequence[ZoneNote] | None = None) -> list[Zone]:
    """The zones of an object in the order of a check: of its kind, less those it lacks, plus those it has besides.

    What a part has of its own stands as notes (a liner shell SH, IN, RB, LN, HB; a strap CS, which the whole then
    lacks). Three queries, less those for what is at hand: its components in order of position and letter, its `notes_of`.
    """
    if components is None:
        components = components_of(thing.pk)
    main = next(component for component in components if component.sort == Component.Sort.MAIN)
    made_of = _materials_by_zone(component.pk for component in components)
    notes = notes_of(thing.pk) if notes is None else notes
    names = zone_names() | {code: name for code, texts in thing.kind.zones.items() if (name := text_of(texts))}
    found: list[Zone] = []
    for component in components:
        codes = _codes(component, main, thing, notes)
        local = names | {note.zone: note.name for note in notes if note.component_id == component.pk and note.name}
        found += [_zone(component, code, local, made_of) for code in codes]
    return found


def zone_names() -> dict[str, str]:
    """Every zone code there is, in the order of a check, with its general name in the reader's language."""
    data = shipped_data()
    return {code: text_of(data["zones"][code]) for code in data["order"]}


def zones_called(zones: "Collection[tuple[UUID, str]]") -> dict[str, str]:
    """Of zones (component, code) of any number of things 'component/code' to what the thing itself calls it; two questions for all."""
    components = {component for component, _code in zones}
    if not components:
        return {}
    kinds = dict(Component.objects.filter(pk__in=components).values_list("pk", "object__kind__zones"))
    notes = in_force(ZoneNote.objects.filter(component__in=components)).exclude(name="").values_list("component", "zone", "name")
    noted, general = {(component, code): name for component, code, name in notes}, zone_names()
    return {
        f"{component}/{code}": noted.get((component, code)) or text_of(kinds.get(component, {}).get(code, {})) or general.get(code, code)
        for component, code in zones
    }


def _codes(component: Component, main: Component, thing: Object, notes: Iterable[ZoneNote]) -> list[str]:
    """The zone codes of one component, in the order of a check."""
    data = shipped_data()
    codes: set[str] = set(thing.kind.zones) if component.pk == main.pk else set()
    for note in notes:
        if note.component_id == component.pk:
            (codes.add if note.present else codes.discard)(note.zone)
    order: list[str] = data["order"]
    return sorted(codes, key=lambda code: order.index(code) if code in order else len(order))


def _zone(component: Component, code: str, names: Mapping[str, str], made_of: Mapping[tuple[UUID, str], Sequence[Material]]) -> Zone:
    its = [*made_of.get((component.pk, code), ()), *made_of.get((component.pk, ""), ())]
    part = "" if component.sort == Component.Sort.MAIN else str(component)
    return Zone(component.pk, code, names.get(code, code), part, tuple({one.code: one for one in its}.values()))


def _materials_by_zone(component_ids: Iterable[UUID]) -> dict[tuple[UUID, str], list[Material]]:
    """(component, zone or '') to the materials in force. Without a zone a material counts in every zone."""
    found: dict[tuple[UUID, str], list[Material]] = {}
    for row in _MADE_OF(list(component_ids)):
        found.setdefault((row.component_id, row.zone), []).append(row.material)
    return found


def materials_of(object_ids: Iterable[UUID]) -> dict[UUID, frozenset[str]]:
    """Object to all its material codes."""
    found: dict[UUID, set[str]] = {}
    rows = MadeOf.objects.filter(component__object_id__in=list(object_ids), corrected_by=None, withdraws=False)
    for object_id, code in rows.values_list("component__object_id", "material__code"):
        found.setdefault(object_id, set()).add(code)
    return {key: frozenset(codes) for key, codes in found.items()}


def standing_statements(object_ids: Iterable[UUID]) -> "QuerySet[Statement]":
    """The statements in force of these objects, those that empty a field on purpose (without a value) included."""
    rows = Statement.objects.filter(component__object_id__in=list(object_ids), acceptance__isnull=False, acceptance__replaced_by=None)
    rows = rows.select_related("field", "component", "author", "acceptance")
    return rows.order_by("field__position", "recorded_at", "id")


def accepted(object_ids: Iterable[UUID]) -> "QuerySet[Statement]":
    """The statements in force of these objects: accepted, not replaced, with a value."""
    return standing_statements(object_ids).filter(value__isnull=False)


def everything_said(thing: Object) -> "QuerySet[Statement]":
    """All that was ever said of an object, newest first: in force, replaced, proposed, declined."""
    rows = Statement.objects.filter(component__object=thing, withdraws=False)
    related = ("field", "component", "author", "acceptance__accepted_by", "acceptance__replaced_by__statement")
    rows = rows.select_related(*related, "corrected_by__author")
    return rows.order_by("-recorded_at", "-id")


def proposals(thing: Object) -> "QuerySet[Statement]":
    """What volunteers proposed and nobody decided."""
    return (
        Statement.objects.filter(component__object=thing, acceptance=None, withdraws=False, corrected_by=None)
        .select_related("field", "author", "component")
        .order_by("recorded_at")
    )


def hazards_in_force(object_ids: Iterable[UUID]) -> dict[UUID, dict[str, int]]:
    """Object to hazard code and level, by the latest fact of each; closed ones are left out."""
    latest: dict[tuple[UUID, str], int] = {}
    for object_id, code, level in _HAZARDS(list(object_ids)):
        latest[object_id, code] = level
    found: dict[UUID, dict[str, int]] = {}
    for (object_id, code), level in latest.items():
        if level:
            found.setdefault(object_id, {})[code] = level
    return found


def ownership_of(object_ids: Iterable[UUID]) -> dict[UUID, str]:
    """Object to whose it is today."""
    return dict(_OWNERSHIPS(list(object_ids), clock.today()))


def photographs_of(kind: str, subject: UUID) -> "QuerySet[Photograph]":
    """The photographs that show a thing, standard views first."""
    shown = Shows.objects.filter(kind=kind, subject=subject).values("photograph")
    pictures = Photograph.objects.filter(pk__in=shown, corrected_by=None, withdraws=False)
    return pictures.order_by("-happened_on", "view", "id")


def standing_fields() -> Sequence[Field]:
    """The fields of the record, in order."""
    return list(Field.objects.filter(retired=False).order_by("position"))


def material_words(codes: Iterable[str]) -> list[str]:
    """Materials in the reader's language."""
    known = words_of_materials(codes)
    return [known[code] for code in codes if code in known]


def words_of_materials(codes: Iterable[str]) -> dict[str, str]:
    """Code to the material in the reader's language."""
    return {code: text_of(texts) for code, texts in Material.objects.filter(code__in=list(codes)).values_list("code", "texts")}
