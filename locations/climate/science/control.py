"""Types of control of a building: what share of a year it stayed within each (ASHRAE Handbook, HVAC Applications 2019, ch. 24; the
table from memory, to be verified). A type says how well a building is controlled, not what a thing needs.

Values hour after hour, NaN where unknown; the seasonal line is the 30-day centred mean, so the window is 30 days.
"""

from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np

from locations.climate.science.fluctuations import SLACK, thirty_day_mean
from locations.climate.science.tables import number, row, rows
from locations.climate.science.values import Flags, Floats, NoValue

MEETS: Final = 95.0
YEAR_AND_WINDOW: Final = 395 * 24
LONGEST: Final = 400 * 24
WINDOW_DAYS: Final = 30


@dataclass(frozen=True, slots=True)
class Bounds:
    """low..high at any time; season from the yearly mean by -down..+up, short-term by swing either way of that; None = not bound."""

    low: float | None
    high: float | None
    down: float | None
    up: float | None
    swing: float | None


@dataclass(frozen=True, slots=True)
class ControlType:
    code: str
    rh: Bounds
    t: Bounds


@cache
def control_types() -> tuple[ControlType, ...]:
    """AA, A1, A2, B, C, D with their bounds in % and °C or K."""
    return tuple(ControlType(one["code"], _bounds(one["code"], "rh"), _bounds(one["code"], "t")) for one in rows("control_types"))


def _bounds(code: str, quantity: str) -> Bounds:
    one = row("control_types", code)
    columns = (f"{quantity}_{name}" for name in ("low", "high", "shift_down", "shift_up", "swing"))
    return Bounds(*(number(one, column) for column in columns))


def control_shares(rh: Floats, t: Floats | None = None) -> dict[str, float]:
    """Share of the hours with a 30-day mean, %, that lie within each type: by rh alone, or by rh and t together.

    The yearly mean is of 12 months: of a record of 13 the hours with a 30-day mean, of a shorter one all hours. Raises NoValue
    `too_short` without any 30-day mean, `too_long` beyond 400 days: judge year by year. Error: another window gives other figures.
    """
    if len(rh) > LONGEST:
        raise NoValue("too_long", days=len(rh) / 24, most=LONGEST / 24)
    lines = [(rh, thirty_day_mean(rh))] + ([] if t is None else [(t, thirty_day_mean(t))])
    judged = np.logical_and.reduce([~np.isnan(values) & ~np.isnan(line) for values, line in lines])
    if not judged.any():
        raise NoValue("too_short", days=len(rh) / 24, need=WINDOW_DAYS + 1)
    shares = {}
    for kind in control_types():
        inside = judged.copy()
        for (values, line), bounds in zip(lines, (kind.rh, kind.t), strict=False):
            inside &= _inside(values, line, bounds)
        shares[kind.code] = 100 * float(inside.sum()) / float(judged.sum())
    return shares


def meets(share: float) -> bool:
    """Whether a share of time, %, counts as meeting a type: from 95 % on. House rule; the handbook gives none that we know."""
    return share >= MEETS


def _inside(values: Floats, line: Floats, bounds: Bounds) -> Flags:
    low = -np.inf if bounds.low is None else bounds.low
    high = np.inf if bounds.high is None else bounds.high
    inside: Flags = (values >= low - SLACK) & (values <= high + SLACK)
    if bounds.down is None or bounds.up is None or bounds.swing is None:
        return inside
    whole = values[~np.isnan(line)] if len(values) >= YEAR_AND_WINDOW else values
    mean = float(np.nanmean(whole))
    season = np.clip(line, mean - bounds.down, mean + bounds.up)
    return inside & (np.abs(values - season) <= bounds.swing + SLACK)
