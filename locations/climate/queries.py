"""What the records of the climate say: who speaks for a place, what was read last, which readings count."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from operator import itemgetter
from typing import Any, Final
from uuid import UUID

import numpy as np
from django.db import connection
from django.db.models import Count, Min, Q, QuerySet

from locations.climate import storing
from locations.climate.files.flags import NO_READING, Flag
from locations.climate.models import CalibrationSpan, ClimateFile, CoverageSpan, Logger, LoggerStay, Reading, Rival, Spot, Verdict
from locations.climate.science.calibration import Correction, corrected
from locations.climate.science.values import Floats, Ints
from locations.places.models import Place
from locations.places.queries import path_of
from museum import clock

#: where the last reading does not count, one of so long before still says what the air is
LATELY: Final = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Series:
    """Readings that count, in order: instants (s), t °C, rh % as recorded, lux; NaN where there is none or it does not count."""

    at: Ints
    t: Floats
    rh: Floats
    lux: Floats


def readings(logger: Logger, begin: datetime, end: datetime) -> Series:
    """The readings from `begin` to before `end`, without what the import found to be none, what is contradicted and what was judged so."""
    return counted([logger], begin, end)[logger.number]


def counted(loggers: Sequence[Logger], begin: datetime, end: datetime) -> dict[int, Series]:
    """`readings` of several loggers, by their numbers; as few questions as of one."""
    first, last = int(begin.timestamp()), int(end.timestamp()) - 1
    rows = {one.number: storing.stored("climate_reading", one.number, first, last) for one in loggers}
    return _counting(loggers, {number: (storing.seconds_of(found), found) for number, found in rows.items()}, begin, end)


def _counting(loggers: Sequence[Logger], rows: Mapping[int, tuple[Ints, Any]], begin: datetime, end: datetime) -> dict[int, Series]:
    """Of instants with their values and flags, those from `begin` to before `end`, what counts."""
    others, verdicts = defaultdict[int, list[Rival]](list), defaultdict[UUID, list[Verdict]](list)
    for other in Rival.objects.filter(logger__in=rows, at__gte=begin, at__lt=end).order_by("id"):
        others[other.logger].append(other)
    standing = Verdict.objects.filter(logger__in=loggers, begin__lt=end, end__gt=begin, corrected_by=None, withdraws=False).select_related("file")
    for verdict in standing.order_by("recorded_at", "id"):
        verdicts[verdict.logger_id].append(verdict)
    return {one.number: _judged(*rows[one.number], others[one.number], verdicts[one.pk]) for one in loggers}


def _judged(at: Ints, rows: Any, others: Sequence[Rival], verdicts: Sequence[Verdict]) -> Series:
    """Readings by what was said of them, the last word last. Of an instant with another value neither counts until somebody says which holds."""
    first = {name: np.round(rows[name].astype(np.float64), 4) for name in storing.VALUES}
    told, bad = ({name: values.copy() for name, values in first.items()} if verdicts else first), _no_reading(rows["flags"])
    second = _second(at, others)
    bad[second.where] = True
    for verdict in verdicts:
        begin, end = verdict.begin.timestamp(), verdict.end.timestamp()
        if verdict.says in Verdict.OF_ALL:
            within = (at >= begin) & (at < end)
            bad[within] = verdict.says == Verdict.Says.LEFT_OUT
            for name in storing.VALUES:
                told[name][within] = first[name][within]
            continue
        of = (second.at >= begin) & (second.at < end) & (verdict.file is None or second.file == verdict.file.number)
        where, later = second.where[of], verdict.says == Verdict.Says.LATER
        flags = second.flags[of] if later else rows["flags"][where]
        # Of several lines of one instant the last is assigned last.
        bad[where] = verdict.says == Verdict.Says.NEITHER or _no_reading(flags & ~Flag.RIVALLED)
        for name in storing.VALUES:
            told[name][where] = second.values[name][of] if later else first[name][where]
    for values in told.values():
        values[bad] = np.nan
    return Series(at, *(told[name] for name in storing.VALUES))


def _no_reading(flags: Any) -> Any:
    return (flags & int(NO_READING)) > 0


@dataclass(frozen=True, slots=True)
class _Second:
    """Second values in the order in which they came: where among the readings their instants (s) are, which file brought them, their flags and figures."""

    where: Ints
    at: Ints
    file: Ints
    flags: Ints
    values: Mapping[str, Floats]


def _second(at: Ints, others: Sequence[Rival]) -> _Second:
    """Those of which the instant is among these."""
    moments = np.array([int(other.at.timestamp()) for other in others], dtype=np.int64)
    where = np.searchsorted(at, moments)
    inside = np.flatnonzero(where < len(at))
    here = inside[at[where[inside]] == moments[inside]]
    file, flags = (np.array([getattr(other, name) for other in others], dtype=np.int64)[here] for name in ("file", "flags"))
    # None becomes NaN.
    values = {name: np.round(np.array([getattr(other, name) for other in others], dtype=np.float64)[here], 4) for name in storing.VALUES}
    return _Second(where[here], moments[here], file, flags, values)


def corrected_rh(logger: Logger, series: Series) -> Floats:
    """Humidity by the check that counted at each instant; as recorded where there was none yet."""
    return by_checks(series, CalibrationSpan.objects.filter(logger=logger).select_related("calibration"))


def by_checks(series: Series, spans: Iterable[CalibrationSpan]) -> Floats:
    """The same by checks at hand."""
    rh = series.rh.copy()
    for span in spans:
        begin, end = span.during.lower.timestamp(), span.during.upper.timestamp() if span.during.upper else np.inf
        within = (series.at >= begin) & (series.at < end)
        check = span.calibration
        rh[within] = corrected(series.rh[within], Correction(check.slope, check.offset, check.low, check.high))
    return rh


def speaks_for(place_id: UUID, at: datetime | None = None) -> list[Logger]:
    """The loggers that spoke for a place at an instant: by word of somebody, else those that stood nearest up the tree; of two in one room both."""
    instant = at or clock.now()
    path = [place.pk for place in path_of(place_id, instant)]
    told = {span.place_id: span.logger for span in CoverageSpan.objects.filter(place__in=path, during__contains=instant).select_related("logger")}
    stood: dict[UUID, list[Logger]] = {}
    for stay in LoggerStay.objects.filter(place__in=path, during__contains=instant).select_related("logger").order_by("logger__number"):
        stood.setdefault(stay.place_id, []).append(stay.logger)
    for key in path:
        if key in told:
            return [told[key]]
        if key in stood:
            return stood[key]
    return []


@dataclass(frozen=True, slots=True)
class Told:
    """What a logger says now: °C, % by its check; None for what it does not tell."""

    at: datetime
    t: float | None
    rh: float | None

    @property
    def both(self) -> tuple[float, float] | None:
        """Temperature and humidity, where it tells both."""
        return None if self.t is None or self.rh is None else (self.t, self.rh)


@dataclass(frozen=True, slots=True)
class Room:
    """A place and what was read there last, by its loggers and by hand."""

    place: Place
    loggers: Sequence[tuple[Logger, Told | None]]
    spot: Spot | None


def rooms() -> list[Room]:
    """Every open room, and every other place where a logger stands."""
    now = clock.now()
    stays = LoggerStay.objects.filter(during__contains=now, logger__ended_on=None).select_related("logger").order_by("logger__name")
    by_place: dict[UUID, list[Logger]] = {}
    for stay in stays:
        by_place.setdefault(stay.place_id, []).append(stay.logger)
    places = Place.objects.filter(Q(level=Place.Level.ROOM) | Q(pk__in=by_place), closed_on=None).order_by("path_key", "code")
    latest = told_last([one for loggers in by_place.values() for one in loggers])
    spots = {spot.place_id: spot for spot in standing_spots().exclude(t=None, rh=None).order_by("place", "-happened_at").distinct("place")}
    return [Room(place, [(one, latest.get(one.number)) for one in by_place.get(place.pk, [])], spots.get(place.pk)) for place in places]


def standing_spots() -> Any:
    """Hand readings that nobody took back."""
    return Spot.objects.filter(corrected_by=None, withdraws=False).select_related("by")


def last_readings(numbers: Sequence[int]) -> dict[int, Reading]:
    """The last reading of each logger that the import did not find to be none, one look into the key for each."""
    if not numbers:
        return {}
    sql = (
        "SELECT r.logger, r.at, r.t, r.rh, r.lux, r.flags, r.file FROM unnest(%s) AS n(logger)"
        " CROSS JOIN LATERAL (SELECT * FROM climate_reading c WHERE c.logger = n.logger AND c.flags & %s = 0 ORDER BY c.at DESC LIMIT 1) AS r"
    )
    with connection.cursor() as cursor:
        cursor.execute(sql, [list(numbers), int(NO_READING)])
        rows = cursor.fetchall()
    names = ("logger", "at", "t", "rh", "lux", "flags", "file")
    return {row[0]: Reading(**dict(zip(names, row, strict=True))) for row in rows}


def open_rivals(logger: Logger) -> "QuerySet[Rival]":
    """Second values of instants of which nobody has said what holds. Who chose between two files chose for those instants, whoever else spoke of them."""
    rows = Rival.objects.filter(logger=logger.number)
    for verdict in Verdict.objects.filter(logger=logger, corrected_by=None, withdraws=False).select_related("file"):
        settled = Q(at__gte=verdict.begin, at__lt=verdict.end)
        if verdict.file is not None:
            settled &= Q(at__in=Rival.objects.filter(settled, logger=logger.number, file=verdict.file.number).values("at"))
        rows = rows.exclude(settled)
    return rows


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Of `count` instants from `first` on a file brought other values than were in; `pairs`: the earliest, as they were in first and came later."""

    file: ClimateFile
    count: int
    first: datetime
    pairs: Sequence[tuple[Reading, Rival]]


def contradictions(logger: Logger, files: int, pairs: int) -> list[Contradiction]:
    """What waits for somebody to say which holds: of the first so many files, so many instants of each."""
    rows = open_rivals(logger)
    groups = list(rows.values("file").annotate(count=Count("id"), first=Min("at")).order_by("file")[:files])
    named = {file.number: file for file in ClimateFile.objects.filter(number__in=[group["file"] for group in groups])}
    return [
        Contradiction(named[number], group["count"], group["first"], _pairs(logger, rows.filter(file=number).order_by("at")[:pairs]))
        for group in groups
        if (number := group["file"]) in named
    ]


def _pairs(logger: Logger, later: Iterable[Rival]) -> list[tuple[Reading, Rival]]:
    later = list(later)
    first = {row.at: row for row in Reading.objects.filter(logger=logger.number, at__in=[one.at for one in later])}
    return [(first[one.at], one) for one in later if one.at in first]


def told_last(loggers: Sequence[Logger]) -> dict[int, Told]:
    """The last reading of each that counts and has both figures, else the last with one, by their numbers; of the day before its last at the most."""
    rows = _last_days([one.number for one in loggers])
    heard = [one for one in loggers if one.number in rows]
    if not heard:
        return {}
    begin, end = (storing.moment(pick(int(at[k]) for at, _ in rows.values())) for pick, k in ((min, 0), (max, -1)))
    counts, spans = _counting(heard, rows, begin, end + timedelta(seconds=1)), defaultdict[int, list[CalibrationSpan]](list)
    for span in CalibrationSpan.objects.filter(logger__in=heard).select_related("calibration", "logger"):
        spans[span.logger.number].append(span)
    said = {number: _told(series, by_checks(series, spans[number])) for number, series in counts.items()}
    return {number: told for number, told in said.items() if told}


def _told(series: Series, humidity: Floats) -> Told | None:
    t, rh = ~np.isnan(series.t), ~np.isnan(humidity)
    for known in (t & rh, t | rh):
        if known.any():
            i = int(np.flatnonzero(known)[-1])
            return Told(storing.moment(int(series.at[i])), float(series.t[i]) if t[i] else None, float(humidity[i]) if rh[i] else None)
    return None


_LAST_DAYS: Final = """
SELECT r.logger, extract(epoch FROM r.at)::bigint, r.flags, r.t, r.rh, r.lux FROM unnest(%(loggers)s) AS n(logger)
 CROSS JOIN LATERAL (SELECT c.at FROM climate_reading c WHERE c.logger = n.logger AND c.flags & %(none)s = 0 ORDER BY c.at DESC LIMIT 1) AS last
 CROSS JOIN LATERAL (SELECT c.* FROM climate_reading c WHERE c.logger = n.logger AND c.at >= last.at - make_interval(secs => %(lately)s)) AS r
 ORDER BY r.logger, r.at
"""


def _last_days(numbers: Sequence[int]) -> dict[int, tuple[Ints, dict[str, Any]]]:
    """Instants, values and flags of the day before the last reading of each logger that has any, and of what came after it, by one question."""
    if not numbers:
        return {}
    with connection.cursor() as cursor:
        cursor.execute(_LAST_DAYS, {"loggers": list(numbers), "lately": LATELY.total_seconds(), "none": int(NO_READING)})
        rows = cursor.fetchall()
    found = {}
    for number, group in groupby(rows, key=itemgetter(0)):
        at, flags, *values = zip(*(row[1:] for row in group), strict=True)
        told = {name: np.array(one, dtype=np.float64) for name, one in zip(storing.VALUES, values, strict=True)}
        found[int(number)] = (np.array(at, dtype=np.int64), {"flags": np.array(flags, dtype=np.int64), **told})
    return found
