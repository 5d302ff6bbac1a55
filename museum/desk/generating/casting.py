"""Rows read as text with holes in them: what differs from thing to thing, key by key and day by day."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from operator import itemgetter
from typing import Any, Final
from uuid import UUID

from django.contrib.postgres.search import SearchVectorField
from django.db import connection
from django.db.models import AutoField, Model, QuerySet

from museum.history.chain import canonical_json
from museum.history.models import Act, Change

#: what a stamp is told of each thing, by the place of its value
TOLD: Final = ("n", "number", "number_sort", "name", "words", "place", "place_words", "building_words", "code", "parent")
#: stands for the entry's place in the chain; no real number is as large
N_HOLE: Final = 7_501_750_175_017_501
#: days of the history are moved; days that are said of a thing's making lie before 2020 and stay
DAY: Final = r"20[2-9]\d-[01]\d-[0-3]\d"


@dataclass(frozen=True, slots=True)
class Cast:
    """A text with holes and the places of the values that fill them."""

    text: str
    holes: Sequence[int]

    def filled(self, values: Sequence[str]) -> str:
        """The text with these values."""
        return self.text % tuple(itemgetter(*self.holes)(values)) if len(self.holes) > 1 else self.text % tuple(values[n] for n in self.holes)


class Caster:
    """Finds the holes of one mould: its own keys, its days, and the marks that stand for what is told."""

    def __init__(self, keys: Iterable[str], marks: Mapping[str, str]) -> None:
        self.keys = sorted(set(keys))
        self.days: list[str] = []
        self._places = {mark: TOLD.index(told) for mark, told in marks.items()} | {key: len(TOLD) + n for n, key in enumerate(self.keys)}
        fixed = sorted(self._places, key=len, reverse=True)
        self._found = re.compile("|".join([*map(re.escape, fixed), DAY]))

    def cast(self, text: str) -> Cast:
        """The text with holes."""
        holes: list[int] = []

        def hole(match: re.Match[str]) -> str:
            holes.append(self._place(match[0]))
            return "%s"

        return Cast(self._found.sub(hole, text.replace("%", "%%")), tuple(holes))

    def _place(self, found: str) -> int:
        if (place := self._places.get(found)) is not None:
            return place
        if found not in self.days:
            self.days.append(found)
        return len(TOLD) + len(self.keys) + self.days.index(found)


@dataclass(frozen=True, slots=True)
class Told:
    """An entry of the history: its row up to the hash, what the hash covers, and whom it is about."""

    row: Cast
    covered: Cast
    about: Cast


@dataclass(frozen=True, slots=True)
class Mould:
    """All that was written of one thing. `use` is what its place is for; a stamp of it goes to such a place."""

    keys: int
    days: Sequence[str]
    tables: Mapping[type[Model], Cast]
    entries: Sequence[Told]
    use: str
    kind: str
    #: days since the last thing that happened to it: it can be moved forward by fewer
    room: int


def columns_of(model: type[Model]) -> list[str]:
    """The columns that are copied: keys that the database counts and words that it indexes it makes itself."""
    return [
        str(field.column)
        for field in model._meta.concrete_fields
        if not isinstance(field, SearchVectorField) and not (field.primary_key and isinstance(field, AutoField))
    ]


def quoted(names: Iterable[str]) -> str:
    """Names for SQL."""
    return ", ".join(map(connection.ops.quote_name, names))


def rows_as_text(rows: "QuerySet[Any]", columns: Sequence[str] = ()) -> list[str]:
    """The rows as COPY writes them, in the order of their keys."""
    model = rows.model
    keys = ", ".join(f"'{key}'" for key in rows.values_list("pk", flat=True))
    if not keys:
        return []
    own = quoted([model._meta.pk.column])
    sql = f"COPY (SELECT {quoted(columns or columns_of(model))} FROM {quoted([model._meta.db_table])} WHERE {own} IN ({keys}) ORDER BY {own}) TO STDOUT"
    with connection.cursor() as cursor, cursor.copy(sql) as copy:
        return [line for line in b"".join(copy).decode().split("\n") if line]


def escaped(text: str) -> str:
    """A text as COPY reads it."""
    return text.replace("\\", "\\\\").replace("\t", "\\t").replace("\n", "\\n").replace("\r", "\\r")


def mould_of(
    tables: "Sequence[QuerySet[Any]]", acts: Sequence[UUID], marks: Mapping[str, str], *, use: str = "", kind: str = "", room: int = 0,
    beside: Sequence[str] = (),
) -> Mould:  # fmt: skip
    """Reads these rows and the history of these acts. `beside` stands as further columns of the last table's rows."""
    told = [*tables, Act.objects.filter(pk__in=acts)]
    keys = [str(key) for rows in told for key in rows.values_list("pk", flat=True) if isinstance(key, UUID)]
    caster = Caster(keys, marks)
    lines: dict[type[Model], list[str]] = {rows.model: rows_as_text(rows) for rows in told}
    if beside:
        lines[tables[-1].model] = ["\t".join([*lines[tables[-1].model], *map(escaped, beside)])]
    casts = {model: caster.cast("\n".join(found)) for model, found in lines.items() if found}
    entries = [_told(change, caster) for change in Change.objects.filter(act__in=acts).prefetch_related("about").order_by("n")]
    return Mould(len(caster.keys), tuple(caster.days), casts, tuple(entries), use, kind, room)


def _told(change: Change, caster: Caster) -> Told:
    columns = [name for name in columns_of(Change) if name not in ("n", "hash")]
    (row,) = rows_as_text(Change.objects.filter(pk=change.pk), columns)
    covered = canonical_json(change.entry() | {"n": N_HOLE})
    about = "\n".join(f"{N_HOLE}\t{one.kind}\t{one.key}" for one in change.about.all())
    return Told(caster.cast(row), caster.cast(covered), caster.cast(about))


def values_of(mould: Mould, told: Mapping[str, str], keys: Iterator[str], moved: Mapping[str, str]) -> list[str]:
    """What fills the holes of one stamp, in their order."""
    return [*(told.get(name, "") for name in TOLD), *(next(keys) for _ in range(mould.keys)), *(moved[day] for day in mould.days)]
