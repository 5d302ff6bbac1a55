"""Does a hygrometer drift away from its neighbours? Daily differences of vapour, whitened, in cumulative sums.

Vapour is compared, not humidity: neighbours may stand warmer or colder. What the logger shows is held against the humidity that
the neighbours' (or the outdoor air's) vapour would have at the logger's own temperature. A suspicion is for a person to look into
with salts; nothing is corrected by it.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from locations.climate.science.cusum import decision_limit, first_signal
from locations.climate.science.psychrometrics import relative_humidity, vapour_pressure
from locations.climate.science.series import ENOUGH
from locations.climate.science.values import Floats, NoValue

DAY: Final = 24
#: days after a calibration or a move that tell what is usual
REFERENCE_DAYS: Final = 60
LEAST_REFERENCE: Final = 40
#: days between false alarms that is aimed at: far more than two years, for the usual is known from few days only
RUN_LENGTH: Final = 1500.0
K: Final = 0.35
#: how far the true mean may lie from that of the reference, in standard errors, with the run length still kept
CAUTION: Final = 1.0
#: a logger that differs from day to day by more than this, %RH, tells nothing of a slow drift
NOISIEST: Final = 3.0
LATELY: Final = 14


@dataclass(frozen=True, slots=True)
class Usual:
    """Of the reference days: mean difference (%RH), what of a deviation is left next day, spread of what is new each day (%RH)."""

    mean: float
    memory: float
    spread: float
    days: int


@dataclass(frozen=True, slots=True)
class Drift:
    """Noticed on day number `day`, begun about day `since`; the mean of the last fortnight up to then lies `size` %RH (standard
    error `error`) from the usual, above 0 for a logger that reads too damp. `usual` is the evidence it rests on."""

    day: int
    since: int
    size: float
    error: float
    usual: Usual


def daily_differences(t: Floats, rh: Floats, neighbours: Floats) -> Floats:
    """Mean difference of each whole day, %RH: shown humidity less that of the neighbours' median vapour (Pa, one row each) at the
    logger's t. Hours from midnight on; a day under 75 % of its hours is NaN."""
    with_any = ~np.isnan(neighbours).all(axis=0)
    e = np.full(neighbours.shape[1], np.nan)
    e[with_any] = np.nanmedian(neighbours[:, with_any], axis=0)
    ready = np.where(np.isnan(vapour_pressure(t, rh)), np.nan, rh)
    return daily_means(ready - relative_humidity(e, t))


def daily_means(values: Floats) -> Floats:
    """Means of whole days of 24 hours, NaN under 75 % of them."""
    days = values[: len(values) // DAY * DAY].reshape(-1, DAY)
    count = (~np.isnan(days)).sum(axis=1)
    enough = count >= ENOUGH * DAY
    sums = np.where(np.isnan(days), 0.0, days).sum(axis=1)
    return np.where(enough, sums / np.maximum(count, 1), np.nan)


def usual(differences: Floats) -> Usual:
    """What is usual, from reference days (%RH). Raises NoValue: `too_short` under 40 known days, `too_noisy` over 3 %RH.

    The memory from day to day is estimated and corrected for the shortness of the record (Kendall 1954). Error of the mean:
    spread/(1 - memory)/sqrt(days).
    """
    known = differences[~np.isnan(differences)]
    if len(known) < LEAST_REFERENCE:
        raise NoValue("too_short", days=len(known), need=LEAST_REFERENCE)
    mean = float(known.mean())
    off = differences - mean
    pairs = ~np.isnan(off[1:]) & ~np.isnan(off[:-1])
    variance = float((known - mean) @ (known - mean)) / (len(known) - 1)
    if variance > NOISIEST**2:
        raise NoValue("too_noisy", spread=variance**0.5, most=NOISIEST)
    raw = float(off[1:][pairs] @ off[:-1][pairs]) / max(int(pairs.sum()), 1) / variance if variance else 0.0
    memory = float(np.clip(raw + (1 + 3 * raw) / len(known), 0, 0.95))
    return Usual(mean, memory, max((variance * (1 - memory**2)) ** 0.5, 0.01), len(known))


def whitened(differences: Floats, of: Usual) -> Floats:
    """What is new each day, in standard deviations: independent and about 0 while nothing is wrong; NaN where the day is unknown."""
    result = np.full(len(differences), np.nan)
    last: int | None = None
    whole = of.spread / (1 - of.memory**2) ** 0.5
    for day in np.flatnonzero(~np.isnan(differences)).tolist():
        left = of.memory ** (day - last) if last is not None else 0.0
        before = differences[last] - of.mean if last is not None else 0.0
        result[day] = (differences[day] - of.mean - left * before) / (whole * (1 - left**2) ** 0.5)
        last = day
    return result


def find_drift(differences: Floats, reference_days: int = REFERENCE_DAYS) -> Drift | None:
    """The first drift noticed after the reference days, from daily differences in %RH; None without one. Raises NoValue as `usual`.

    Start anew after a calibration or a move. False alarms: about one logger in two over two years (run length 1500 days by the
    standard tables, the mean being known from few days); weather that the neighbours do not share brings more.
    """
    normal = usual(differences[:reference_days])
    h = decision_limit(round(K - CAUTION / normal.days**0.5, 2), RUN_LENGTH)
    signal = first_signal(whitened(differences, normal)[reference_days:], K, h)
    if signal is None:
        return None
    day, since = signal.at + reference_days, signal.since + reference_days
    lately = differences[max(day - LATELY + 1, reference_days) : day + 1]
    lately = lately[~np.isnan(lately)]
    size = float(lately.mean()) - normal.mean
    per_day = normal.spread / (1 - normal.memory)
    return Drift(day, since, size, per_day * (1 / len(lately) + 1 / normal.days) ** 0.5, normal)
