"""What the import notices about readings, as bits of one small number. Nothing is removed by it."""

from enum import IntFlag
from typing import Final

import numpy as np

from locations.climate.science.faults import HANDLING, mirrored, stuck
from locations.climate.science.series import WIDEST
from locations.climate.science.values import Flags, Floats, Ints

#: house rules of the range: t °C, rh %
T_RANGE: Final = (-40.0, 60.0)
RH_MOST: Final = 100.0
RH_KEPT: Final = 103.0
T_STEP, RH_STEP = 10.0, 30.0
SAMPLE: Final = 2_000


class Flag(IntFlag):
    """One bit each."""

    ABOVE_100 = 1
    OUT_OF_RANGE = 2
    FAULT_VALUE = 4
    STEP = 8
    STUCK = 16
    MIRRORED = 32
    HANDLED = 64
    RIVALLED = 128


#: readings with one of these count as no reading
NO_READING: Final = Flag.OUT_OF_RANGE | Flag.FAULT_VALUE | Flag.RIVALLED


def noticed(at: Ints, t: Floats, rh: Floats, interval: int, placed: Ints) -> Ints:
    """The flags of readings in order; `placed` are the instants at which the logger was put somewhere."""
    found = np.zeros(len(at), dtype=np.int64)
    if not len(at):
        return found
    found[(rh > RH_MOST) & (rh <= RH_KEPT)] |= Flag.ABOVE_100
    found[_out_of_range(t, rh)] |= Flag.OUT_OF_RANGE
    fault = _fault(t, rh)
    found[fault] |= Flag.FAULT_VALUE
    usable = (found & (Flag.OUT_OF_RANGE | Flag.FAULT_VALUE)) == 0
    sound_t, sound_rh = np.where(usable, t, np.nan), np.where(usable, rh, np.nan)
    found[_steps(at, sound_t, sound_rh, interval)] |= Flag.STEP
    for spell in stuck(at, sound_t, sound_rh):
        found[spell.first : spell.last + 1] |= Flag.STUCK
    # What is mirrored is so in any of its readings: a few thousand acquit the rest.
    some = slice(None, None, max(1, len(at) // SAMPLE))
    if mirrored(sound_t[some], sound_rh[some]) and mirrored(sound_t, sound_rh):
        found |= Flag.MIRRORED
    for instant in placed.tolist():
        first, end = np.searchsorted(at, (instant, instant + HANDLING))
        found[first:end] |= Flag.HANDLED
    return found


def _out_of_range(t: Floats, rh: Floats) -> Flags:
    found: Flags = (t < T_RANGE[0]) | (t > T_RANGE[1]) | (rh < 0) | (rh > RH_KEPT)
    return found


def _fault(t: Floats, rh: Floats) -> Flags:
    """-40 and exactly 0 % are what broken or unplugged sensors write."""
    found: Flags = (t == T_RANGE[0]) | (rh == 0)
    return found


def _steps(at: Ints, t: Floats, rh: Floats, interval: int) -> Ints:
    """Readings farther from the one an interval before than air goes."""
    near = np.diff(at) <= WIDEST * interval
    far = (np.abs(np.diff(t)) > T_STEP) | (np.abs(np.diff(rh)) > RH_STEP)
    return np.flatnonzero(near & far) + 1
