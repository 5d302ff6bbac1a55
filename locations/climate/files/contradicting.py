"""A file against the record that is there: whether it contradicts it throughout, and what that looks like."""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from locations.climate.files.reading import Batch
from locations.climate.science.figures import celsius
from locations.climate.science.values import Flags, Floats, Ints

#: fewer instants of another value are kept beside the first without a question (ours)
LEAST: Final = 12
#: of the instants that both have, the share that must contradict to be asked about (ours)
THROUGHOUT: Final = 0.5
#: of the readings looked at, the share that an explanation must fit (ours)
FITS: Final = 0.9
#: contradicting readings looked at for why; and of them, those looked up in the records of all other loggers
LOOKED_AT, AT_OTHERS = 1_000, 200
#: a clock may be set wrongly by so much, in steps of a quarter of an hour: all zones of the world
FARTHEST, STEP = 14 * 3600, 900
#: what another rounding changes at most: °C, %, lx; and what four bytes do
T_ROUNDED, RH_ROUNDED, LUX_ROUNDED, EXACT = 0.11, 1.01, 0.5, 1e-3


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Of `common` instants that both have, `contradicting` have other values, from `first` to `last` (s). `cause`: what it looks like.

    "other": its figures are in the record of logger `name`; "clock": in this record, `shift` seconds earlier; "exchanged" columns; the same "rounded"
    otherwise; in another "unit"; or "".
    """

    common: int
    contradicting: int
    first: int
    last: int
    cause: str = ""
    shift: int = 0
    name: str = ""

    @property
    def throughout(self) -> bool:
        """Whether somebody has to be asked before anything is stored."""
        return self.contradicting >= LEAST and self.contradicting > THROUGHOUT * self.common


def explained(found: Contradiction, some: Batch, record: Batch) -> Contradiction:
    """What contradicting readings look like against the record from FARTHEST before to FARTHEST after them, both in order."""
    for shift in sorted(range(-FARTHEST, FARTHEST + 1, STEP), key=abs):
        if shift and agree(_at(some, some.at - shift), record):
            return replace(found, cause="clock", shift=shift)
    otherwise = (
        ("exchanged", some.rh, some.t, False), ("rounded", some.t, some.rh, True), ("unit", celsius(some.t), some.rh, True),
        ("unit", some.t * 9 / 5 + 32, some.rh, True),
    )  # fmt: skip
    for cause, t, rh, roundly in otherwise:
        if agree(Batch(some.at, t, rh, some.lux, some.flags), record, roundly=roundly):
            return replace(found, cause=cause)
    return found


def sample(batch: Batch, most: int = LOOKED_AT) -> Batch:
    """So many readings at most, from the first to the last."""
    return batch.some(np.linspace(0, len(batch) - 1, min(len(batch), most)).astype(np.int64))


def agree(some: Batch, record: Batch, *, roundly: bool = False) -> bool:
    """Whether a record has half of some readings' instants, LEAST at the least, and nearly always their values."""
    if not len(record):
        return False
    where = np.minimum(np.searchsorted(record.at, some.at), len(record) - 1)
    both = record.at[where] == some.at
    if both.sum() < LEAST or both.sum() * 2 < len(some):
        return False
    t, rh = (T_ROUNDED, RH_ROUNDED) if roundly else (EXACT, EXACT)
    alike = _near(some.t, record.t[where], t) & _near(some.rh, record.rh[where], rh) & _near(some.lux, record.lux[where], LUX_ROUNDED)
    return bool(alike[both].mean() >= FITS)


def _near(one: Floats, other: Floats, most: float) -> Flags:
    found: Flags = (np.abs(one - other) <= most) | (np.isnan(one) & np.isnan(other))
    return found


def _at(batch: Batch, at: Ints) -> Batch:
    return Batch(at, batch.t, batch.rh, batch.lux, batch.flags)
