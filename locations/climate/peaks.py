"""The dampest hour on record of a place: what its loggers and its dials say against a figure that somebody types, or in place of one."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

import numpy as np

from locations.climate.air import LONGEST, Air, air_of
from locations.climate.dials import Dials, dials_of
from locations.climate.hearing import HOUR, hour_of
from locations.climate.science.values import Floats
from locations.climate.storing import moment
from locations.places.queries import path_of
from museum import clock


@dataclass(frozen=True, slots=True)
class Peak:
    """Relative humidity (%) by the check of the logger, or as the dial showed it, and when."""

    rh: float
    at: datetime


@dataclass(frozen=True, slots=True)
class Record:
    """What stands on record of a place from a day to now: who told of it, how many of its hours are known, hand readings; the highest of all."""

    first: date
    highest: Peak
    loggers: Sequence[str]
    known: int
    hours: int
    by_hand: int


@dataclass(frozen=True, slots=True)
class Since:
    """Since a day: when the place was last above a limit (None: never, as far as is known), and what stands on record since the day after that."""

    over: Peak | None
    record: Record | None


def dampest(place_id: UUID, begin: datetime, end: datetime) -> Peak | None:
    """The highest hour that is known, or the highest hand reading; None where nothing was read."""
    air, dials = _told(place_id, begin, end)
    return max(_highest(air, dials, begin), key=lambda one: one.rh, default=None)


def not_above(place_id: UUID, since: date, limit: float) -> Since:
    """The record of a place that stays at or below `limit` % to now: from `since`, or from the day after it was last above it."""
    begin, now = clock.start_of(since), clock.now()
    air, dials = _told(place_id, begin, now)
    over = max(_above(air, dials, limit), key=lambda one: one.at, default=None)
    first = clock.day_of(over.at) + timedelta(days=1) if over else since
    return Since(over, _record(air, dials, first) if first < clock.today() else None)


def _told(place_id: UUID, begin: datetime, end: datetime) -> tuple[Air, Dials]:
    first, last = hour_of(begin), hour_of(end) + 1
    return air_of(path_of(place_id, end), max(first, last - LONGEST), last), dials_of(place_id, begin, end)


def _highest(air: Air, dials: Dials, begin: datetime) -> list[Peak]:
    hours = air.hour_rh[max(0, hour_of(begin) - air.begin) :]
    found = [Peak(float(hours[n]), moment((air.end - len(hours) + n) * HOUR)) for n in _top(hours)]
    read = np.where(dials.at >= begin.timestamp(), dials.rh, np.nan)
    return found + [Peak(float(read[n]), moment(int(dials.at[n]))) for n in _top(read)]


def _top(values: Floats) -> list[int]:
    return [] if np.isnan(values).all() else [int(np.nanargmax(values))]


def _above(air: Air, dials: Dials, limit: float) -> list[Peak]:
    """The last hour above it, and the last hand reading."""
    found = [Peak(float(air.hour_rh[n]), moment((air.begin + int(n)) * HOUR)) for n in np.flatnonzero(air.hour_rh > limit)[-1:]]
    return found + [Peak(float(dials.rh[n]), moment(int(dials.at[n]))) for n in np.flatnonzero(dials.rh > limit)[-1:]]


def _record(air: Air, dials: Dials, first: date) -> Record | None:
    begin = clock.start_of(first)
    highest = max(_highest(air, dials, begin), key=lambda one: one.rh, default=None)
    if highest is None:
        return None
    hours = air.hour_rh[max(0, hour_of(begin) - air.begin) : hour_of(clock.now()) - air.begin]
    told = {number for part in air.parts if part.end > hour_of(begin) for number in part.voice}
    by_hand = int((~np.isnan(dials.rh) & (dials.at >= begin.timestamp())).sum())
    return Record(first, highest, [one.name for one in air.loggers if one.number in told], int((~np.isnan(hours)).sum()), len(hours), by_hand)
