"""The card of each object: what lists and search show, a pure function of the facts.

`refresh` is called by every action that changes what a card shows; higher parts write their own columns
through `set_place` and `set_condition`.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final
from uuid import UUID

from django.db import connection
from django.db.models import Case, When

from collection.objects import fields
from collection.objects.models import Card, Number, Object, Photograph, Shows, Statement
from collection.objects.numbers import people_sort_key
from collection.objects.queries import accepted, hazards_in_force, materials_of, ownership_of

#: the text search configuration: words as they are, without accents
CONFIG: Final = "house"
SHOWN_TEXT: Final = 400
AT_ONCE: Final = 1_000
MOST_WORDS: Final = 4_000
#: fields whose words are looked through for misspelt ones too
SHORT_FIELDS: Final = ("name", "title", "model", "maker")
#: the number an object goes by is of the first of these series that it has
SERIES_ORDER: Final = ("accession", "loan_in", "entry", "temporary", "as_written")

#: weight A: numbers and name; B: broader name and title; C: what all may read; D: what readers may not
NAMED_SQL: Final = "to_tsvector(%(config)s, told.a)"
SEARCH_SQL: Final = " || ".join(f"setweight(to_tsvector(%(config)s, told.{weight}), '{weight.upper()}')" for weight in "abcd")
INDEX: Final = f"""
UPDATE objects_card AS card
   SET named = {NAMED_SQL}, search = {SEARCH_SQL}
  FROM unnest(%(keys)s::uuid[], %(a)s::text[], %(b)s::text[], %(c)s::text[], %(d)s::text[]) AS told (key, a, b, c, d)
 WHERE card.object_id = told.key
"""


@dataclass(slots=True)
class _Facts:
    """All that the card of one object is made from."""

    thing: Object
    numbers: list[Number] = field(default_factory=list)
    statements: list[Statement] = field(default_factory=list)
    photographs: list[UUID] = field(default_factory=list)
    materials: frozenset[str] = frozenset()
    hazards: Mapping[str, int] = field(default_factory=dict)
    whose: str = ""

    def said(self, code: str) -> Statement | None:
        """The last thing said of the whole in a field."""
        return next((row for row in reversed(self.statements) if _of_main(row) and row.field.code == code), None)

    def words(self, code: str) -> str:
        """The same as words."""
        return row.words if (row := self.said(code)) else ""


def refresh(object_ids: Iterable[UUID]) -> None:
    """Makes the cards of these objects anew from the facts; columns of higher parts stay as they are.

    Ten queries for each thousand.
    """
    keys = sorted(set(object_ids))
    for start in range(0, len(keys), AT_ONCE):
        _refresh(keys[start : start + AT_ONCE])


def _refresh(keys: Sequence[UUID]) -> None:
    facts = _facts(keys)
    rows = [_columns(one) for one in facts]
    if not rows:
        return
    names = [name for name in rows[0] if name != "object_id"]
    cards = [Card(**values) for values in rows]
    Card.objects.bulk_create(cards, update_conflicts=True, unique_fields=["object"], update_fields=names)
    texts = [_texts(one) for one in facts]
    with connection.cursor() as cursor:
        told = {name: [row[n] for row in texts] for n, name in enumerate("abcd")}
        cursor.execute(INDEX, {"config": CONFIG, "keys": [one.thing.pk for one in facts], **told})


def texts_of(object_ids: Iterable[UUID]) -> dict[UUID, tuple[str, str, str, str]]:
    """What search finds of these objects, by weight."""
    return {one.thing.pk: _texts(one) for one in _facts(list(object_ids))}


def _facts(keys: Sequence[UUID]) -> list[_Facts]:
    found = {thing.pk: _Facts(thing) for thing in Object.objects.filter(pk__in=keys).select_related("kind")}
    keys = list(found)
    for number in Number.objects.filter(object_id__in=keys).exclude(state="withdrawn").order_by("sort_key", "id"):
        found[number.object_id].numbers.append(number)
    for statement in accepted(keys):
        found[statement.component.object_id].statements.append(statement)
    for subject, photograph in _photographs(keys):
        found[subject].photographs.append(photograph)
    materials, hazards, whose = materials_of(keys), hazards_in_force(keys), ownership_of(keys)
    for key, one in found.items():
        one.materials = materials.get(key, frozenset())
        one.hazards, one.whose = hazards.get(key, {}), whose.get(key, "")
    return list(found.values())


def _photographs(keys: Sequence[UUID]) -> Iterator[tuple[UUID, UUID]]:
    """Object and photograph in force; standard views first, of each the newest."""
    shown = list(Shows.objects.filter(kind="object", subject__in=keys).values_list("photograph", "subject"))
    subjects: dict[UUID, list[UUID]] = {}
    for photograph, subject in shown:
        subjects.setdefault(photograph, []).append(subject)
    standing = Photograph.objects.filter(pk__in=subjects, corrected_by=None, withdraws=False)
    order = (Case(When(view="", then=1), default=0), "view", "-happened_on", "id")
    for photograph in standing.order_by(*order).values_list("pk", flat=True):
        yield from ((subject, photograph) for subject in subjects[photograph])


def _columns(facts: _Facts) -> dict[str, Any]:
    thing, number, name, made = facts.thing, first_current(facts.numbers), facts.said("name"), facts.said("date_made")
    significance = facts.said("significance")
    return {
        "object_id": thing.pk, "number": number.text if number else "",
        "number_sort": number.sort_key if number else "~~",
        "name": facts.words("name"), "name_sort": people_sort_key(facts.words("name")), "broader_name": _broader(name),
        "description": facts.words("description")[:SHOWN_TEXT], "date_text": made.words if made else "",
        "date_earliest": _day(made, "earliest"), "date_latest": _day(made, "latest"),
        "materials": sorted(facts.materials), "kind": thing.kind.code, "whose": facts.whose, "public": thing.public,
        "withdrawn": bool(thing.withdrawn), "photograph": facts.photographs[0] if facts.photographs else None,
        "photographs": len(facts.photographs), "hazard_level": max(facts.hazards.values(), default=0),
        "hazard_codes": sorted(facts.hazards),
        "high_significance": bool(significance and significance.value and significance.value.get("text") == "high"),
        "words": _short(facts),
    }  # fmt: skip


def _texts(facts: _Facts) -> tuple[str, str, str, str]:
    """What search finds, by weight."""
    name = facts.said("name")
    apart = {"name", "title"}
    open_words = [_sought(row) for row in facts.statements if row.field.code not in apart and _for_all(row)]
    staff_words = [_sought(row) for row in facts.statements if row.field.code not in apart and not _for_all(row)]
    return (
        " ".join([*(number.text for number in facts.numbers), facts.words("name")]),
        f"{_broader(name)} {facts.words('title')}",
        " ".join(open_words)[: 4 * MOST_WORDS],
        " ".join(staff_words)[: 4 * MOST_WORDS],
    )


def _short(facts: _Facts) -> str:
    said = [facts.words(code) for code in SHORT_FIELDS]
    return " ".join(filter(None, [*(number.text for number in facts.numbers), *said]))[:MOST_WORDS]


def _for_all(statement: Statement) -> bool:
    return statement.field.public and not statement.field.personal


def _sought(statement: Statement) -> str:
    return fields.sought(statement.field, statement.value, statement.words)


def _of_main(statement: Statement) -> bool:
    return statement.component.sort == "main"


def _broader(name: Statement | None) -> str:
    return str((name.value or {}).get("broader", "")) if name else ""


def _day(statement: Statement | None, which: str) -> date | None:
    """A day as the database holds it; none outside the years 1 to 9999."""
    text = (statement.value or {}).get(which) if statement else None
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        return None


def first_current(numbers: Iterable[Number]) -> Number | None:
    """The number an object goes by: of the whole, in the order of the series."""
    current = [number for number in numbers if number.state == "current" and number.component_id is None]
    return min(current, key=lambda number: SERIES_ORDER.index(number.series), default=None)


def set_place(object_ids: Iterable[UUID], *, place: UUID | None, place_text: str, building_text: str) -> None:
    """Where these stand, told by the part that knows places."""
    told = Card.objects.filter(object_id__in=list(object_ids))
    told.update(place=place, place_text=place_text, building_text=building_text)


def set_condition(object_id: UUID, **values: Any) -> None:
    """Grade, activity, urgency and dates, told by the part that knows checks."""
    Card.objects.filter(object_id=object_id).update(**values)
