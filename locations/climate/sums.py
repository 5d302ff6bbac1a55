"""What hours of air come to: by month and by day of the clock on the wall, in all, with what is not known beside it. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import Final

import numpy as np

from locations.climate.science.damp import Run, longest_run
from locations.climate.science.lived import DAMP
from locations.climate.science.mould import MouldState, mould_class, mould_index, surface_hours
from locations.climate.science.tables import highest
from locations.climate.science.values import Flags, Floats, Ints

CLASSES: Final = ("VS", "S", "MR", "R")


@dataclass(frozen=True, slots=True)
class Sum:
    """Of `hours`, `known` are known: mean, lowest and highest rh (%) and t (°C), hours above 65 %, hours wet, the longest run above 65 %."""

    first: date
    hours: int
    known: int
    rh: tuple[float, float, float] | None
    t: tuple[float, float, float] | None
    damp: int
    wet: int
    longest: Run | None

    @property
    def unknown(self) -> int:
        return self.hours - self.known

    @property
    def coverage(self) -> int:
        """Hours known of all, whole %, rounded down: 100 only where nothing is missing."""
        return 100 * self.known // self.hours if self.hours else 0


def summed(first: date, t: Floats, rh: Floats) -> Sum:
    """What these hours come to."""
    known = ~(np.isnan(t) | np.isnan(rh))
    damp, wet = int((rh > DAMP).sum()), int(((rh > highest("wetness_rh")) & (t > 0)).sum())
    return Sum(first, len(rh), int(known.sum()), _three(rh[known]), _three(t[known]), damp, wet, longest_run(rh, DAMP))


def _three(values: Floats) -> tuple[float, float, float] | None:
    return (float(values.mean()), float(values.min()), float(values.max())) if len(values) else None


def by_month(edges: Sequence[tuple[date, int]], begin: int, t: Floats, rh: Floats) -> list[Sum]:
    """One sum a month; `edges` are first days and the hours they begin, the last one ends the last month."""
    found = []
    for (first, low), (_, high) in pairwise(edges):
        part = slice(max(low - begin, 0), max(high - begin, 0))
        found.append(summed(first, t[part], rh[part]))
    return [one for one in found if one.hours]


@dataclass(frozen=True, slots=True)
class DaySum:
    """Hours above 65 % and hours unknown of a day."""

    on: date
    damp: int
    unknown: int


def by_day(edges: Sequence[tuple[date, int]], begin: int, rh: Floats) -> list[DaySum]:
    """One a day; `edges` as in `by_month`."""
    damp, unknown = _running(rh > DAMP), _running(np.isnan(rh))
    places = np.clip(np.array([hour - begin for _, hour in edges]), 0, len(rh))
    low, high = places[:-1], places[1:]
    spans = [(day, a, b) for (day, _), a, b in zip(edges[:-1], low.tolist(), high.tolist(), strict=True) if b > a]
    return [DaySum(day, int(damp[b] - damp[a]), int(unknown[b] - unknown[a])) for day, a, b in spans]


def _running(inside: Flags) -> Ints:
    return np.concatenate(([0], np.cumsum(inside)))


def firsts(begin: date, end: date) -> list[date]:
    """The first days of the months from that of begin on, to the one after that of end."""
    found, day = [], begin.replace(day=1)
    while day <= end:
        found.append(day)
        day = (day + timedelta(days=32)).replace(day=1)
    return [*found, day]


def moulds(t: Floats, rh: Floats, codes: Sequence[str] = CLASSES) -> list[tuple[str, MouldState]]:
    """The mould index of the four classes, or of some, after these hours, clean at their beginning."""
    surface = surface_hours(t, rh)
    return [(code, mould_index(surface, mould_class(code))) for code in codes]
