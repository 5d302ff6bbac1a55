"""What people read at the dial of a place through time: points of their own, never joined, since nobody knows the hours between them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from uuid import UUID

import numpy as np

from locations.climate.models import Spot
from locations.climate.queries import standing_spots
from locations.climate.science.damp import ByHand, damp_by_hand
from locations.climate.science.values import Floats, Ints, NoValue


@dataclass(frozen=True)
class Dials:
    """Hand readings that have a temperature or a humidity, in order."""

    spots: Sequence[Spot]

    def __bool__(self) -> bool:
        return bool(self.spots)

    @property
    def last(self) -> Spot:
        """The last one; there must be one."""
        return self.spots[-1]

    @cached_property
    def at(self) -> Ints:
        """Instants, s."""
        return np.array([int(spot.happened_at.timestamp()) for spot in self.spots if spot.happened_at], dtype=np.int64)

    @cached_property
    def t(self) -> Floats:
        """°C, NaN where not read."""
        return np.array([spot.t for spot in self.spots], dtype=np.float64)

    @cached_property
    def rh(self) -> Floats:
        """%, as the dial shows it, NaN where not read."""
        return np.array([spot.rh for spot in self.spots], dtype=np.float64)

    @property
    def reach(self) -> tuple[float, float] | None:
        """Lowest and highest humidity; None where none was read."""
        known = self.rh[~np.isnan(self.rh)]
        return (float(known.min()), float(known.max())) if len(known) else None

    @property
    def verdict(self) -> ByHand | None:
        """What they tell of damp; None where they are too few."""
        known = ~np.isnan(self.rh)
        try:
            return damp_by_hand(self.at[known], self.rh[known])
        except NoValue:
            return None

    def month(self, first: date) -> "Dials":
        """Those of a month, which is told by any day of it."""
        return Dials([spot for spot in self.spots if (spot.happened_on.year, spot.happened_on.month) == (first.year, first.month)])


def spots_of(place_id: UUID, begin: datetime, end: datetime) -> list[Spot]:
    """What was read by hand at a place from `begin` to before `end` and not taken back, oldest first."""
    return list(standing_spots().filter(place=place_id, happened_at__gte=begin, happened_at__lt=end).order_by("happened_at", "id"))


def dials_among(spots: Sequence[Spot]) -> Dials:
    """Those of them that tell a temperature or a humidity."""
    return Dials([spot for spot in spots if spot.t is not None or spot.rh is not None])


def dials_of(place_id: UUID, begin: datetime, end: datetime) -> Dials:
    """The temperatures and humidities read at a place in a time."""
    return dials_among(spots_of(place_id, begin, end))
