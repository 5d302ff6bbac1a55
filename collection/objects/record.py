"""The record of one object as pages show it: what is said, its parts, its dangers.

record_of(thing, actor)     the context of objects/_record.html, _parts.html, _zones.html and _hazards.html
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from uuid import UUID

from collection.objects import fields
from collection.objects.models import Component, Field, Number, Object, Ownership, Statement
from collection.objects.queries import (
    Zone,
    hazards_in_force,
    ownership_of,
    proposals,
    standing_fields,
    standing_statements,
    text_of,
    zones_of,
)
from museum.people.actor import Actor


@dataclass(frozen=True, slots=True)
class Spoken:
    """One statement with how it reads, and of which part it is said ('' = of the whole)."""

    statement: Statement
    text: str
    part: str


@dataclass(frozen=True)
class Line:
    """One field with all that stands in it, of the whole and of its parts."""

    field: Field
    name: str
    said: Sequence[Spoken]
    main: UUID
    #: a field of one value emptied on purpose: the statement that emptied it
    emptied: Statement | None = None

    @property
    def statements(self) -> list[Statement]:
        """The statements with a value."""
        return [one.statement for one in self.said]

    @cached_property
    def standing(self) -> Statement | None:
        """What stands in a single field of the whole, the emptying one included: an edit replaces it."""
        if self.field.repeatable:
            return None
        mine = [row for row in self.statements if row.component_id == self.main]
        return mine[-1] if mine else self.emptied

    @property
    def inputs(self) -> tuple[fields.Input, ...]:
        """What a form asks for."""
        return fields.inputs(self.field)


@dataclass(frozen=True, slots=True)
class RecordOf:
    """All that a person may read of an object's record. A constant number of queries: ten."""

    lines: Sequence[Line]
    components: Sequence[Component]
    numbers: Sequence[Number]
    zones: Sequence[Zone]
    hazards: dict[str, int]
    whose: str
    proposals: Sequence[Spoken]

    @property
    def filled(self) -> list[Line]:
        """The fields in which something stands."""
        return [line for line in self.lines if line.said]

    @property
    def main(self) -> Component:
        """The whole."""
        return next(part for part in self.components if part.sort == Component.Sort.MAIN)

    @property
    def parts(self) -> list[Component]:
        """All but the whole."""
        return [part for part in self.components if part.sort != Component.Sort.MAIN]

    @property
    def whose_words(self) -> str:
        """Whose it is, in words; empty while nobody said."""
        return str(Ownership.Whose(self.whose).label) if self.whose else ""


def record_of(thing: Object, actor: Actor) -> RecordOf:
    """The record as this person may read it: what is personal or not for the public is not for readers."""
    everything = actor.may("catalogue.see_all")
    shown = [row for row in standing_fields() if everything or (row.public and not row.personal)]
    components = list(thing.components.order_by("position", "letter"))
    return RecordOf(
        lines=_lines(thing, shown, components), components=components,
        numbers=list(thing.numbers.exclude(state="withdrawn").order_by("state", "sort_key")),
        zones=zones_of(thing, components), hazards=hazards_in_force([thing.pk]).get(thing.pk, {}),
        whose=ownership_of([thing.pk]).get(thing.pk, ""),
        proposals=[_spoken(row) for row in proposals(thing)] if everything else [],
    )  # fmt: skip


def _lines(thing: Object, shown: Sequence[Field], components: Sequence[Component]) -> list[Line]:
    main = next(part.pk for part in components if part.sort == Component.Sort.MAIN)
    said: dict[int, list[Spoken]] = {}
    emptied: dict[int, Statement] = {}
    for statement in standing_statements([thing.pk]):
        if statement.value is not None:
            said.setdefault(statement.field_id, []).append(_spoken(statement))
        elif statement.component_id == main:
            emptied[statement.field_id] = statement
    return [Line(field, text_of(field.texts), said.get(field.pk, []), main, emptied.get(field.pk)) for field in shown]


def _spoken(statement: Statement) -> Spoken:
    part = "" if statement.component.sort == Component.Sort.MAIN else str(statement.component)
    return Spoken(statement, fields.shown(statement.field, statement.value, statement.words), part)
