"""Stamps moulds and puts the stamps into the database by COPY, the history under the chain's lock."""

import random
import time
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from types import TracebackType
from typing import Self

from django.db import connection, transaction
from django.db.models import Model

from collection.objects.card import CONFIG, NAMED_SQL, SEARCH_SQL
from collection.objects.models import Card
from conservation.checks.follow import NAME
from conservation.checks.models import Mark
from museum.desk.generating.casting import TOLD, Mould, columns_of, quoted, values_of
from museum.history import chain
from museum.history.models import About, Change
from museum.history.record import CHAIN_LOCK

N = TOLD.index("n")
CHANGE_COLUMNS = ["n", *(name for name in columns_of(Change) if name not in ("n", "hash")), "hash"]
ABOUT_COLUMNS = ("change_id", "kind", "key")
TEXTS = ("a", "b", "c", "d")


def keys(dice: random.Random) -> Iterator[str]:
    """Keys of version 7 in rising order, 4096 to the millisecond from now on: what is written together stands together."""
    count = time.time_ns() // 1_000_000 << 12
    while True:
        count += 1
        head, rest = f"{count >> 12:012x}", f"{0b10 << 62 | dice.getrandbits(62):016x}"
        yield f"{head[:8]}-{head[8:]}-7{count & 0xFFF:03x}-{rest[:4]}-{rest[4:]}"


class Days:
    """The days of a mould moved by as many days, each reckoned once."""

    def __init__(self) -> None:
        self._known: dict[tuple[str, int], str] = {}

    def moved(self, days: Sequence[str], by: int) -> dict[str, str]:
        """Day to the day that many days later."""
        return {day: self._moved(day, by) for day in days}

    def _moved(self, day: str, by: int) -> str:
        if (found := self._known.get((day, by))) is None:
            found = self._known[day, by] = (date.fromisoformat(day) + timedelta(days=by)).isoformat()
        return found


class Press:
    """One transaction of stamps; on leaving it all is written. Meanwhile nobody else writes to the history."""

    def __init__(self, keys: Iterator[str], days: Days) -> None:
        self._keys, self._days = keys, days
        self._rows: dict[type[Model], list[str]] = {}
        self._entries: list[str] = []
        self._about: list[str] = []
        self._frame = transaction.atomic()

    def __enter__(self) -> Self:
        self._frame.__enter__()
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [CHAIN_LOCK])
        self._n, self._hash = Change.objects.order_by("-n").values_list("n", "hash").first() or (0, chain.FIRST)
        self._began = self._n
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        try:
            if error is None:
                self._write()
        except BaseException as failed:
            self._frame.__exit__(type(failed), failed, failed.__traceback__)
            raise
        self._frame.__exit__(kind, error, trace)

    def stamp(self, mould: Mould, told: Mapping[str, str], moved: int = 0) -> None:
        """One more thing like the mould's, with what is told of it, its days moved."""
        values = values_of(mould, told, self._keys, self._days.moved(mould.days, moved))
        for model, cast in mould.tables.items():
            self._rows.setdefault(model, []).append(cast.filled(values))
        for entry in mould.entries:
            self._n += 1
            values[N] = str(self._n)
            self._hash = chain.linked(self._hash, entry.covered.filled(values))
            self._entries.append(f"{self._n}\t{entry.row.filled(values)}\t{self._hash}")
            if entry.about.text:
                self._about.append(entry.about.filled(values))

    def _write(self) -> None:
        for model, lines in self._rows.items():
            if model is Card:
                _write_cards(lines)
            else:
                _copy(model._meta.db_table, columns_of(model), lines)
        _copy(Change._meta.db_table, CHANGE_COLUMNS, self._entries)
        _copy(About._meta.db_table, ABOUT_COLUMNS, self._about)
        # What was written is judged and dated already.
        Mark.objects.filter(name=NAME, n=self._began).update(n=self._n)


def _write_cards(lines: Sequence[str]) -> None:
    """Cards with the words that search looks in, made of the texts beside them."""
    columns = columns_of(Card)
    with connection.cursor() as cursor:
        texts = ", ".join(f"{name} text" for name in TEXTS)
        cursor.execute(f"CREATE TEMP TABLE stamped_card (LIKE {quoted([Card._meta.db_table])}, {texts}) ON COMMIT DROP")
    _copy("stamped_card", [*columns, *TEXTS], lines)
    with connection.cursor() as cursor:
        cursor.execute(
            f"INSERT INTO {quoted([Card._meta.db_table])} ({quoted(columns)}, named, search)"
            f" SELECT {quoted(columns)}, {NAMED_SQL}, {SEARCH_SQL} FROM stamped_card AS told",
            {"config": CONFIG},
        )
        cursor.execute("DROP TABLE stamped_card")


def _copy(table: str, columns: Sequence[str], lines: Sequence[str]) -> None:
    if not lines:
        return
    with connection.cursor() as cursor, cursor.copy(f"COPY {quoted([table])} ({quoted(columns)}) FROM STDIN") as copy:
        copy.write("\n".join([*lines, ""]))
