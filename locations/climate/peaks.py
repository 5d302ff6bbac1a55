"""The dampest hour on record of a place: what its loggers and its dials say against a figure that somebody types."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

import numpy as np

from locations.climate.air import LONGEST, air_of
from locations.climate.dials import dials_of
from locations.climate.hearing import HOUR, hour_of
from locations.climate.storing import moment
from locations.places.queries import path_of


@dataclass(frozen=True, slots=True)
class Peak:
    """Relative humidity (%) by the check of the logger, or as the dial showed it, and when."""

    rh: float
    at: datetime


def dampest(place_id: UUID, begin: datetime, end: datetime) -> Peak | None:
    """The highest hour that is known, or the highest hand reading; None where nothing was read."""
    first, last = hour_of(begin), hour_of(end) + 1
    air = air_of(path_of(place_id, end), max(first, last - LONGEST), last)
    found = [Peak(float(air.hour_rh[n]), moment((air.begin + n) * HOUR)) for n in _highest(air.hour_rh)]
    dials = dials_of(place_id, begin, end)
    found += [Peak(float(dials.rh[n]), moment(int(dials.at[n]))) for n in _highest(dials.rh)]
    return max(found, key=lambda one: one.rh, default=None)


def _highest(values: np.ndarray) -> list[int]:
    return [] if np.isnan(values).all() else [int(np.nanargmax(values))]
