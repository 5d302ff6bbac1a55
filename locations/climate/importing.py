"""Brings the readings of a file in: all of it is read first, then stored in pieces. Done again, it goes on where it was."""

import hashlib
from collections.abc import Callable, Iterator
from typing import Any, Final

import numpy as np

from locations.climate.actions.files import Piece, ask_about_file, finish_file, refuse_file, store_piece, zone_of
from locations.climate.contradicted import contradiction
from locations.climate.files import reading, sheets
from locations.climate.files.flags import Flag
from locations.climate.files.forms import Form, Unreadable
from locations.climate.files.reading import Batch, Found
from locations.climate.models import ClimateFile, Logger, Placement
from locations.climate.science.series import HOUR
from locations.climate.sentences import why_lazily
from locations.climate.spans import instant_of, standing
from museum import clock
from museum.errors import Invalid
from museum.papers import files
from museum.people.actor import Actor

#: readings stored in one transaction
PIECE: Final = 250_000
#: a hole in the record longer than this is told (s)
HOLE: Final = 3 * HOUR
Tell = Callable[[int, int], None]


def bring_in(actor: Actor, row: ClimateFile, tell: Tell, *, holds: str = "") -> ClimateFile:
    """Reads and stores a file whose form is settled. Where it contradicts the record throughout it asks, and nothing of it is stored, unless somebody said
    with a reason that it `holds`. Raises Invalid where it cannot be read; then nothing of it is stored."""
    if row.logger is None:
        raise ValueError("a file without a logger is not read")
    if (before := _read_before(row)) is not None:
        again = before.counts | {"stored": 0, "known": before.counts["readings"]}
        return finish_file(actor, row.pk, counts=again, first=_second(before.first_at), last=_second(before.last_at), interval=row.logger.interval)
    found = _found(actor, row, row.logger)
    if not holds and (against := contradiction(found.readings, _parts(found.readings), row.logger, row.number)) is not None:
        return ask_about_file(actor, row.pk, against)
    counts: dict[str, Any] = {"stored": 0, "known": 0, "contradicting": 0}
    done = 0
    for piece in pieces(found, row):
        for name, number in store_piece(actor, row.pk, piece).items():
            counts[name] = counts.get(name, 0) + number
        done += len(piece.batch)
        tell(done, len(found.readings))
    at = found.readings.at
    counts = found.counts | counts | {"left": found.lines, "holes": _holes(found), "noticed": _noticed(found)} | ({"holds": holds} if holds else {})
    return finish_file(actor, row.pk, counts=counts, first=int(at[0]), last=int(at[-1]), interval=found.interval)


def _read_before(row: ClimateFile) -> ClimateFile | None:
    """The same bytes of the same logger, read in the same way, are in already."""
    same = ClimateFile.objects.filter(file=row.file_id, logger=row.logger_id, form=row.form, state=ClimateFile.State.DONE)
    return same.exclude(pk=row.pk).order_by("number").first()


def _second(moment: Any) -> int:
    return int(moment.timestamp())


def _found(actor: Actor, row: ClimateFile, logger: Logger) -> Found:
    with files.open_file(row.file) as opened:
        data = opened.read()
    placed = [int(instant_of(fact).timestamp()) for fact in standing(Placement.objects.filter(logger=logger)) if fact.place_id]
    try:
        found = reading.read(sheets.load(data), Form.of(row.form), zone=zone_of(logger), now=int(clock.now().timestamp()), placed=placed)
        if not len(found.readings):
            raise Unreadable("no_readings")
    except Unreadable as wrong:
        refuse_file(actor, row.pk, wrong.plain())
        raise Invalid(why_lazily(wrong), field="file") from None
    return found


def pieces(found: Found, row: ClimateFile) -> Iterator[Piece]:
    """The readings in pieces, the rivals with the first."""
    none = found.rivals.some(np.zeros(len(found.rivals), dtype=bool))
    for number, batch in enumerate(_parts(found.readings)):
        code = hashlib.sha256(f"{row.file.sha256} {row.number} {number}".encode()).hexdigest()
        yield Piece(number, code, batch, none if number else found.rivals)


def _parts(batch: Batch) -> Iterator[Batch]:
    for begin in range(0, len(batch), PIECE):
        part = slice(begin, begin + PIECE)
        yield batch if len(batch) <= PIECE else Batch(batch.at[part], batch.t[part], batch.rh[part], batch.lux[part], batch.flags[part])


def _holes(found: Found) -> list[list[int]]:
    """The longest holes within the file: from, to (s)."""
    at = found.readings.at
    steps = np.diff(at)
    long = np.flatnonzero(steps > max(HOLE, 3 * found.interval))
    longest = long[np.argsort(-steps[long])][:20]
    return sorted([int(at[i]), int(at[i + 1])] for i in longest)


def _noticed(found: Found) -> dict[str, int]:
    """How many readings carry which flag."""
    flags = found.readings.flags
    return {str(flag.value): count for flag in Flag if (count := int((flags & flag.value > 0).sum()))}
