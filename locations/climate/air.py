"""The air of a place through time, as those who spoke for it told it: readings for drawings, hours for counting."""

from collections import defaultdict
from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final, TypeVar
from uuid import UUID

import numpy as np

from locations.climate import queries
from locations.climate.exposure import MARGIN, at_wall, first_told, hours_from, temperatures_from
from locations.climate.hearing import HOUR, ColdWall, Heard, Hearing, Outdoors
from locations.climate.models import CalibrationSpan, Logger
from locations.climate.science.series import WIDEST
from locations.climate.science.values import Flags, Floats, Ints
from locations.places.models import Place

K = TypeVar("K", bound=Hashable)
#: no page and no answer reads more at once
LONGEST: Final = 3_660 * 24


@dataclass(frozen=True, slots=True)
class Air:
    """From hour `begin` to before `end` (from 1970): readings in order, those of light apart, and the hours made of them, NaN where nothing is known.

    `widest` s lie at most between two readings that follow each other; `parts` says who spoke when. `outdoors`: t of the hours outdoors, where a
    wall of `parts` asks for it.
    """

    begin: int
    end: int
    loggers: Sequence[Logger]
    widest: float
    at: Ints
    t: Floats
    rh: Floats
    lit_at: Ints
    lux: Floats
    hour_t: Floats
    hour_rh: Floats
    outdoors: Floats
    parts: Sequence[Heard]

    @property
    def known(self) -> Flags:
        """The hours of which t and rh are known."""
        known: Flags = ~(np.isnan(self.hour_t) | np.isnan(self.hour_rh))
        return known


def air_of(path: Sequence[Place], begin: int, end: int) -> Air:
    """The air of the first place of a path of nearest first, from hour `begin` to before `end`."""
    hearing = Hearing(None if any(place.mobile for place in path) else path)
    return heard_air(hearing.between(path[0].pk, begin, end), begin, end)


def heard_air(parts: Sequence[Heard], begin: int, end: int) -> Air:
    """The air that these stretches tell: of several loggers in one place the first, the next where it is silent."""
    return heard_airs({None: Window(parts, begin, end)})[None]


@dataclass(frozen=True, slots=True)
class Window:
    """Stretches from hour `begin` to before `end`."""

    parts: Sequence[Heard]
    begin: int
    end: int


def heard_airs(windows: Mapping[K, Window]) -> dict[K, Air]:
    """The same of several places, by their keys; as few questions as of one."""
    numbers = sorted({number for one in windows.values() for part in one.parts for number in part.asked})
    begin, end = min((one.begin for one in windows.values()), default=0), max((one.end for one in windows.values()), default=0)
    loggers = {one.number: one for one in Logger.objects.filter(number__in=numbers).order_by("number")}
    found = queries.counted(list(loggers.values()), *(datetime.fromtimestamp(hour * HOUR, UTC) for hour in (begin - MARGIN, end + MARGIN)))
    checks = defaultdict[UUID, list[CalibrationSpan]](list)
    for span in CalibrationSpan.objects.filter(logger__number__in=numbers).select_related("calibration"):
        checks[span.logger_id].append(span)
    humidity = {number: queries.by_checks(found[number], checks[one.pk]) for number, one in loggers.items()}
    return {key: _air(one, loggers, found, humidity) for key, one in windows.items()}


def at_walls(air: Air) -> tuple[Floats, Floats]:
    """t and rh at the walls that its stretches tell of, hour by hour; NaN where it is of no wall."""
    t, rh = np.full(len(air.hour_t), np.nan), np.full(len(air.hour_rh), np.nan)
    for one in air.parts:
        if one.wall:
            within = slice(one.begin - air.begin, one.end - air.begin)
            t[within], rh[within] = at_wall(air.hour_t[within], air.hour_rh[within], one.wall, air.outdoors[within])
    return t, rh


def outdoors_for(place: UUID, begin: int, end: int) -> Floats:
    """t outdoors for a fixed place, from hour `begin` to before `end`; NaN where nobody told it."""
    told = [Heard(one.begin, one.end, (), ColdWall(quality=1.0, outdoors=one.voice)) for one in Outdoors().of(place)]
    return heard_air([one.between(begin, end) for one in told if one.begin < end and one.end > begin], begin, end).outdoors


def _air(window: Window, known: dict[int, Logger], found: dict[int, queries.Series], humidity: dict[int, Floats]) -> Air:
    parts, begin, end = window.parts, window.begin, window.end
    spoke = {number for part in parts for number in part.voice}
    loggers = {number: one for number, one in known.items() if number in spoke}
    hours = {number: hours_from(found[number], humidity[number], one.interval, begin, end) for number, one in loggers.items()}
    hour_t, hour_rh = _hours(parts, hours, begin, end)
    at, t, rh = _readings(parts, found, humidity)
    lit_at, lux = _light(parts, found)
    widest = WIDEST * max((one.interval for one in loggers.values()), default=HOUR)
    return Air(begin, end, list(loggers.values()), widest, at, t, rh, lit_at, lux, hour_t, hour_rh, _outdoors(window, known, found), parts)


def _outdoors(window: Window, known: dict[int, Logger], found: dict[int, queries.Series]) -> Floats:
    numbers = {number for part in window.parts if part.wall for number in part.wall.outdoors}
    told = {number: temperatures_from(found[number], known[number].interval, window.begin, window.end) for number in numbers}
    t = np.full(window.end - window.begin, np.nan)
    for part in window.parts:
        within = slice(part.begin - window.begin, part.end - window.begin)
        t[within] = first_told((told[number][within] for number in (part.wall.outdoors if part.wall else ())), part.end - part.begin)
    return t


def _hours(parts: Sequence[Heard], hours: dict[int, tuple[Floats, Floats]], begin: int, end: int) -> tuple[Floats, Floats]:
    t, rh = np.full(end - begin, np.nan), np.full(end - begin, np.nan)
    for part in parts:
        within = slice(part.begin - begin, part.end - begin)
        for number in part.voice:
            more_t, more_rh = (values[within] for values in hours[number])
            gap = np.isnan(rh[within])
            t[within] = np.where(gap, more_t, t[within])
            rh[within] = np.where(gap, more_rh, rh[within])
    return t, rh


def _readings(parts: Sequence[Heard], found: dict[int, queries.Series], humidity: dict[int, Floats]) -> tuple[Ints, Floats, Floats]:
    """Instants, t and rh as they follow each other."""
    pieces = [(found[n].at[counts], found[n].t[counts], humidity[n][counts]) for n, counts in _counting(parts, found, humidity)]
    at, (t, rh) = _in_order(pieces, 2)
    return at, t, rh


def _light(parts: Sequence[Heard], found: dict[int, queries.Series]) -> tuple[Ints, Floats]:
    """Instants and lux as they follow each other: a light meter beside a logger of humidity is heard too."""
    lux = {number: one.lux for number, one in found.items()}
    pieces = [(found[n].at[lit], lux[n][lit]) for n, counts in _counting(parts, found, lux) for lit in (counts & ~np.isnan(lux[n]),)]
    at, (values,) = _in_order(pieces, 1)
    return at, values


def _counting(parts: Sequence[Heard], found: dict[int, queries.Series], values: dict[int, Floats]) -> Iterator[tuple[int, Flags]]:
    """Which readings of whom count: of the next logger only those of hours in which the one before it told no such value."""
    for part in parts:
        spoken: Ints | None = None
        for number in part.voice:
            hour = found[number].at // HOUR
            within: Flags = (hour >= part.begin) & (hour < part.end)
            if spoken is not None:
                within &= ~np.isin(hour, spoken)
            yield number, within
            if number != part.voice[-1]:
                told = hour[within & ~np.isnan(values[number])]
                spoken = told if spoken is None else np.union1d(spoken, told)


def _in_order(pieces: Sequence[tuple[Ints, *tuple[Floats, ...]]], columns: int) -> tuple[Ints, Sequence[Floats]]:
    """Instants and the values beside them, sorted where they are not in order as they come."""
    if not pieces:
        return np.empty(0, dtype=np.int64), [np.empty(0)] * columns
    at, *values = (np.concatenate(column) if len(column) > 1 else column[0] for column in zip(*pieces, strict=True))
    if len(at) < 2 or (np.diff(at) >= 0).all():
        return at, values
    order = np.argsort(at, kind="stable")
    return at[order], [one[order] for one in values]
