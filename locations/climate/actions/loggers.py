"""Loggers: made, changed, put somewhere, checked against salts, told to speak for a place, judged."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import Any, Final
from uuid import UUID
from zoneinfo import available_timezones

from django.db import IntegrityError, transaction
from django.db.models import Max, Min
from django.utils.translation import gettext_lazy as _

from locations.climate import spans
from locations.climate.days import LOGGERS, demand_not_before
from locations.climate.models import Calibration, ClimateFile, Coverage, Logger, Placement, Rival, Verdict
from locations.climate.science.calibration import one_point_correction, two_point_correction
from locations.climate.science.values import NoValue
from locations.climate.sentences import figure
from locations.places.models import Place
from museum import clock
from museum.errors import DomainError, Invalid, NotFound
from museum.history.record import lock
from museum.people.action import Act, action, claim_version

#: % between what a logger shows and what is true, beyond which it is mistyped or the sensor dead (such sensors are off by up to 3)
FARTHEST: Final = 20.0


class ChosenMeanwhile(DomainError):
    """Of two values somebody else has said what holds since this person looked."""

    code = "chosen_meanwhile"
    template = _("%(who)s said it meanwhile: %(says)s. If it is to be otherwise all the same, say it again.")


class LoggerTaken(DomainError):
    """Two loggers in use would have one name or serial number."""

    code = "logger_taken"
    template = _("Another logger in use has this name or serial number. Give this one its own, as on its label.")


@action("climate.make_logger", may="climate.set_up")
def make_logger(
    act: Act, *, logger_id: UUID, name: str, serial: str = "", clock_kind: str = "", zone: str = "", interval: int = 3600, silent_after: int = 35,
    battery_on: date | None = None,
) -> Logger:  # fmt: skip
    """A new logger. Raises Invalid, LoggerTaken."""
    said = _said(name, serial, clock_kind, zone, interval, silent_after, battery_on)
    lock("loggers")
    number = (Logger.objects.aggregate(last=Max("number"))["last"] or 0) + 1
    logger = Logger(id=logger_id, number=number, made_at=act.now, **said)
    _save(logger, new=True)
    act.wrote("logger.made", logger, after=said, about=[logger])
    return logger


@action("climate.change_logger", may="climate.set_up")
def change_logger(
    act: Act, logger_id: UUID, *, version: int, name: str, serial: str, clock_kind: str, zone: str, interval: int, silent_after: int,
    battery_on: date | None, ended_on: date | None = None,
) -> Logger:  # fmt: skip
    """Changes what is told of a logger, or (`ended_on`) that it is out of use. Raises Invalid, NotFound, LoggerTaken, VersionConflict."""
    mine = _said(name, serial, clock_kind, zone, interval, silent_after, battery_on) | {"ended_on": ended_on}
    _demand_been(ended_on, "ended_on")
    logger = claim_version(Logger.objects.all(), logger_id, version, mine)
    before = {field: getattr(logger, field) for field in mine}
    for field, value in mine.items():
        setattr(logger, field, value)
    logger.version += 1
    _save(logger, new=False)
    act.wrote("logger.changed", logger, before=before, after=mine, about=[logger])
    return logger


def _said(name: str, serial: str, clock_kind: str, zone: str, interval: int, silent_after: int, battery_on: date | None) -> dict[str, Any]:
    if not name.strip():
        raise Invalid(_("A logger needs a name, as on its label."), field="name")
    if clock_kind and clock_kind not in Logger.Clock.values:
        raise Invalid(_("Choose what its clock shows."), field="clock_kind")
    if zone and zone not in available_timezones():
        raise Invalid(_("%(zone)s is no time zone. Write it as in Europe/London, or leave it empty."), field="zone", zone=zone)
    if not 1 <= interval <= 86_400 or not 1 <= silent_after <= 400:
        raise Invalid(_("Between two readings lie 1 second to a day; a file is fetched at the latest after 400 days."), field="interval")
    _demand_been(battery_on, "battery_on")
    return {
        "name": name.strip(), "serial": serial.strip().upper(), "clock_kind": clock_kind, "zone": zone, "interval": interval,
        "silent_after": silent_after, "battery_on": battery_on,
    }  # fmt: skip


def _demand_been(day: date | None, field: str) -> None:
    if day is None:
        return
    if day > clock.today():
        raise Invalid(_("This day is still to come: a battery was changed, or a logger taken out of use, on a day that was."), field=field)
    demand_not_before(LOGGERS, day, field)


def _save(logger: Logger, *, new: bool) -> None:
    try:
        with transaction.atomic():
            logger.save(force_insert=new)
    except IntegrityError:
        raise LoggerTaken from None


@action("climate.place_logger", may="climate.set_up")
def place_logger(act: Act, logger_id: UUID, *, place_id: UUID | None, at: datetime | None = None, note: str = "") -> Placement:
    """A logger was put somewhere (no place: taken away) at an instant, else now. Raises Invalid, NotFound."""
    logger = held(logger_id)
    place = _place(place_id) if place_id else None
    fact = Placement.objects.create(act_id=act.id, logger=logger, place=place, by_id=act.actor.person, note=note.strip(), **_when(act, at))
    after = {"place": place.code if place else None, "at": fact.happened_at}
    act.wrote("logger.placed", fact, after=after, about=[logger, *([place] if place else [])])
    spans.recut_logger(logger.pk)
    return fact


@action("climate.correct_placement", may="climate.set_up")
def correct_placement(act: Act, placement_id: UUID, *, reason: str, place_id: UUID | None = None, at: datetime | None = None) -> Placement:
    """A placement was told wrongly: it was there, then (`place_id`, `at`), or without a place it never happened. Raises Invalid, NotFound."""
    old = Placement.objects.filter(pk=placement_id, corrected_by=None, withdraws=False).first()
    if old is None:
        raise NotFound
    if not reason.strip():
        raise Invalid(_("Say what was wrong."), field="reason")
    logger = held(old.logger_id)
    place = _place(place_id) if place_id else None
    when = _when(act, at) if at else {"happened_on": old.happened_on, "happened_at": old.happened_at}
    fact = Placement.objects.create(
        act_id=act.id, logger=logger, place=place or old.place, by_id=act.actor.person, note=reason.strip(), corrects=old, withdraws=place is None, **when,
    )  # fmt: skip
    act.wrote("logger.placement_corrected", fact, before={"place": old.place_id}, after={"place": place_id}, reason=reason.strip(), about=[logger])
    spans.recut_logger(logger.pk)
    return fact


@action("climate.calibrate", may="climate.set_up")
def calibrate(act: Act, logger_id: UUID, *, points: Sequence[tuple[float, float]], at: datetime | None = None, note: str = "") -> Calibration:
    """A logger was checked at one or two known humidities, each (what it showed, what was true) in %. Holds forward from then.

    Raises Invalid, NotFound.
    """
    logger = held(logger_id)
    if not 1 <= len(points) <= 2:
        raise Invalid(_("Give one point or two: what the logger showed, and what was true."), field="points")
    for showed, true in points:
        if abs(showed - true) > FARTHEST and max(showed, true) <= 103:
            raise Invalid(
                _("It showed %(showed)s where %(true)s %% was true. Look whether one is mistyped; a sensor that far off is replaced, not corrected."),
                field="points", showed=figure(showed), true=figure(true),
            )  # fmt: skip
    try:
        found = two_point_correction(*points) if len(points) == 2 else one_point_correction(*points[0])
    except NoValue as wrong:
        raise Invalid(_POINTS.get(wrong.code, _POINTS["outside_range"]), field="points") from None
    fact = Calibration.objects.create(
        act_id=act.id, logger=logger, slope=found.slope, offset=found.offset, low=found.low, high=found.high, points=[list(point) for point in points],
        by_id=act.actor.person, note=note.strip(), **_when(act, at),
    )  # fmt: skip
    act.wrote("logger.calibrated", fact, after={"points": fact.points, "slope": fact.slope, "offset": fact.offset}, about=[logger])
    spans.recut_logger(logger.pk)
    return fact


_POINTS = {
    "points_too_near": _("The two humidities lie too near each other. Take two salts at least 20 %% apart, below and above what the room has."),
    "points_contradict": _("The two points contradict each other. Look at which reading belongs to which salt, and check again."),
    "outside_range": _("A humidity lies above 0 and up to 100 %%; a logger shows 0 to 103."),
}


@action("climate.cover", may="climate.set_up")
def cover(act: Act, place_id: UUID, *, logger_id: UUID | None, at: datetime | None = None, reason: str = "") -> Coverage:
    """A logger speaks for a place from an instant on; without one, the nearest up the tree again. Raises Invalid, NotFound."""
    place = _place(place_id)
    lock(f"place:{place_id}")
    logger = held(logger_id) if logger_id else None
    fact = Coverage.objects.create(act_id=act.id, place=place, logger=logger, by_id=act.actor.person, reason=reason.strip(), **_when(act, at))
    act.wrote("place.heard_by", fact, after={"logger": logger.name if logger else None}, reason=reason.strip(), about=[place, *([logger] if logger else [])])
    spans.recut_place(place_id)
    return fact


@action("climate.judge_readings", may="climate.set_up")
def judge_readings(act: Act, logger_id: UUID, *, begin: datetime, end: datetime, says: str, reason: str) -> Verdict:
    """What somebody found about the readings from `begin` to before `end`; it stands beside them. Raises Invalid, NotFound."""
    logger = held(logger_id)
    if end <= begin or says not in Verdict.OF_ALL:
        raise Invalid(_("Give a begin, a later end, and what you found."), field="end")
    demand_not_before(LOGGERS, begin, "begin")
    if end > clock.start_of(clock.day_of(act.now) + timedelta(days=1)):
        raise Invalid(_("What is not yet read cannot be judged: let it end today."), field="end")
    return _judged(act, logger, begin=begin, end=end, says=says, reason=reason)


@action("climate.choose_value", may="climate.set_up")
def choose_value(act: Act, logger_id: UUID, *, file_id: UUID, says: str, reason: str, seen: UUID | None = None) -> Verdict:
    """Of the instants of which a file brought another value than was in: the first holds, that of the file, or neither.

    It may be said again otherwise: the last word counts, said by somebody who has `seen` the one before. Raises Invalid, NotFound, ChosenMeanwhile.
    """
    logger = held(logger_id)
    file = ClimateFile.objects.filter(pk=file_id).first()
    others = Rival.objects.filter(logger=logger.number, file=file.number if file else 0).aggregate(first=Min("at"), last=Max("at"))
    if others["first"] is None:
        raise NotFound
    if says not in Verdict.OF_TWO:
        raise Invalid(_("Say which of the two values holds."), field="says")
    last = Verdict.objects.filter(logger=logger, file=file, corrected_by=None, withdraws=False).select_related("by").order_by("recorded_at", "id").last()
    if last is not None and last.pk != seen:
        raise ChosenMeanwhile(who=last.by.name if last.by else _("The program"), says=last.get_says_display(), stands=last.pk)
    return _judged(act, logger, begin=others["first"], end=others["last"] + timedelta(seconds=1), says=says, reason=reason, file=file)


def _judged(act: Act, logger: Logger, *, begin: datetime, end: datetime, says: str, reason: str, file: ClimateFile | None = None) -> Verdict:
    if not reason.strip():
        raise Invalid(_("Say why."), field="reason")
    fact = Verdict.objects.create(
        act_id=act.id, logger=logger, begin=begin, end=end, says=says, file=file, reason=reason.strip(), by_id=act.actor.person,
        happened_on=clock.day_of(act.now), happened_at=act.now, recorded_at=act.now,
    )  # fmt: skip
    after = {"begin": begin, "end": end, "says": says} | ({"file": file.name} if file else {})
    act.wrote("readings.judged", fact, after=after, reason=reason.strip(), about=[logger])
    return fact


def held(logger_id: UUID) -> Logger:
    """The logger, locked: its spans and readings change under this lock only. Raises NotFound."""
    lock(f"logger:{logger_id}")
    logger = Logger.objects.filter(pk=logger_id).first()
    if logger is None:
        raise NotFound
    return logger


def _place(place_id: UUID) -> Place:
    place = Place.objects.filter(pk=place_id).first()
    if place is None:
        raise Invalid(_("Choose the place from the list."), field="place")
    return place


def _when(act: Act, at: datetime | None) -> dict[str, Any]:
    """The instant of a fact: told, else now. Raises Invalid for one to come."""
    instant = at or act.now
    if instant > act.now:
        raise Invalid(_("This lies in the future. Record it when it has happened."), field="at")
    demand_not_before(LOGGERS, instant, "at")
    return {"happened_at": instant, "happened_on": clock.day_of(instant), "recorded_at": act.now}
