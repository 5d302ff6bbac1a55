"""What the walk round an object shows: its zones with their answers, the one at hand, what stood there last time."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from collection.objects.models import Object, ZoneNote
from collection.objects.queries import Zone, notes_of, zones_of
from conservation.checks.models import Draft, Observation
from conservation.checks.queries import standing_observations
from conservation.checks.vocabulary import Offer, depth_words, offer_terms, term_words

#: fields of an observation that a later one takes over
KEPT = ("term", "material", "percent", "severity", "activity", "size_mm", "note")


@dataclass(frozen=True, slots=True)
class ZoneRow:
    """One zone in the list beside the drawing."""

    zone: Zone
    key: str
    answer: str
    seen: Sequence[Mapping[str, Any]]
    last: Sequence[Observation]

    @property
    def last_words(self) -> list[tuple[Observation, str]]:
        """What stood here last time, with its term in words."""
        return [(row, term_words(row.term)) for row in self.last]


@dataclass(frozen=True, slots=True)
class Walk:
    """The whole walk: every zone in order, which is at hand, and what is noted of them."""

    rows: Sequence[ZoneRow]
    at: ZoneRow
    following: ZoneRow | None
    notes: Sequence[ZoneNote]

    @property
    def answered(self) -> int:
        """How many zones have an answer."""
        return sum(1 for row in self.rows if row.answer)

    @property
    def complete(self) -> bool:
        """Whether every zone has one."""
        return self.answered == len(self.rows)


def walk_of(thing: Object, draft: Draft, at: str | None) -> Walk:
    """The walk with the zone `at` at hand, else the first unanswered one."""
    notes = notes_of(thing.pk)
    rows = _rows(thing, notes, draft.content)
    here = next((row for row in rows if row.key == at), None) or _first_open(rows) or rows[0]
    return Walk(rows, here, _first_open([*rows[rows.index(here) + 1 :], *rows[: rows.index(here)]]), notes)


def offer_for(row: ZoneRow) -> Offer:
    """The words that fit the materials of the zone come first."""
    return offer_terms(row.zone.materials, row.zone.material_words)


def _rows(thing: Object, notes: Sequence[ZoneNote], content: Mapping[str, Any]) -> list[ZoneRow]:
    stood = standing_observations(thing.pk)
    answers, seen = content.get("zones", {}), content.get("seen", {})
    rows = []
    for zone in zones_of(thing, notes=notes):
        key = f"{zone.component_id}/{zone.code}"
        mine = [_spoken(name, fields) for name, fields in seen.items() if fields["zone"] == key]
        rows.append(ZoneRow(zone, key, answers.get(key, ""), mine, stood.get(key, [])))
    return rows


def _spoken(key: str, fields: Mapping[str, Any]) -> dict[str, Any]:
    return {**fields, "id": key, "term_words": term_words(fields.get("term", "")), "depth": depth_words(fields.get("severity"))}


def _first_open(rows: Sequence[ZoneRow]) -> ZoneRow | None:
    return next((row for row in rows if not row.answer), None)


def fields_of(last: Observation) -> dict[str, Any]:
    """What a later observation of the same finding takes over, as a draft holds it."""
    values = {name: getattr(last, name) for name in KEPT}
    return {"finding": str(last.finding_id)} | {name: _written(value) for name, value in values.items() if value not in (None, "")}


def _written(value: object) -> str:
    """As a person would type it: 0.5, not 0.50."""
    return format(value.normalize(), "f") if isinstance(value, Decimal) else str(value)
