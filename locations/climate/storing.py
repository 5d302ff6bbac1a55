"""Readings into and out of the database, many at once: packed by numpy, carried by COPY."""

from collections.abc import Iterable
from datetime import UTC, datetime
from itertools import groupby
from operator import itemgetter
from typing import Any, Final

import numpy as np
from django.db import connection
from numpy.typing import NDArray

from locations.climate.files.flags import Flag
from locations.climate.files.reading import Batch
from locations.climate.science.values import Flags, Ints

#: seconds from 1970 to 2000, from which the database counts
ERA: Final = 946_684_800
HEAD: Final = b"PGCOPY\n\xff\r\n\x00" + bytes(8)
FOOT: Final = b"\xff\xff"
VALUES: Final = ("t", "rh", "lux")
_SIZES: Final = {"logger": ">i2", "flags": ">i2", "file": ">i4", "at": ">i8", "t": ">f4", "rh": ">f4", "lux": ">f4"}
Rows = NDArray[Any]
_STORED: Final = np.dtype([(name, _SIZES[name]) for name in ("at", "t", "rh", "lux", "file", "flags")])
_PACKED: Final = (
    "timestamptz_send(at) || float4send(coalesce(t, 'NaN')) || float4send(coalesce(rh, 'NaN')) || float4send(coalesce(lux, 'NaN'))"
    " || int4send(file) || int2send(flags)"
)
#: the count of fields and the length of the only one
_BEFORE: Final = 6


def add(table: str, logger: int, file: int, batch: Batch) -> None:
    """Adds rows; those that lack the same values go together, since a lacking value takes no room in them."""
    lacking = sum(np.isnan(getattr(batch, name)).astype(np.int64) << k for k, name in enumerate(VALUES))
    for pattern in np.unique(lacking).tolist():
        names = [name for k, name in enumerate(VALUES) if not pattern >> k & 1]
        _copy(
            table,
            ["logger", "flags", "file", "at", *names],
            logger,
            file,
            batch.some(lacking == pattern) if pattern != lacking.min() or pattern != lacking.max() else batch,
        )


def _copy(table: str, names: list[str], logger: int, file: int, batch: Batch) -> None:
    fields = [("n", ">i2"), *((part, kind) for name in names for part, kind in ((f"_{name}", ">i4"), (name, _SIZES[name])))]
    rows = np.empty(len(batch), dtype=fields)
    rows["n"], rows["logger"], rows["file"], rows["flags"] = len(names), logger, file, batch.flags
    rows["at"] = (batch.at - ERA) * 1_000_000
    for name in names:
        rows[f"_{name}"] = rows.dtype[name].itemsize
        if name in VALUES:
            rows[name] = getattr(batch, name)
    with connection.cursor() as cursor, cursor.copy(f"COPY {table} ({', '.join(names)}) FROM STDIN (FORMAT BINARY)") as copy:
        copy.write(HEAD)
        copy.write(rows.tobytes())
        copy.write(FOOT)


def stored(table: str, logger: int, first: int, last: int) -> Rows:
    """What is there from `first` to `last` (s), in order: at (s), t, rh, lux (NaN where none), file, flags.

    Packed by the database into one field: a row a message costs more than the reading of it.
    """
    sql = (
        f"COPY (SELECT coalesce(string_agg({_PACKED}, '' ORDER BY at), '') FROM {table} WHERE logger = {int(logger)}"
        f" AND at BETWEEN '{moment(first).isoformat()}' AND '{moment(last).isoformat()}') TO STDOUT (FORMAT BINARY)"
    )
    with connection.cursor() as cursor, cursor.copy(sql) as copy:
        data = b"".join(copy)
    return np.frombuffer(data, dtype=_STORED, offset=len(HEAD) + _BEFORE, count=(len(data) - len(HEAD) - _BEFORE - len(FOOT)) // _STORED.itemsize)


def seconds_of(rows: Rows) -> Ints:
    """Instants of stored rows in seconds since 1970."""
    found: Ints = rows["at"].astype(np.int64) // 1_000_000 + ERA
    return found


def kept(logger: int, first: int, last: int) -> Batch:
    """The readings of a logger from `first` to `last` (s), in order."""
    rows = stored("climate_reading", logger, first, last)
    t, rh, lux = (rows[name].astype(np.float64) for name in VALUES)
    return Batch(seconds_of(rows), t, rh, lux, rows["flags"].astype(np.int64))


def kept_at(loggers: Iterable[int], at: Ints) -> dict[int, Batch]:
    """Logger to its readings at these instants (s), in order; only those that have some. Looked up by key, however long the records are."""
    sql = "SELECT logger, extract(epoch FROM at)::bigint, t, rh, lux, flags FROM climate_reading WHERE logger = ANY(%s) AND at = ANY(%s) ORDER BY logger, at"
    with connection.cursor() as cursor:
        cursor.execute(sql, [list(loggers), [moment(second) for second in at.tolist()]])
        rows = cursor.fetchall()
    found = {}
    for logger, its in groupby(rows, key=itemgetter(0)):
        table = np.array([row[1:] for row in its], dtype=np.float64)
        found[logger] = Batch(table[:, 0].astype(np.int64), table[:, 1], table[:, 2], table[:, 3], table[:, 4].astype(np.int64))
    return found


def moment(second: int) -> datetime:
    """A second since 1970 as an instant."""
    return datetime.fromtimestamp(second, UTC)


def compared(batch: Batch, logger: int, file: int) -> tuple[Flags, Flags, int]:
    """Of readings in order: which are new, which say something else than what stands at their instant; how many of the same came by this very file."""
    new, other = np.ones(len(batch), dtype=bool), np.zeros(len(batch), dtype=bool)
    if not len(batch):
        return new, other, 0
    rows = stored("climate_reading", logger, int(batch.at[0]), int(batch.at[-1]))
    if not len(rows):
        return new, other, 0
    at = seconds_of(rows)
    where = np.minimum(np.searchsorted(at, batch.at), len(at) - 1)
    new = at[where] != batch.at
    for name in VALUES:
        mine, theirs = getattr(batch, name).astype(np.float32), rows[name][where].astype(np.float32)
        other |= ~new & (mine != theirs) & ~(np.isnan(mine) & np.isnan(theirs))
    own = int((~new & ~other & (rows["file"][where] == file)).sum())
    return new, other, own


def store(batch: Batch, rivals: Batch, logger: int, file: int) -> dict[str, int]:
    """Adds what is not there yet; another value of an instant that has one becomes a rival. Answers what became of them.

    What this very file stored before counts as stored. The caller holds the logger's lock.
    """
    new, other, own = compared(batch, logger, file)
    add("climate_reading", logger, file, batch if new.all() else batch.some(new))
    contradicting = batch.some(other)
    contradicting.flags |= Flag.RIVALLED
    found = _add_rivals(contradicting, logger, file) + _add_rivals(rivals, logger, file)
    return {"stored": int(new.sum()) + own, "known": int((~new & ~other).sum()) - own, "contradicting": int(other.sum()), "rivals_stored": found}


def _add_rivals(batch: Batch, logger: int, file: int) -> int:
    """Adds the other values; the same once more is no rival."""
    if not len(batch):
        return 0
    with connection.cursor() as cursor:
        cursor.execute("CREATE TEMP TABLE IF NOT EXISTS new_rival (LIKE climate_rival) ON COMMIT DELETE ROWS; ALTER TABLE new_rival ALTER id DROP NOT NULL")
        cursor.execute("DELETE FROM new_rival")
        add("new_rival", logger, file, batch)
        cursor.execute(
            "INSERT INTO climate_rival (logger, flags, file, at, t, rh, lux) SELECT logger, flags, file, at, t, rh, lux FROM new_rival ORDER BY at, ctid"
            " ON CONFLICT DO NOTHING"
        )
        return int(cursor.rowcount)
