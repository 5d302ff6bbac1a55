"""The card of each object: what lists and search show, a pure function of the facts.

`refresh` is called by every action that changes what a card shows; higher parts write their own columns
through `set_place` and `set_condition`.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any
from uuid import UUID

from django.contrib.postgres.search import SearchVector
from django.db.models import Value

from collection.objects.models import Card, Number, Object, Shows, Statement
from collection.objects.numbers import people_sort_key
from collection.objects.queries import accepted, hazards_in_force, materials_of, ownership_of

#: what is found first by search
WEIGHTS = (("number", "A"), ("name", "A"), ("broader", "B"), ("title", "B"), ("rest", "C"))
SHOWN_TEXT = 400
AT_ONCE = 1_000


def refresh(object_ids: Iterable[UUID]) -> None:
    """Makes the cards of these objects anew from the facts; columns of higher parts stay as they are."""
    keys = sorted(set(object_ids))
    for start in range(0, len(keys), AT_ONCE):
        _refresh(keys[start : start + AT_ONCE])


def _refresh(keys: Sequence[UUID]) -> None:
    things = {thing.pk: thing for thing in Object.objects.filter(pk__in=keys).select_related("kind")}
    numbers, statements = _numbers(keys), _statements(keys)
    extra = (materials_of(keys), hazards_in_force(keys), ownership_of(keys), _photographs(keys))
    cards = [_card(thing, numbers.get(key, []), statements.get(key, []), *(rows.get(key) for rows in extra)) for key, thing in things.items()]
    fields = [name for name in cards[0] if name != "object_id"] if cards else []
    Card.objects.bulk_create(
        [Card(**values) for values in cards], update_conflicts=True, unique_fields=["object"], update_fields=fields
    )
    for values in cards:
        _index(values, numbers.get(values["object_id"], []))


def _card(
    thing: Object, numbers: Sequence[Number], statements: Sequence[Statement], materials: Any, hazards: Any, whose: Any, photographs: Any
) -> dict[str, Any]:
    said: dict[str, Statement] = {statement.field.code: statement for statement in statements if _of_main(statement)}
    current = _first_current(numbers)
    name = said.get("name")
    day = (said["date_made"].value or {}) if "date_made" in said else {}
    dangers: Mapping[str, int] = hazards or {}
    shots: list[UUID] = photographs or []
    words = [statement.words for statement in statements if not statement.field.personal]
    return {
        "object_id": thing.pk, "number": current.text if current else "", "number_sort": current.sort_key if current else "~~",
        "name": name.words if name else "", "name_sort": people_sort_key(name.words if name else ""),
        "broader_name": (name.value or {}).get("broader", "") if name else "",
        "description": said["description"].words[:SHOWN_TEXT] if "description" in said else "",
        "date_text": said["date_made"].words if "date_made" in said else "",
        "date_earliest": _day(day.get("earliest")), "date_latest": _day(day.get("latest")),
        "materials": sorted(materials or ()), "kind": thing.kind.code, "whose": whose or "", "public": thing.public,
        "withdrawn": bool(thing.withdrawn), "photograph": shots[0] if shots else None, "photographs": len(shots),
        "hazard_level": max(dangers.values(), default=0), "hazard_codes": sorted(dangers),
        "high_significance": "significance" in said and (said["significance"].value or {}).get("text") == "high",
        "words": " ".join([*(number.text for number in numbers), *words])[:4000],
    }  # fmt: skip


def _of_main(statement: Statement) -> bool:
    return statement.component.sort == "main"


def _first_current(numbers: Sequence[Number]) -> Number | None:
    """The number an object goes by: of the whole, in the order of the series."""
    order = ("accession", "loan_in", "entry", "temporary", "as_written")
    current = [number for number in numbers if number.state == "current" and number.component_id is None]
    return min(current, key=lambda number: order.index(number.series), default=None)


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None


def _numbers(keys: Sequence[UUID]) -> dict[UUID, list[Number]]:
    found: dict[UUID, list[Number]] = {}
    for number in Number.objects.filter(object_id__in=keys).exclude(state="withdrawn").order_by("sort_key"):
        found.setdefault(number.object_id, []).append(number)
    return found


def _statements(keys: Sequence[UUID]) -> dict[UUID, list[Statement]]:
    found: dict[UUID, list[Statement]] = {}
    for statement in accepted(keys):
        found.setdefault(statement.component.object_id, []).append(statement)
    return found


def _photographs(keys: Sequence[UUID]) -> dict[UUID, list[UUID]]:
    found: dict[UUID, list[UUID]] = {}
    for subject, photograph in Shows.objects.filter(kind="object", subject__in=keys).order_by("id").values_list("subject", "photograph"):
        found.setdefault(subject, []).append(photograph)
    return found


def _index(values: Mapping[str, Any], numbers: Sequence[Number]) -> None:
    """The search vector: number and name weigh most."""
    parts = {
        "number": " ".join(number.text for number in numbers), "name": values["name"], "broader": values["broader_name"],
        "title": values["description"][:SHOWN_TEXT], "rest": values["words"],
    }  # fmt: skip
    first, *others = (SearchVector(Value(parts[name]), weight=weight, config="simple") for name, weight in WEIGHTS)
    vector = first
    for other in others:
        vector += other
    Card.objects.filter(object_id=values["object_id"]).update(search=vector)


def set_place(object_id: UUID, *, place: UUID | None, place_text: str, building_text: str) -> None:
    """Where it stands, told by the part that knows places."""
    Card.objects.filter(object_id=object_id).update(place=place, place_text=place_text, building_text=building_text)


def set_condition(object_id: UUID, **values: Any) -> None:
    """Grade, activity, urgency and dates, told by the part that knows checks."""
    Card.objects.filter(object_id=object_id).update(**values)
