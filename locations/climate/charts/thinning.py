"""Thinning of readings for a drawing without losing a peak: of each column of time the lowest and the highest stay.

The lowest and highest of all are the lowest and highest of their column, so no extreme is ever lost; the count is bounded by the
columns, not by the years.
"""

import numpy as np

from locations.climate.science.values import Flags, Floats, Ints


def thinned(at: Ints, values: Floats, columns: int) -> Ints:
    """Places of the readings to draw, in order: lowest and highest of each column of time, first and last; at most 2 columns + 2."""
    there: Ints = np.flatnonzero(~np.isnan(values))
    if len(there) <= 2 * columns + 2:
        return there
    instants, known = at[there], values[there]
    column = (instants - instants[0]) * columns // (instants[-1] - instants[0] + 1)
    begins = np.diff(column, prepend=-1) > 0
    which, starts = np.cumsum(begins) - 1, np.flatnonzero(begins)
    lows = _firsts(known == np.minimum.reduceat(known, starts)[which], which)
    highs = _firsts(known == np.maximum.reduceat(known, starts)[which], which)
    kept: Ints = there[np.unique(np.concatenate((lows, highs, [0, len(there) - 1])))]
    return kept


def _firsts(chosen: Flags, which: Ints) -> Ints:
    """The first chosen one of each column."""
    places = np.flatnonzero(chosen)
    firsts: Ints = places[np.unique(which[places], return_index=True)[1]]
    return firsts


def strokes(at: Ints, values: Floats, columns: int, widest: float) -> list[Ints]:
    """The places to draw, as lines of the pen: lifted wherever two readings are more than `widest` seconds apart."""
    there = np.flatnonzero(~np.isnan(values))
    if not len(there):
        return []
    kept = thinned(at, values, columns)
    lifted = np.concatenate(([0], np.cumsum(np.diff(at[there]) > widest)))[np.searchsorted(there, kept)]
    return np.split(kept, np.flatnonzero(np.diff(lifted)) + 1)


def holes(at: Ints, values: Floats, begin: int, end: int, widest: float) -> list[tuple[int, int]]:
    """Times without a reading longer than `widest` seconds, from `begin` to `end`."""
    known = at[~np.isnan(values)]
    known = np.concatenate(([begin], known[(known >= begin) & (known <= end)], [end]))
    return [(int(known[i]), int(known[i + 1])) for i in np.flatnonzero(np.diff(known) > widest)]
