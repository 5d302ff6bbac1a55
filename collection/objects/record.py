"""The record of one object as pages show it: what is said, its parts, its dangers."""

from collections.abc import Sequence
from dataclasses import dataclass

from collection.objects.models import Component, Field, Number, Object, Statement
from collection.objects.queries import (
    Zone, accepted, hazards_in_force, ownership_of, proposals, standing_fields, text_of, zones_of,
)  # fmt: skip
from museum.people.actor import Actor


@dataclass(frozen=True, slots=True)
class Line:
    """One field with what stands in it."""

    field: Field
    name: str
    statements: Sequence[Statement]

    @property
    def standing(self) -> Statement | None:
        """The one value of a single field."""
        return self.statements[0] if self.statements else None


@dataclass(frozen=True, slots=True)
class RecordOf:
    """All that a person may read of an object's record. A constant number of queries."""

    lines: Sequence[Line]
    components: Sequence[Component]
    numbers: Sequence[Number]
    zones: Sequence[Zone]
    hazards: dict[str, int]
    whose: str
    proposals: Sequence[Statement]

    @property
    def filled(self) -> list[Line]:
        """The fields in which something stands."""
        return [line for line in self.lines if line.statements]


def record_of(thing: Object, actor: Actor) -> RecordOf:
    """The record as this person may read it: personal fields for those who may see contacts, hidden ones not for readers."""
    everything = actor.may("catalogue.see_all")
    fields = [f for f in standing_fields() if (everything or f.public) and (not f.personal or everything)]
    said: dict[int, list[Statement]] = {}
    for statement in accepted([thing.pk]):
        said.setdefault(statement.field_id, []).append(statement)
    return RecordOf(
        lines=[Line(field, text_of(field.texts), said.get(field.pk, [])) for field in fields],
        components=list(thing.components.order_by("position", "letter")),
        numbers=list(thing.numbers.exclude(state="withdrawn").order_by("state", "sort_key")),
        zones=zones_of(thing), hazards=hazards_in_force([thing.pk]).get(thing.pk, {}), whose=ownership_of([thing.pk]).get(thing.pk, ""),
        proposals=list(proposals(thing)) if everything else [],
    )  # fmt: skip
