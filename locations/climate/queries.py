"""What the records of the climate say: who speaks for a place, what was read last, which readings count, what somebody has to see to."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

import numpy as np
from django.db import connection
from django.db.models import Q

from locations.climate import folder, storing
from locations.climate.files.flags import NO_READING
from locations.climate.models import CalibrationSpan, ClimateFile, CoverageSpan, Logger, LoggerStay, Reading, Rival, Spot, Suspicion, Verdict
from locations.climate.science.calibration import Correction, corrected
from locations.climate.science.values import Flags, Floats, Ints
from locations.places.models import Place
from locations.places.queries import path_of
from museum import clock

#: a hole in a record is told for so long after it came to light
TOLD_FOR: Final = timedelta(days=30)
#: where the last reading does not count, one of so long before still says what the air is
LATELY: Final = timedelta(days=1)
#: a hole worth somebody's time (s)
HOLE: Final = 24 * 3600


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
    numbers = [logger.number for logger in loggers]
    rivals, verdicts = defaultdict[int, list[int]](list), defaultdict[UUID, list[Verdict]](list)
    for number, moment in Rival.objects.filter(logger__in=numbers, at__gte=begin, at__lt=end).values_list("logger", "at"):
        rivals[number].append(int(moment.timestamp()))
    for verdict in Verdict.objects.filter(logger__in=loggers, begin__lt=end, end__gt=begin, corrected_by=None, withdraws=False).order_by("recorded_at"):
        verdicts[verdict.logger_id].append(verdict)
    return {one.number: _counting(storing.stored("climate_reading", one.number, first, last), rivals[one.number], verdicts[one.pk]) for one in loggers}


def _counting(rows: Any, rivals: Sequence[int], verdicts: Sequence[Verdict]) -> Series:
    at = storing.seconds_of(rows)
    bad = (rows["flags"] & int(NO_READING)) > 0
    bad |= np.isin(at, rivals)
    for verdict in verdicts:
        within = (at >= verdict.begin.timestamp()) & (at < verdict.end.timestamp())
        bad[within] = verdict.says == Verdict.Says.LEFT_OUT
    return Series(at, *(_without(rows[name], bad) for name in storing.VALUES))


def _without(values: Any, bad: Flags) -> Floats:
    found: Floats = np.round(values.astype(np.float64), 4)
    found[bad] = np.nan
    return found


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
class LastRead:
    """The last reading of a logger as it stands: °C, % by its check; none where it has none."""

    at: datetime
    t: float | None
    rh: float | None


@dataclass(frozen=True, slots=True)
class Room:
    """A place and what was read there last, by its loggers and by hand."""

    place: Place
    loggers: Sequence[tuple[Logger, LastRead | None]]
    spot: Spot | None


def rooms() -> list[Room]:
    """Every open room, and every other place where a logger stands."""
    now = clock.now()
    stays = LoggerStay.objects.filter(during__contains=now, logger__ended_on=None).select_related("logger").order_by("logger__name")
    by_place: dict[UUID, list[Logger]] = {}
    for stay in stays:
        by_place.setdefault(stay.place_id, []).append(stay.logger)
    places = Place.objects.filter(Q(level=Place.Level.ROOM) | Q(pk__in=by_place), closed_on=None).order_by("path_key", "code")
    latest = _last_by_check([one for loggers in by_place.values() for one in loggers])
    spots = {spot.place_id: spot for spot in standing_spots().exclude(t=None, rh=None).order_by("place", "-happened_at").distinct("place")}
    return [Room(place, [(one, latest.get(one.number)) for one in by_place.get(place.pk, [])], spots.get(place.pk)) for place in places]


def _last_by_check(loggers: Sequence[Logger]) -> dict[int, LastRead]:
    """The last reading of each by the check that counted then, as the page of a room shows it."""
    latest, spans = last_readings([one.number for one in loggers]), defaultdict[int, list[CalibrationSpan]](list)
    for span in CalibrationSpan.objects.filter(logger__in=loggers).select_related("calibration", "logger"):
        spans[span.logger.number].append(span)
    found = {}
    for number, row in latest.items():
        at, t, rh, lux = np.array([int(row.at.timestamp())]), *(np.array([np.nan if value is None else value]) for value in (row.t, row.rh, row.lux))
        humidity = by_checks(Series(at, t, rh, lux), spans[number])[0]
        found[number] = LastRead(row.at, row.t, None if np.isnan(humidity) else float(humidity))
    return found


def standing_spots() -> Any:
    """Hand readings that nobody took back."""
    return Spot.objects.filter(corrected_by=None, withdraws=False).select_related("by")


def last_readings(numbers: Sequence[int]) -> dict[int, Reading]:
    """The last reading of each logger, one look into the key for each."""
    if not numbers:
        return {}
    sql = (
        "SELECT r.logger, r.at, r.t, r.rh, r.lux, r.flags, r.file FROM unnest(%s) AS n(logger)"
        " CROSS JOIN LATERAL (SELECT * FROM climate_reading c WHERE c.logger = n.logger ORDER BY c.at DESC LIMIT 1) AS r"
    )
    with connection.cursor() as cursor:
        cursor.execute(sql, [list(numbers)])
        rows = cursor.fetchall()
    names = ("logger", "at", "t", "rh", "lux", "flags", "file")
    return {row[0]: Reading(**dict(zip(names, row, strict=True))) for row in rows}


@dataclass(frozen=True, slots=True)
class Told:
    """What a logger says now: °C, % by its check."""

    at: datetime
    t: float
    rh: float


def told_last(loggers: Sequence[Logger]) -> list[Told]:
    """The last reading of each that counts and has both figures, of the day before its last at the most."""
    found, latest = [], last_readings([one.number for one in loggers])
    for one in loggers:
        if one.number in latest:
            last = latest[one.number].at
            series = readings(one, last - LATELY, last + timedelta(seconds=1))
            rh = corrected_rh(one, series)
            known = np.flatnonzero(~(np.isnan(series.t) | np.isnan(rh)))
            found += [Told(storing.moment(int(series.at[i])), float(series.t[i]), float(rh[i])) for i in known[-1:]]
    return found


@dataclass(frozen=True, slots=True)
class Silent:
    """A logger that stands somewhere and of which nothing has come for too long."""

    logger: Logger
    place: Place
    last: datetime | None

    @property
    def days(self) -> int | None:
        """Days without a reading."""
        return (clock.now() - self.last).days if self.last else None


def silent() -> list[Silent]:
    """Loggers somebody has to fetch the file of."""
    now = clock.now()
    stays = list(LoggerStay.objects.filter(during__contains=now, logger__ended_on=None).select_related("logger", "place").order_by("place__path_key"))
    latest = last_readings([stay.logger.number for stay in stays])
    found = []
    for stay in stays:
        last = latest.get(stay.logger.number)
        since = last.at if last else stay.during.lower
        if now - since > timedelta(days=stay.logger.silent_after):
            found.append(Silent(stay.logger, stay.place, last.at if last else None))
    return found


@dataclass(frozen=True, slots=True)
class ToSee:
    """What somebody has to see to: silent loggers, files that ask, files with a hole, instants with two values, loggers that may lie, files refused unseen."""

    silent: Sequence[Silent]
    asking: Sequence[ClimateFile]
    holes: Sequence[tuple[ClimateFile, datetime, datetime]]
    contradicted: Sequence[tuple[Logger, int]]
    doubted: Sequence[Suspicion]
    refused: Sequence[folder.Refused]

    def __bool__(self) -> bool:
        return bool(self.silent or self.asking or self.holes or self.contradicted or self.doubted or self.refused)


def to_see() -> ToSee:
    """For the start page."""
    asking = ClimateFile.objects.filter(state=ClimateFile.State.ASKS).select_related("logger").order_by("sent_at")
    doubted = Suspicion.objects.filter(settlement=None).select_related("logger", "other").order_by("recorded_at")
    return ToSee(silent(), list(asking[:20]), _holes(), _contradicted(), list(doubted[:20]), folder.refused())


def _holes() -> list[tuple[ClimateFile, datetime, datetime]]:
    """Holes of over a day that came to light lately and that nobody has judged."""
    lately = ClimateFile.objects.filter(state=ClimateFile.State.DONE, sent_at__gt=clock.now() - TOLD_FOR).select_related("logger").order_by("-sent_at")
    found = []
    for row in lately[:50]:
        for begin, end in row.counts.get("holes", []):
            if end - begin > HOLE and not Verdict.objects.filter(logger=row.logger, begin__lte=storing.moment(begin), end__gte=storing.moment(end)).exists():
                found.append((row, storing.moment(begin), storing.moment(end)))
    return found[:10]


def _contradicted() -> list[tuple[Logger, int]]:
    """Loggers with instants of two values that nobody has judged, and how many."""
    found = []
    for number in Rival.objects.values_list("logger", flat=True).distinct():
        logger = Logger.objects.filter(number=number).first()
        if logger is None:
            continue
        open_ones = Rival.objects.filter(logger=number)
        for verdict in Verdict.objects.filter(logger=logger, corrected_by=None, withdraws=False):
            open_ones = open_ones.exclude(at__gte=verdict.begin, at__lt=verdict.end)
        if count := open_ones.count():
            found.append((logger, count))
    return found


_WAITING = """
SELECT (SELECT count(*) FROM climate_loggerstay s JOIN climate_logger l ON l.id = s.logger_id
          LEFT JOIN LATERAL (SELECT r.at FROM climate_reading r WHERE r.logger = l.number ORDER BY r.at DESC LIMIT 1) AS last ON true
         WHERE s.during @> %(now)s AND l.ended_on IS NULL
           AND %(now)s - coalesce(last.at, lower(s.during)) > l.silent_after * interval '1 day'),
       (SELECT count(*) FROM climate_climatefile WHERE state = 'asks'),
       (SELECT count(*) FROM climate_climatefile f CROSS JOIN LATERAL jsonb_array_elements(coalesce(f.counts -> 'holes', '[]')) AS hole
         WHERE f.state = 'done' AND f.sent_at > %(lately)s AND (hole ->> 1)::bigint - (hole ->> 0)::bigint > %(hole)s
           AND NOT EXISTS (SELECT 1 FROM climate_verdict v WHERE v.logger_id = f.logger_id
                           AND v."begin" <= to_timestamp((hole ->> 0)::bigint) AND v."end" >= to_timestamp((hole ->> 1)::bigint))),
       (SELECT count(DISTINCT r.logger) FROM climate_rival r JOIN climate_logger l ON l.number = r.logger
         WHERE NOT EXISTS (SELECT 1 FROM climate_verdict v WHERE v.logger_id = l.id AND v."begin" <= r.at AND v."end" > r.at)),
       (SELECT count(DISTINCT s.logger_id) FROM climate_suspicion s WHERE NOT EXISTS (SELECT 1 FROM climate_settlement d WHERE d.suspicion_id = s.id))
"""


def waiting() -> dict[str, int]:
    """How much of `to_see` there is, by one question: silent loggers, files that ask, holes, loggers with two values of one instant, doubted loggers."""
    now = clock.now()
    with connection.cursor() as cursor:
        cursor.execute(_WAITING, {"now": now, "lately": now - TOLD_FOR, "hole": HOLE})
        silent_ones, asking, holes, contradicted, doubted = cursor.fetchone()
    found = {"silent": silent_ones, "asking": asking, "holes": holes, "contradicted": contradicted, "doubted": doubted}
    return found if any(found.values()) else {}
