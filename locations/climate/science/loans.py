"""What a lender's figures say of a record: range, and both readings of 'plus or minus so much in 24 hours'.

Values hour after hour as read, NaN where not. The window looks back: (t - 24 h, t], 24 readings of which at least 18 are there,
none before the record is 24 h old (house rule); a centred one gives smaller deviations.
"""

from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np

from locations.climate.science.tables import number, row
from locations.climate.science.values import Flags, Floats, NoValue

WINDOW: Final = 24
LEAST: Final = 18
SLACK: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Terms:
    """Bounds in % and °C, None = not bound. A swing in 24 h is `either way` of the mean, or `from lowest to highest`."""

    code: str
    rh_low: float | None
    rh_high: float | None
    t_low: float | None
    t_high: float | None
    rh_swing: float | None
    t_swing: float | None
    swing_is: str
    source: str


@dataclass(frozen=True, slots=True)
class Swing:
    """Of one quantity over 24 h: largest range, largest distance from the mean of the window, share of hours within (%), what failed."""

    range: float
    deviation: float
    range_within: float
    deviation_within: float
    failed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Loan:
    """Shares of the readings inside the bounds, %; the swings that were asked about; codes of all that failed."""

    inside: float
    rh_inside: float
    t_inside: float
    rh_swing: Swing | None
    t_swing: Swing | None
    failed: tuple[str, ...]

    @property
    def passed(self) -> bool:
        return not self.failed


@cache
def loan_terms(code: str) -> Terms:
    """Published terms: bizot (2023), aiccm (2014), leather (Western Australian Museum 2017). Raises NoValue `unknown_code`."""
    one = row("loan_terms", code)
    rh, t = (number(one, "rh_low"), number(one, "rh_high")), (number(one, "t_low"), number(one, "t_high"))
    return Terms(code, *rh, *t, number(one, "rh_swing"), number(one, "t_swing"), one["swing_is"], one["source"])


def rolling_range(values: Floats) -> Floats:
    """Highest less lowest of the window that ends with each hour, in the unit given; NaN where the window is not whole enough."""
    windows = _windows(values)
    highest = np.where(np.isnan(windows), -np.inf, windows).max(axis=1)
    lowest = np.where(np.isnan(windows), np.inf, windows).min(axis=1)
    return np.where(_enough(windows), highest - lowest, np.nan)


def rolling_deviation(values: Floats) -> Floats:
    """Distance of each reading from the mean of the window that ends with it, in the unit given; NaN as `rolling_range`."""
    windows = _windows(values)
    enough = _enough(windows)
    count = np.where(enough, (~np.isnan(windows)).sum(axis=1), 1)
    return np.where(enough, np.abs(values - np.where(np.isnan(windows), 0.0, windows).sum(axis=1) / count), np.nan)


def swing(values: Floats, most: float, swing_is: str = "either way") -> Swing:
    """Both readings of a swing in 24 h: as `either way` the range may be twice `most` and the deviation `most`; as
    `from lowest to highest` the range alone counts. Raises NoValue `too_short`."""
    spans, deviations = rolling_range(values), rolling_deviation(values)
    spans, deviations = spans[~np.isnan(spans) & ~np.isnan(values)], deviations[~np.isnan(deviations)]
    if not len(spans):
        raise NoValue("too_short", hours=len(values), need=WINDOW)
    either = swing_is == "either way"
    by_range = spans <= (2 * most if either else most) + SLACK
    by_deviation = deviations <= most + SLACK
    failed = ["range"] * (not by_range.all()) + ["deviation"] * (either and not by_deviation.all())
    return Swing(float(spans.max()), float(deviations.max()), _percent(by_range), _percent(by_deviation), tuple(failed))


def judge_loan(rh: Floats, t: Floats, terms: Terms) -> Loan:
    """A record against a lender's terms: rh %, t °C; hours without either reading are left out. Raises NoValue `too_short`, `no_readings`."""
    known = ~np.isnan(rh) & ~np.isnan(t)
    if not known.any():
        raise NoValue("no_readings")
    rh_in = _between(rh[known], terms.rh_low, terms.rh_high)
    t_in = _between(t[known], terms.t_low, terms.t_high)
    rh_swing = None if terms.rh_swing is None else swing(rh, terms.rh_swing, terms.swing_is)
    t_swing = None if terms.t_swing is None else swing(t, terms.t_swing, terms.swing_is)
    failed = ["rh"] * (not rh_in.all()) + ["t"] * (not t_in.all())
    for name, one in (("rh", rh_swing), ("t", t_swing)):
        failed += [f"{name}_{what}" for what in (one.failed if one else ())]
    return Loan(_percent(rh_in & t_in), _percent(rh_in), _percent(t_in), rh_swing, t_swing, tuple(failed))


def _windows(values: Floats) -> Floats:
    before = np.full(WINDOW - 1, np.nan)
    return np.lib.stride_tricks.sliding_window_view(np.concatenate((before, values)), WINDOW)


def _enough(windows: Floats) -> Flags:
    enough: Flags = (~np.isnan(windows)).sum(axis=1) >= LEAST
    enough[: WINDOW - 1] = False
    return enough


def _between(values: Floats, low: float | None, high: float | None) -> Flags:
    above: Flags = values >= (-np.inf if low is None else low) - SLACK
    below: Flags = values <= (np.inf if high is None else high) + SLACK
    return above & below


def _percent(inside: Flags) -> float:
    return 100 * float(inside.mean())
