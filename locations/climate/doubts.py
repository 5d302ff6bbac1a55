"""Do the loggers lie? What their records, those of their neighbours and their checks say against them.

Evidence for a person: nothing is corrected by it. Where the methods have not been tried (rooms that differ too much, records too
short), nothing is said. The methods and their error rates are those of `science.drift`, `clocks` and `faults`.
"""

import logging
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import partial
from itertools import combinations
from statistics import median
from typing import Any, Final
from uuid import UUID

import numpy as np
from django.db import InterfaceError, OperationalError

from locations.climate import queries
from locations.climate.exposure import MARGIN, hours_from
from locations.climate.hearing import HOUR, hour_of
from locations.climate.models import Calibration, CalibrationSpan, ClimateFile, Logger, LoggerStay, Settlement, Suspicion
from locations.climate.science.calibration import USUAL_ERROR
from locations.climate.science.clocks import ClockError, clock_error, swapped
from locations.climate.science.drift import Compared, Drift, compared, find_drift
from locations.climate.science.drift_apart import LEAST_LEARNT, WEEK, Beside, find_apart, left_over
from locations.climate.science.faults import mirrored, stuck
from locations.climate.science.psychrometrics import vapour_pressure
from locations.climate.science.values import Floats, NoValue
from locations.climate.spans import instant_of, standing
from locations.places.models import Place
from locations.places.queries import lies_outdoors, path_of
from museum import clock

K = Suspicion.Kind
DAY: Final = timedelta(days=1)
log = logging.getLogger(__name__)
#: a record is looked at so far back for drift, and for what goes on now; a check over salts says something for so long
LONGEST, LATELY, CHECK_HOLDS = 800 * DAY, 60 * DAY, 400 * DAY
#: for drift of a logger that stands alone, of which a year tells how its room hangs together with others
LONGEST_APART: Final = 1_100 * DAY
#: what it is looked back to moves on by so much at once, whole weeks: were it by a day each night, each would learn another usual and suspect by another chance
STEP: Final = 98 * DAY
#: days whose mean says what it reads now
LATE_DAYS: Final = 14
#: a pair that differs more from day to day (%RH), or remembers longer, has not been tried
MOST_SPREAD, MOST_MEMORY = 0.5, 0.75
#: lags of three weeks against those of the six before; correlation below which a pair says nothing; hours from which a clock is suspected
NOW_DAYS, BEFORE_DAYS, LEAST_COMMON, LEAST_LAG = 21, 42, 0.4, 0.75
#: the same in the open air, where the sun on one of them in the morning and on the other in the evening makes a lag of its own (ours)
LEAST_OUTDOORS: Final = 0.7
#: hours by which the lag of two rooms may differ between the two halves of the six weeks before
STEADY: Final = LEAST_LAG / 2
#: days before and after two loggers were handled together; how close together; how much better the exchange must fit
SWAP_DAYS, TOGETHER, BETTER = 14, 2 * DAY, 3.0
#: %RH that a logger may change between two checks
CHANGED: Final = 2.0


@dataclass(frozen=True, slots=True)
class Doubt:
    """What speaks against the readings of a logger from `begin` to before `end`, with the figures; `other`: compared with one logger only."""

    kind: str
    logger: Logger
    begin: datetime
    end: datetime
    evidence: dict[str, Any] = field(default_factory=dict)
    other: Logger | None = None


@dataclass(frozen=True, slots=True)
class Stand:
    """A logger in use, since when it stands where it does, in which room and building, whether in the open air."""

    logger: Logger
    since: datetime
    room: UUID
    building: UUID
    outdoors: bool = False


def look() -> list[Doubt]:
    """Everything that speaks against a logger now."""
    stands = list(_stands())
    asked: list[Callable[[], Iterable[Doubt]]] = [partial(ask, stands) for ask in (_drifts, _drifts_apart, _clocks, _swaps)]
    for stand in stands:
        asked += [partial(_by_itself, stand), partial(_salts, stand.logger)]
    return [doubt for ask in asked for doubt in _answered(ask)]


def _answered(ask: Callable[[], Iterable[Doubt]]) -> list[Doubt]:
    """What it answers; one that breaks off keeps no other waiting."""
    try:
        return list(ask())
    except (OperationalError, InterfaceError):
        raise
    except Exception:
        log.exception("looking whether loggers lie broke off")
        return []


def _stands() -> Iterator[Stand]:
    stays = LoggerStay.objects.filter(during__contains=clock.now(), logger__ended_on=None).select_related("logger")
    for stay in stays.order_by("logger__number"):
        path = path_of(stay.place_id)
        room = next((place.pk for place in path if place.level == Place.Level.ROOM), stay.place_id)
        yield Stand(stay.logger, stay.during.lower, room, path[-1].pk if path else stay.place_id, lies_outdoors(path))


def _drifts(stands: Sequence[Stand]) -> Iterator[Doubt]:
    """Of loggers in one room the one that is noticed first, for it shows in the others too; of two nobody can tell which of them it is."""
    rooms = defaultdict[UUID, list[Stand]](list)
    for stand in stands:
        rooms[stand.room].append(stand)
    for group in rooms.values():
        ones = group[:1] if len(group) == 2 else group
        found = [doubt for one in ones if (doubt := _drift(one, [stand for stand in group if stand is not one])) is not None]
        yield from sorted(found, key=lambda doubt: (doubt.evidence["noticed"], -abs(doubt.evidence["size"])))[:1]


def _drift(one: Stand, others: Sequence[Stand]) -> Doubt | None:
    if not others:
        return None
    everybody = [one, *others]
    since = max([_back(LONGEST), *(stand.since for stand in everybody), *_checked(everybody), *_left_out(everybody)])
    begin, end = (-(-hour_of(since) // 24) * 24, hour_of(clock.now()) // 24 * 24)
    if end - begin < 24:
        return None
    air = _air([stand.logger for stand in everybody], begin, end)
    neighbours = np.array([vapour_pressure(*air[stand.logger.number]) for stand in others])
    days = compared(*air[one.logger.number], neighbours)
    looked = _days_after(begin, _found_right(everybody))
    # Where one stands that was found right is learnt anew; what is known of the others is not lost by that.
    fresh = looked if len(others) == 1 else _days_after(begin, _found_right([one]))
    try:
        found = find_drift(days, fresh, max(looked, default=0))
    except NoValue:
        return None
    if found is None or found.usual.spread > MOST_SPREAD or found.usual.memory > MOST_MEMORY:
        return None
    other = others[0].logger if len(others) == 1 else None
    return Doubt(K.DRIFT, one.logger, _day(begin, found.since), _moment(end), _drift_told(found, days, begin, len(others)), other)


def _drifts_apart(stands: Sequence[Stand]) -> Iterator[Doubt]:
    """Of loggers that stand alone in their room, each against the air outdoors and the other rooms of its building. What shows in several is told of
    the one that shows it most: the others are held against it."""
    outdoors = [stand for stand in stands if stand.outdoors]
    inside = [stand for stand in stands if not stand.outdoors]
    alone = [stand for stand in inside if sum(other.room == stand.room for other in inside) == 1]
    if outdoors:
        found = [doubt for one in alone if (doubt := _apart(one, outdoors, [other for other in inside if other is not one and other.building == one.building]))]
        yield from sorted(found, key=lambda doubt: -abs(doubt.evidence["size"]))[:1]


def _apart(one: Stand, outdoors: Sequence[Stand], others: Sequence[Stand]) -> Doubt | None:
    """None where too little is known of it, as yet."""
    since = max(_back(LONGEST_APART), one.since, min(stand.since for stand in outdoors))
    begin, end = (-(-hour_of(since) // 24) * 24, hour_of(clock.now()) // 24 * 24)
    if end - begin < 24 * WEEK * (LEAST_LEARNT + 1):
        return None
    air = _air([stand.logger for stand in (one, *outdoors, *others)], begin, end)
    fresh = _days_after(begin, [*_checked([one], whole=True), *_left_out([one]), *_found_right([one])])
    beside = Beside(_median(air, outdoors), _median(air, others) if others else None)
    try:
        found = find_apart(*air[one.logger.number], beside, fresh)
        weeks = left_over(*air[one.logger.number], beside, fresh)
    except NoValue:
        return None
    return Doubt(K.DRIFT, one.logger, _day(begin, found.since), _moment(end), _apart_told(found, weeks, begin, len(others))) if found else None


def _median(air: dict[int, tuple[Floats, Floats]], stands: Sequence[Stand]) -> Floats:
    """Vapour pressure (Pa) of the one in the middle, hour by hour; NaN where none tells it."""
    vapours = np.array([vapour_pressure(*air[stand.logger.number]) for stand in stands])
    told, middle = ~np.isnan(vapours).all(axis=0), np.full(vapours.shape[1], np.nan)
    middle[told] = np.nanmedian(vapours[:, told], axis=0)
    return middle


def _apart_told(found: Drift, weeks: Floats, begin: int, rooms: int) -> dict[str, Any]:
    lately = weeks[-2:][~np.isnan(weeks[-2:])]
    return {
        "apart": True, "size": round(found.size, 1), "error": round(found.error, 1), "spread": round(found.usual.spread, 2), "days": found.usual.days,
        "others": rooms, "noticed_on": _day(begin, found.day).date().isoformat(),
        "now": round(float(lately.mean()) - found.usual.mean, 1) if len(lately) else None,
        "weeks": [round(week, 1) for week in weeks[~np.isnan(weeks)][-60:].tolist()],
    }  # fmt: skip


def _drift_told(found: Drift, days: Compared, begin: int, others: int) -> dict[str, Any]:
    beyond = found.usual.beyond(days)
    lately = beyond[-LATE_DAYS:][~np.isnan(beyond[-LATE_DAYS:])]
    weeks = [beyond[day : day + 7] + found.usual.mean for day in range(0, len(beyond) - 6, 7)]
    return {
        "size": round(found.size, 1), "error": round(found.error, 1), "usual": round(found.usual.mean, 1), "spread": round(found.usual.spread, 2),
        "slope": round(10 * found.usual.slope, 1), "days": found.usual.days, "others": others, "noticed": found.day,
        "noticed_on": _day(begin, found.day).date().isoformat(), "now": round(float(lately.mean()), 1) if len(lately) else None,
        "weeks": [round(float(np.nanmean(week)), 1) for week in weeks if not np.isnan(week).all()],
    }  # fmt: skip


def _back(longest: timedelta) -> datetime:
    """The first of the days STEP apart that lie within so long before now."""
    step = int(STEP.total_seconds()) // HOUR
    return _moment(-(-hour_of(clock.now() - longest) // step) * step)


def _checked(stands: Iterable[Stand], *, whole: bool = False) -> Iterator[datetime]:
    """When each was last checked (`whole`: ever): from then on its usual is learnt anew."""
    spans = CalibrationSpan.objects.filter(logger__in=[stand.logger for stand in stands], **({} if whole else {"during__contains": clock.now()}))
    for during in spans.values_list("during", flat=True):
        yield during.lower


def _left_out(stands: Iterable[Stand]) -> Iterator[datetime]:
    """When it was settled that one of them drifts."""
    settled = Settlement.objects.filter(suspicion__kind=K.DRIFT, suspicion__logger__in=[stand.logger for stand in stands], says=Settlement.Says.LEFT_OUT)
    yield from settled.values_list("recorded_at", flat=True)


def _found_right(stands: Iterable[Stand]) -> Iterator[datetime]:
    """When one of them was suspected to drift and found right: it may stand elsewhere since, by a constant."""
    settled = Settlement.objects.filter(suspicion__kind=K.DRIFT, suspicion__logger__in=[stand.logger for stand in stands], says=Settlement.Says.HOLDS)
    yield from settled.values_list("recorded_at", flat=True)


def _days_after(begin: int, moments: Iterable[datetime]) -> list[int]:
    """The first whole day after each, in days from the hour `begin` on."""
    return sorted({hour_of(at) // 24 - begin // 24 + 1 for at in moments if hour_of(at) > begin})


def _comparable(one: Stand, stands: Sequence[Stand]) -> list[Stand]:
    """With which its clock is compared: every other logger of the building, not the open air, which a slow room answers later in one season than in
    another; of one in the open air all others there, since they have one weather."""
    return [stand for stand in stands if stand is not one and stand.outdoors == one.outdoors and (one.outdoors or stand.building == one.building)]


def clock_alone(logger: Logger) -> bool:
    """Whether a logger stands where its clock cannot be compared with another's."""
    stands = list(_stands())
    one = next((stand for stand in stands if stand.logger == logger), None)
    return one is not None and not _comparable(one, stands)


def _clocks(stands: Sequence[Stand]) -> Iterator[Doubt]:
    """By the lag of temperature against every other logger that it can be compared with, against what it was before."""
    latest = {number: reading.at for number, reading in queries.last_readings([stand.logger.number for stand in stands]).items()}
    for one in stands:
        last = latest.get(one.logger.number)
        if last is None or clock.now() - last > LATELY:
            continue
        end = hour_of(last)
        others = _comparable(one, stands)
        air = _air([one.logger, *(stand.logger for stand in others)], end - 24 * (NOW_DAYS + BEFORE_DAYS), end)
        lags = [(stand, lag) for stand in others if (lag := _lag(one, stand, air, _moment(end))) is not None]
        if not lags or (len(lags) == 1 and one.logger.number > lags[0][0].logger.number):
            continue
        late = median(jump for _, (jump, _) in lags)
        if abs(late) >= LEAST_LAG:
            told = {"hours": round(late, 1), "correlation": round(min(now.correlation for _, (_, now) in lags), 2), "others": len(lags)}
            only = lags[0][0].logger if len(lags) == 1 else None
            yield Doubt(K.CLOCK, one.logger, _moment(end - 24 * NOW_DAYS), _moment(end), told, only)


def _lag(one: Stand, other: Stand, air: dict[int, tuple[Floats, Floats]], end: datetime) -> tuple[float, ClockError] | None:
    """How much later than before it is against the other; in one room what it is. None where nothing can be told."""
    mine, theirs = air[one.logger.number][0], air[other.logger.number][0]
    before = slice(0, 24 * BEFORE_DAYS)
    try:
        now = clock_error(mine[before.stop :], theirs[before.stop :])
        least = LEAST_OUTDOORS if one.outdoors else LEAST_COMMON
        if now.correlation < least:
            return None
        if one.room == other.room and not one.outdoors:
            return now.late, now
        if max(one.since, other.since) > end - (NOW_DAYS + BEFORE_DAYS) * DAY:
            return None
        usual = clock_error(mine[before], theirs[before])
        halves = [clock_error(mine[half], theirs[half]).late for half in (slice(0, before.stop // 2), slice(before.stop // 2, before.stop))]
    except NoValue:
        return None
    # A slow room answers the weather late, and in one season later than in another: a lag that wandered before says nothing now.
    if abs(halves[0] - halves[1]) > STEADY:
        return None
    return (now.late - usual.late, now) if usual.correlation >= least else None


def _swaps(stands: Sequence[Stand]) -> Iterator[Doubt]:
    """Of loggers of two rooms whose files were fetched together: whether they went back into each other's place."""
    rows = ClimateFile.objects.filter(state=ClimateFile.State.DONE, last_at__gt=clock.now() - 2 * LATELY, logger__in=[stand.logger for stand in stands])
    fetched = defaultdict[UUID, list[datetime]](list)
    for logger, last in rows.values_list("logger", "last_at"):
        if last:
            fetched[logger].append(last)
    for one, other in combinations(stands, 2):
        if one.room == other.room:
            continue
        found = [doubt for doubt in (_swap(one, other, at) for at in _together(fetched[one.logger.pk], fetched[other.logger.pk])) if doubt]
        yield from sorted(found, key=lambda doubt: -doubt.evidence["as_they_are"])[:1]


def _together(some: Sequence[datetime], others: Sequence[datetime]) -> list[datetime]:
    return [at for at in some if any(abs(at - then) < TOGETHER for then in others)]


def _swap(one: Stand, other: Stand, at: datetime) -> Doubt | None:
    if max(one.since, other.since) > at - SWAP_DAYS * DAY:
        return None
    middle = hour_of(at) // 24 * 24 + 24
    begin, end = middle - 24 * SWAP_DAYS - 24, middle + 24 * SWAP_DAYS
    air = _air([one.logger, other.logger], begin, end)
    pair = [np.array([t, vapour_pressure(t, rh)]) for t, rh in (air[stand.logger.number] for stand in (one, other))]
    cut, after = 24 * SWAP_DAYS, 24 * SWAP_DAYS + 24
    try:
        found = swapped((pair[0][:, :cut], pair[1][:, :cut]), (pair[0][:, after:], pair[1][:, after:]))
    except NoValue:
        return None
    if not found.suspected or found.as_they_are < BETTER * found.exchanged:
        return None
    told = {"as_they_are": round(found.as_they_are, 1), "exchanged": round(found.exchanged, 1), "at": at.isoformat()}
    return Doubt(K.SWAPPED, one.logger, at, _moment(end), told, other.logger)


def _by_itself(stand: Stand) -> Iterator[Doubt]:
    """What a record shows without any other: humidity that stands still, channels made from each other."""
    series = queries.readings(stand.logger, clock.now() - LATELY, clock.now())
    known = ~np.isnan(series.rh)
    at, t, rh = series.at[known], series.t[known], series.rh[known]
    if not len(at):
        return
    if mirrored(t, rh):
        yield Doubt(K.MIRRORED, stand.logger, _second(at[0]), _second(at[-1] + 1), {"readings": len(at)})
        return
    for spell in stuck(at, t, rh)[-1:]:
        told = {"hours": round(spell.hours), "value": round(float(rh[spell.first]), 1)}
        yield Doubt(K.STUCK, stand.logger, _second(at[spell.first]), _second(at[spell.last] + 1), told)


def _salts(logger: Logger) -> Iterator[Doubt]:
    """A check that found it farther off than such sensors are, or than it was at the check before: what was read since is open."""
    checks = standing(Calibration.objects.filter(logger=logger))
    if not checks or clock.now() - instant_of(checks[-1]) > CHECK_HOLDS:
        return
    last, before = checks[-1], checks[-2] if len(checks) > 1 else None
    off = max((showed - true for showed, true in last.points), key=abs)
    changed = max((showed - (before.slope * true + before.offset) for showed, true in last.points), key=abs) if before else 0.0
    if abs(off) <= USUAL_ERROR and abs(changed) <= CHANGED:
        return
    first = LoggerStay.objects.filter(logger=logger).order_by("during").values_list("during", flat=True).first()
    begin = instant_of(before) if before else first.lower if first else None
    if begin is not None and begin < instant_of(last):
        yield Doubt(K.SALTS, logger, begin, instant_of(last), {"off": round(off, 1), "changed": round(changed, 1), "before": before is not None})


def _air(loggers: Sequence[Logger], begin: int, end: int) -> dict[int, tuple[Floats, Floats]]:
    """t and corrected rh, hour after hour, by number; humidity that stands still says nothing of another."""
    found = queries.counted(loggers, _moment(begin - MARGIN), _moment(end + MARGIN))
    humidity = {one.number: queries.corrected_rh(one, found[one.number]) for one in loggers}
    for number, series in found.items():
        for spell in stuck(series.at, series.t, series.rh) if len(series.at) else ():
            humidity[number][spell.first : spell.last + 1] = np.nan
    return {one.number: hours_from(found[one.number], humidity[one.number], one.interval, begin, end) for one in loggers}


def _moment(hour: int) -> datetime:
    return datetime.fromtimestamp(hour * HOUR, UTC)


def _second(at: int) -> datetime:
    return datetime.fromtimestamp(int(at), UTC)


def _day(begin: int, day: int) -> datetime:
    return _moment(begin + 24 * day)
