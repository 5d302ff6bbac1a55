"""What hours of air did to a material, as pieces that are joined: the same from nothing and day by day.

A piece is a stretch of hours in one air; joined in order they give what the thing lived through. Hours without air are unknown:
they end a run, hold the mould index and are left out of the ageing. Air of the room, not of a colder wall.
"""

from dataclasses import dataclass, replace

import numpy as np

from locations.climate.science.ageing import lifetime_multiplier
from locations.climate.science.mould import MouldState, Surface, mould_class, mould_index
from locations.climate.science.tables import highest
from locations.climate.science.values import Flags, Floats

#: what begins to count as damp, % (US National Park Service)
DAMP = highest("organic_sustained")


@dataclass(frozen=True, slots=True)
class Run:
    """Hours above a limit: how many at the beginning, at the end, the longest, of all hours of the piece."""

    head: int = 0
    tail: int = 0
    longest: int = 0
    length: int = 0

    def then(self, after: "Run") -> "Run":
        """This piece and the one after it."""
        whole, other = self.head == self.length, after.head == after.length
        return Run(
            self.length + after.head if whole else self.head,
            after.length + self.tail if other else after.tail,
            max(self.longest, after.longest, self.tail + after.head),
            self.length + after.length,
        )


@dataclass(frozen=True, slots=True)
class Piece:
    """Hours known and unknown; over and under the own band; damp (above 65 %), wet; share of the days to mould; rate and hours of ageing."""

    known: int = 0
    unknown: int = 0
    over: int = 0
    under: int = 0
    damp: int = 0
    wet: int = 0
    share: float = 0.0
    ageing_hours: int = 0
    ageing_rate: float = 0.0
    over_run: Run = Run()
    damp_run: Run = Run()

    def then(self, after: "Piece") -> "Piece":
        """This piece and the one after it."""
        return Piece(
            self.known + after.known, self.unknown + after.unknown, self.over + after.over, self.under + after.under, self.damp + after.damp,
            self.wet + after.wet, self.share + after.share, self.ageing_hours + after.ageing_hours, self.ageing_rate + after.ageing_rate,
            self.over_run.then(after.over_run), self.damp_run.then(after.damp_run),
        )  # fmt: skip


def unknown_piece(hours: int) -> Piece:
    """Hours of which nothing is known."""
    return Piece(unknown=hours, over_run=Run(length=hours), damp_run=Run(length=hours))


def piece(t: Floats, rh: Floats, low: float | None, high: float | None, energy: float | None) -> Piece:
    """Hours of t (°C) and rh (%), NaN where unknown, against a band of rh (None: open) and with an ageing of energy kJ/mol (None: none)."""
    known = ~(np.isnan(t) | np.isnan(rh))
    over = rh > high if high is not None else np.zeros(len(rh), dtype=bool)
    damp = rh > DAMP
    rates = 1 / np.asarray(lifetime_multiplier(t[known], rh[known], energy)) if energy is not None else np.empty(0)
    rates = rates[~np.isnan(rates)]
    return Piece(
        int(known.sum()), int((~known).sum()), int(over.sum()), int((rh < low).sum()) if low is not None else 0, int(damp.sum()),
        int(((rh > highest("wetness_rh")) & (t > 0)).sum()), float(mould_share(rh).sum()), len(rates), float(rates.sum()), run_of(over), run_of(damp),
    )  # fmt: skip


def mould_share(rh: Floats) -> Floats:
    """What each hour takes of the days after which mould is presumed; 0 at or below 65 % and where unknown.

    Days: 100 x 10^(-(rh-70)/10) from 65 to 80 %, 10 x 0.2^((rh-80)/10) from 80 to 90 %, no fewer above. Source: a plain interpolation
    through the points of the Canadian Conservation Institute at 70, 80 and 90 %; ours below 70.
    """
    held = np.minimum(np.where(rh > DAMP, rh, DAMP), 90.0)
    days = np.where(held <= 80, 100 * 10 ** (-(held - 70) / 10), 10 * 0.2 ** ((held - 80) / 10))
    return np.where(rh > DAMP, 1 / (24 * days), 0.0)


def run_of(inside: Flags) -> Run:
    """The runs of hours that are inside."""
    n = len(inside)
    outside = np.flatnonzero(~inside)
    if not len(outside):
        return Run(n, n, n, n)
    longest = int(np.diff(np.concatenate(([-1], outside, [n]))).max()) - 1
    return Run(int(outside[0]), n - 1 - int(outside[-1]), longest, n)


def mould_after(state: MouldState, air: Surface, kind: str) -> MouldState:
    """The state after these hours. Cut anywhere and carried on, the result is the same."""
    if not len(air.at) and state.index == 0:
        known = int(air.known.sum())
        return replace(
            state, dry_hours=state.dry_hours + known, hours=state.hours + len(air.t), unknown_hours=state.unknown_hours + len(air.t) - known,
        )  # fmt: skip
    return mould_index(air, mould_class(kind), start=state)


def mould_unknown(state: MouldState, hours: int) -> MouldState:
    """The state after hours of which nothing is known: held."""
    return replace(state, hours=state.hours + hours, unknown_hours=state.unknown_hours + hours)
