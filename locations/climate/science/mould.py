"""Mould index: 0 none, 1 microscopic, 3 visible on under 10 % of the surface, 4 up to 50 %, 5 over, 6 dense all over.

Model: Hukka & Viitanen 1999 (Wood Sci. Technol. 33, 475-485) with the four classes of Viitanen & Ojanen 2007 and Ojanen et
al. 2010 (Buildings X and XI); constants from memory, matched with an independent implementation to 0.006 of the index.
Hours in explicit steps: growth factors from the index before the step, the dry-hour count reset by an hour of growth.

A severity model for building materials, never the only alarm: it knows no growth below 80 %, while things of leather and
paste go mouldy from 65 to 70 %. t and rh are those of the *surface*, °C and %; nothing grows at 0 °C or below, nor above
50 °C; what cannot be (t outside -40..60 °C, rh not above 0 or above 103 %) is unknown.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from locations.climate.science.psychrometrics import HIGHEST_POSSIBLE_RH, POSSIBLE_T
from locations.climate.science.tables import row
from locations.climate.science.values import Flags, Floats, Value, lift, like, only, within

HIGHEST: Final = 6.0
WARMEST: Final = 50.0
#: decline an hour: in the first six dry hours, and from the twenty-fifth on
EARLY, LATE = 0.032 / 24, 0.016 / 24
EARLY_HOURS, LATE_FROM = 6, 24
#: what the decline is multiplied by where nothing better is known; museum things: 0.1 to 0.25
HOUSE_DECLINE: Final = 0.25


Places = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class MouldClass:
    """How readily a material goes mouldy. `a`, `b`, `c` of the highest index, `rh_min` % below which nothing grows."""

    code: str
    name: str
    k1_below_1: float
    k1_from_1: float
    a: float
    b: float
    c: float
    rh_min: float


@dataclass(frozen=True, slots=True)
class MouldState:
    """The index, the dry hours since growth ended, and what is remembered on the way.

    `highest` was first reached in hour number `highest_hour`, counted over all hours seen. `unknown_hours` were held, so with
    any the index is at least what it says (`at_least`).
    """

    index: float = 0.0
    dry_hours: int = 0
    highest: float = 0.0
    highest_hour: int = -1
    hours: int = 0
    growth_hours: int = 0
    unknown_hours: int = 0

    @property
    def at_least(self) -> bool:
        return self.unknown_hours > 0


@cache
def mould_class(code: str) -> MouldClass:
    """The class VS, S, MR or R (Ojanen et al. 2010). Raises NoValue `unknown_code`."""
    one = row("mould_classes", code)
    return MouldClass(code, one["name"], *(float(one[name]) for name in ("k1_below_1", "k1_from_1", "a", "b", "c", "rh_min")))


def critical_rh(t: Value, kind: MouldClass) -> Value:
    """Relative humidity, %, from which mould grows at t °C. Range above 0 to 50 °C, else NaN. Source: Hukka & Viitanen 1999."""
    warmth = lift(t)
    cold = np.maximum(((-0.00267 * warmth + 0.160) * warmth - 3.13) * warmth + 100, kind.rh_min)
    critical = np.where(warmth <= 20, cold, kind.rh_min)
    return like(t, only(critical, (warmth > 0) & (warmth <= WARMEST)))


def days_to_first_growth(t: Value, rh: Value, *, wood: float = 0, surface: float = 0) -> Value:
    """Days of steady air from index 0 to 1 on the very sensitive class. wood 0 pine, 1 spruce; surface 0 resawn, 1 kiln-dried.

    Range: 0 < t <= 50 °C, rh from the critical to 100 %, else NaN. The house takes wood = surface = 0. Error: a factor of 2
    between samples is usual. Source: Hukka & Viitanen 1999.
    """
    warmth, humidity = lift(t), lift(rh)
    critical = lift(critical_rh(t, mould_class("VS")))
    grows = (humidity >= critical) & (humidity <= 100)
    logs = -0.68 * np.log(only(warmth, grows)) - 13.9 * np.log(only(humidity, grows))
    return like(t, 7 * np.exp(logs + 0.14 * wood - 0.33 * surface + 66.02))


def highest_index(t: Value, rh: Value, kind: MouldClass) -> Value:
    """Index that steady air ends at: A + B x - C x². Range as growth: 0 < t <= 50 °C, rh from the critical to 100 %, else NaN."""
    humidity = lift(rh)
    critical = lift(critical_rh(t, kind))
    return like(t, _ceiling(only(humidity, (humidity >= critical) & (humidity <= 100)), critical, kind))


@dataclass(frozen=True, slots=True)
class Surface:
    """Hours of surface air made ready for the index of any class: t and rh where known, NaN else, growth on all classes."""

    t: Floats
    rh: Floats
    known: Flags
    at: Places
    """The hours in which at least the very sensitive class grows."""
    daily: Floats
    """Growth a day of the very sensitive class below 1, in those hours."""


def surface_hours(t: Floats, rh: Floats) -> Surface:
    """Makes hours of surface t (°C) and rh (%) ready: rh over 100 counts as 100, what cannot be is unknown."""
    known = (t >= POSSIBLE_T[0]) & (t <= POSSIBLE_T[1]) & (rh > 0) & (rh <= HIGHEST_POSSIBLE_RH)
    humid = np.minimum(rh, 100.0)
    (at,) = np.nonzero(known & (t > 0) & (t <= WARMEST) & (humid >= mould_class("VS").rh_min))
    at = at[humid[at] >= critical_rh(t[at], mould_class("VS"))]
    return Surface(t, humid, known, at, 1 / lift(days_to_first_growth(t[at], humid[at])))


def mould_index(hours: Surface, kind: MouldClass, *, decline: float = HOUSE_DECLINE, start: MouldState | None = None) -> MouldState:
    """The index after these hours, each an hour long and in order, from `start` (clean where not given).

    decline: what the decline in dry hours is multiplied by, 0..1 (1 pine, 0.25 slow, 0.1 almost none; ASHRAE 160-2016), else
    NoValue. Unknown hours hold the index and the dry hours. Cut anywhere and carried on, the result is the same.
    """
    state = start or MouldState()
    multiplier = within("decline", decline, 0, 1)
    index, dry, top, top_hour = state.index, state.dry_hours, state.highest, state.highest_hour
    growth, spells = _growth(hours, kind)
    for growing, begin, end in spells:
        if growing is None:
            index = max(index - multiplier * _declined(dry, dry + end - begin), 0.0)
            dry += end - begin
            continue
        index = _grown(index, growth, growing)
        dry = 0
        if index > top:
            top, top_hour = index, state.hours + end - 1 - _held(index, growth[2][growing])
    return replace(
        state,
        index=index,
        dry_hours=dry,
        highest=top,
        highest_hour=top_hour,
        hours=state.hours + len(hours.t),
        growth_hours=state.growth_hours + len(growth[0]),
        unknown_hours=state.unknown_hours + int(len(hours.t) - hours.known.sum()),
    )


def mould_course(t: Floats, rh: Floats, kind: MouldClass, *, decline: float = HOUSE_DECLINE, every: int = 24, start: MouldState | None = None) -> Floats:
    """The index after every so many hours (at least 1, else NoValue), a last part counted whole: for charts. Range and error as `mould_index`."""
    within("every", every, 1)
    state, course = start or MouldState(), []
    for begin in range(0, len(t), every):
        part = slice(begin, begin + every)
        state = mould_index(surface_hours(t[part], rh[part]), kind, decline=decline, start=state)
        course.append(state.index)
    return np.array(course)


Growth = tuple[list[float], list[float], list[float]]
Spell = tuple[slice | None, int, int]


def _growth(hours: Surface, kind: MouldClass) -> tuple[Growth, Iterator[Spell]]:
    """Of the hours of growth: step below 1, step from 1 on, highest index; and the spells they and the dry hours form."""
    t, rh = hours.t[hours.at], hours.rh[hours.at]
    critical = lift(critical_rh(t, kind))
    grows = rh >= critical
    hourly = hours.daily[grows] / 24
    ceiling = _ceiling(rh[grows], critical[grows], kind)
    growth = (hourly * kind.k1_below_1).tolist(), (hourly * kind.k1_from_1).tolist(), ceiling.tolist()
    return growth, _spells(hours, hours.at[grows])


def _spells(hours: Surface, at: Places) -> Iterator[Spell]:
    """Spells in order: of growth with their place among the hours of growth, of dry hours without; unknown hours are in none."""
    kind_of = hours.known.astype(np.int8)
    kind_of[at] = 2
    edges = np.concatenate(([0], np.flatnonzero(np.diff(kind_of)) + 1, [len(kind_of)])) if len(kind_of) else np.zeros(1, dtype=np.intp)
    kinds = kind_of[edges[:-1]].tolist()
    bounds = edges.tolist()
    grown = 0
    for number, what in enumerate(kinds):
        begin, end = bounds[number], bounds[number + 1]
        if what == 2:
            yield slice(grown, grown + end - begin), begin, end
            grown += end - begin
        elif what:
            yield None, begin, end


def _grown(index: float, growth: Growth, where: slice) -> float:
    exp = math.exp
    below, above, ceilings = growth
    for slow, fast, ceiling in zip(below[where], above[where], ceilings[where], strict=True):
        if index < ceiling:
            index += (slow if index < 1 else fast) * (1 - exp(2.3 * (index - ceiling)))
    return min(index, HIGHEST)


def _held(index: float, ceilings: list[float]) -> int:
    """Hours at the end of a spell of growth in which the index stood still."""
    return next((back for back, ceiling in enumerate(reversed(ceilings)) if ceiling > index), 0)


def _declined(before: int, after: int) -> float:
    """Decline of pine between two counts of dry hours."""
    early = min(after, EARLY_HOURS) - min(before, EARLY_HOURS)
    late = max(after, LATE_FROM) - max(before, LATE_FROM)
    return EARLY * early + LATE * late


def _ceiling(rh: Floats, critical: Floats, kind: MouldClass) -> Floats:
    below_100: Floats = np.minimum(critical, 100 - 1e-9)
    x = (below_100 - rh) / (below_100 - 100)
    return kind.a + (kind.b - kind.c * x) * x
