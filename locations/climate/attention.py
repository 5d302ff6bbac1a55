"""What of the climate's records somebody has to see to: what is silent, refused, worn or contradicted, and rooms that read damp at the dial alone."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from itertools import groupby
from typing import Final

from django.db import connection
from django.db.models import Max, Q

from locations.climate import folder, storing
from locations.climate.dials import Dials
from locations.climate.files.flags import NO_READING
from locations.climate.models import ClimateFile, Logger, LoggerStay, Rival, Spot, Suspicion, Verdict
from locations.climate.queries import last_readings, open_rivals, standing_spots
from locations.places.models import Place
from museum import clock

#: a hole in a record, or a file refused, is told for so long after it came to light
TOLD_FOR: Final = timedelta(days=30)
#: a hole worth somebody's time (s)
HOLE: Final = 24 * 3600
#: a check against known humidity holds so long (house rule of the reference), and so does a battery (common practice, no source)
CARED_FOR: Final = timedelta(days=365)
#: readings at the dial older than this tell nothing of today
DIALS: Final = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class Silent:
    """A logger that stands somewhere and of which nothing that is a reading has come for too long."""

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
class Worn:
    """A logger whose battery, or whose check against known humidity, is over a year old; a day where it is, `never` checked since it came."""

    logger: Logger
    battery_on: date | None
    checked_on: date | None
    never: bool


def worn() -> list[Worn]:
    """Loggers in use that want their yearly care; what nobody told counts from the day that a logger was entered."""
    long_ago = clock.today() - CARED_FOR
    checked = Max("calibrations__happened_on", filter=Q(calibrations__corrected_by=None, calibrations__withdraws=False))
    used = Logger.objects.filter(ended_on=None, stays__during__contains=clock.now()).annotate(checked=checked).order_by("name")
    found = []
    for one in used:
        came = clock.day_of(one.made_at)
        battery, check = one.battery_on or came, one.checked or came
        if min(battery, check) < long_ago:
            found.append(Worn(one, battery if battery < long_ago else None, check if check < long_ago else None, one.checked is None))
    return found


@dataclass(frozen=True, slots=True)
class DampDial:
    """A room of which nobody but its dial tells, and the dial says damp: how many readings in a row up to the last, since when, and the last."""

    place: Place
    in_a_row: int
    since: datetime
    last: Spot


def damp_dials() -> list[DampDial]:
    """Rooms damp by their dials (`damp_by_hand`) to this day, that no logger has told of since the first of those readings."""
    rows = standing_spots().filter(rh__isnull=False, happened_at__gt=clock.now() - DIALS, place__closed_on=None).select_related("place")
    found = []
    for _, group in groupby(rows.order_by("place", "happened_at", "recorded_at"), key=lambda spot: spot.place_id):
        dials = Dials(list(group))
        if (told := dials.verdict) is not None and told.damp_now:
            since = datetime.fromtimestamp(int(dials.at[-told.going_on]), UTC)
            found.append(DampDial(dials.last.place, told.going_on, since, dials.last))
    return _unheard(found) if found else []


def _unheard(dials: Sequence[DampDial]) -> list[DampDial]:
    stays = LoggerStay.objects.filter(place__in=[one.place for one in dials], during__contains=clock.now()).values_list("place", "logger__number")
    latest = last_readings([number for _, number in stays])
    heard = {(place, latest[number].at) for place, number in stays if number in latest}
    return [one for one in dials if not any(place == one.place.pk and at > one.since for place, at in heard)]


@dataclass(frozen=True, slots=True)
class ToSee:
    """What somebody has to see to: silent loggers, files that ask, files with a hole, instants with two values, loggers that may lie, files refused unseen
    (in the folder, or taken from it and then not read), loggers that want their yearly care, rooms damp by the dial.
    """

    silent: Sequence[Silent]
    asking: Sequence[ClimateFile]
    holes: Sequence[tuple[ClimateFile, datetime, datetime]]
    contradicted: Sequence[tuple[Logger, int]]
    doubted: Sequence[Suspicion]
    refused: Sequence[folder.Refused]
    unread: Sequence[ClimateFile]
    worn: Sequence[Worn]
    dials: Sequence[DampDial]

    def __len__(self) -> int:
        return sum(len(getattr(self, name)) for name in self.__slots__)


def to_see() -> ToSee:
    """For the start page."""
    asking = ClimateFile.objects.filter(state=ClimateFile.State.ASKS).select_related("logger").order_by("sent_at")
    doubted = Suspicion.objects.filter(settlement=None).select_related("logger", "other").order_by("recorded_at")
    unread = ClimateFile.objects.filter(state=ClimateFile.State.REFUSED, sent_by=None, job__isnull=False, sent_at__gt=clock.now() - TOLD_FOR)
    found = silent(), list(asking[:20]), _holes(), _contradicted(), list(doubted[:20]), folder.refused()
    return ToSee(*found, list(unread.order_by("-sent_at")[:20]), worn(), damp_dials())


def _holes() -> list[tuple[ClimateFile, datetime, datetime]]:
    """Holes of over a day that came to light lately and that nobody has judged."""
    lately = ClimateFile.objects.filter(state=ClimateFile.State.DONE, sent_at__gt=clock.now() - TOLD_FOR).select_related("logger").order_by("-sent_at")
    found = []
    for row in lately[:50]:
        for begin, end in row.counts.get("holes", []):
            if (
                end - begin > HOLE
                and not Verdict.objects.filter(logger=row.logger, file=None, begin__lte=storing.moment(begin), end__gte=storing.moment(end)).exists()
            ):
                found.append((row, storing.moment(begin), storing.moment(end)))
    return found[:10]


def _contradicted() -> list[tuple[Logger, int]]:
    """Loggers with instants of two values that nobody has judged, and how many."""
    found = []
    for number in Rival.objects.values_list("logger", flat=True).distinct():
        logger = Logger.objects.filter(number=number).first()
        if logger is None:
            continue
        if count := open_rivals(logger).count():
            found.append((logger, count))
    return found


_WAITING = """
SELECT (SELECT count(*) FROM climate_loggerstay s JOIN climate_logger l ON l.id = s.logger_id
          LEFT JOIN LATERAL (SELECT r.at FROM climate_reading r WHERE r.logger = l.number AND r.flags & %(none)s = 0 ORDER BY r.at DESC LIMIT 1) AS last ON true
         WHERE s.during @> %(now)s AND l.ended_on IS NULL
           AND %(now)s - coalesce(last.at, lower(s.during)) > l.silent_after * interval '1 day'),
       (SELECT count(*) FROM climate_climatefile WHERE state = 'asks'),
       (SELECT count(*) FROM climate_climatefile f CROSS JOIN LATERAL jsonb_array_elements(coalesce(f.counts -> 'holes', '[]')) AS hole
         WHERE f.state = 'done' AND f.sent_at > %(lately)s AND (hole ->> 1)::bigint - (hole ->> 0)::bigint > %(hole)s
           AND NOT EXISTS (SELECT 1 FROM climate_verdict v WHERE v.logger_id = f.logger_id AND v.file_id IS NULL
                           AND v."begin" <= to_timestamp((hole ->> 0)::bigint) AND v."end" >= to_timestamp((hole ->> 1)::bigint))),
       (SELECT count(DISTINCT r.logger) FROM climate_rival r JOIN climate_logger l ON l.number = r.logger
         WHERE NOT EXISTS (SELECT 1 FROM climate_verdict v WHERE v.logger_id = l.id AND v."begin" <= r.at AND v."end" > r.at
                           AND (v.file_id IS NULL OR EXISTS (SELECT 1 FROM climate_rival o JOIN climate_climatefile f ON f.number = o.file
                                                              WHERE f.id = v.file_id AND o.logger = r.logger AND o.at = r.at)))),
       (SELECT count(DISTINCT s.logger_id) FROM climate_suspicion s WHERE NOT EXISTS (SELECT 1 FROM climate_settlement d WHERE d.suspicion_id = s.id)),
       (SELECT count(*) FROM climate_climatefile WHERE state = 'refused' AND sent_by_id IS NULL AND job IS NOT NULL AND sent_at > %(lately)s)
"""


def waiting() -> dict[str, int]:
    """How much of `to_see` there is, by few questions, and by the same names."""
    now = clock.now()
    with connection.cursor() as cursor:
        cursor.execute(_WAITING, {"now": now, "lately": now - TOLD_FOR, "hole": HOLE, "none": int(NO_READING)})
        found = dict(zip(("silent", "asking", "holes", "contradicted", "doubted", "refused"), cursor.fetchone(), strict=True))
    found["refused"] += len(folder.refused())
    found |= {"worn": len(worn()), "dials": len(damp_dials())}
    return found if any(found.values()) else {}
