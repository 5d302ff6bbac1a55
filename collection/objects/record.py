"""The record of one object as pages show it: what is said, its parts, its dangers."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from uuid import UUID

from collection.objects import fields
from collection.objects.models import Component, Field, Number, Object, Ownership, Statement
from collection.objects.queries import (
    Zone,
    components_of,
    hazards_in_force,
    ownership_of,
    proposals,
    standing_fields,
    standing_statements,
    text_of,
    zones_of,
)
from museum.people.actor import Actor
from museum.prepared import ANY_KEY, Prepared


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


class RecordOf:
    """All that a person may read of an object's record; each part is asked for when it is first shown.

    What is personal or not for the public is not for readers.
    """

    def __init__(self, thing: Object, actor: Actor) -> None:
        self._thing = thing
        self._everything = actor.may("catalogue.see_all")

    @cached_property
    def components(self) -> list[Component]:
        """The whole and its parts, by position and letter."""
        return components_of(self._thing.pk)

    @property
    def main(self) -> Component:
        """The whole."""
        return next(part for part in self.components if part.sort == Component.Sort.MAIN)

    @property
    def parts(self) -> list[Component]:
        """All but the whole."""
        return [part for part in self.components if part.sort != Component.Sort.MAIN]

    @cached_property
    def lines(self) -> list[Line]:
        """Every field with what stands in it, in order."""
        return [self._line(field) for field in standing_fields() if self._shows(field)]

    @cached_property
    def filled(self) -> list[Line]:
        """The fields in which something stands."""
        fields_said = {statement.field_id: statement.field for statement in self._standing}
        lines = [self._line(field) for field in fields_said.values() if not field.retired and self._shows(field)]
        return [line for line in lines if line.said]

    @cached_property
    def numbers(self) -> list[Number]:
        """All numbers but those taken back, of the whole and of its parts."""
        return _NUMBERS(self._thing.pk)

    @cached_property
    def zones(self) -> list[Zone]:
        """Its zones in the order of a check."""
        return zones_of(self._thing, self.components)

    @cached_property
    def hazards(self) -> dict[str, int]:
        """Danger to level; none that is closed."""
        return hazards_in_force([self._thing.pk]).get(self._thing.pk, {})

    @cached_property
    def whose(self) -> str:
        """Whose it is, as a code; empty while nobody said."""
        return ownership_of([self._thing.pk]).get(self._thing.pk, "")

    @property
    def whose_words(self) -> str:
        """Whose it is, in words."""
        return str(Ownership.Whose(self.whose).label) if self.whose else ""

    @cached_property
    def proposals(self) -> list[Spoken]:
        """What waits for a decision."""
        return [_spoken(row, row.component) for row in proposals(self._thing)] if self._everything else []

    @cached_property
    def _standing(self) -> list[Statement]:
        return _STANDING(self._thing.pk)

    def _shows(self, field: Field) -> bool:
        return self._everything or (field.public and not field.personal)

    def _line(self, field: Field) -> Line:
        parts, main = {part.pk: part for part in self.components}, self.main.pk
        here = [statement for statement in self._standing if statement.field_id == field.pk]
        said = [_spoken(statement, parts[statement.component_id]) for statement in here if statement.value is not None]
        emptied = next((statement for statement in reversed(here) if statement.value is None and statement.component_id == main), None)
        return Line(field, text_of(field.texts), said, main, emptied)


def record_of(thing: Object, actor: Actor) -> RecordOf:
    """The record as this person may read it."""
    return RecordOf(thing, actor)


_NUMBERS = Prepared(lambda key: Number.objects.filter(object_id=key).exclude(state="withdrawn").order_by("state", "sort_key"), ANY_KEY)
_STANDING = Prepared(lambda key: standing_statements([key]).select_related(None).select_related("field", "acceptance"), ANY_KEY)


def _spoken(statement: Statement, component: Component) -> Spoken:
    part = "" if component.sort == Component.Sort.MAIN else str(component)
    return Spoken(statement, fields.shown(statement.field, statement.value, statement.words), part)
