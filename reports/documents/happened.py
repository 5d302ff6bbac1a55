"""What happened to the climate of the house in a time, day by day, a line each: outbreaks, red alarms, machines, loggers moved, holes in the record."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise
from typing import Any, Final

from django.db.models import Q
from django.utils import formats
from django.utils.translation import gettext as _

from conservation.checks.models import Incident
from locations.climate.actions.alarms import standing_alarms
from locations.climate.alarm_lines import words_of
from locations.climate.machines import Trouble, troubles
from locations.climate.models import ClimateAlarm, Logger, LoggerStay, Placement
from locations.climate.queries import speaks_for
from locations.climate.spans import instant_of, standing
from locations.places.models import Place
from museum import clock
from museum.history.models import Change
from reports.documents.periods import Period

#: a paper tells so many; what is beyond is counted
MOST: Final = 60
#: a new battery from the day after a hole began to so many days after its end is told with it
NEAR: Final = 3


@dataclass(frozen=True, slots=True)
class Event:
    """A day and what happened, in words."""

    on: date
    words: str

    @property
    def row(self) -> dict[str, str]:
        return {"on": self.on.isoformat(), "words": self.words}


def happened(span: Period, rooms: Sequence[dict[str, Any]], places: Sequence[Place]) -> dict[str, Any]:
    """The lines, by day; `rooms` with their holes as the report tells them, `places` in the same order."""
    found = [*_incidents(span), *_alarms(span), *_machines(span, places), *_loggers(span), *_holes(span, rooms, places)]
    rows = [one.row for one in sorted(found, key=lambda one: one.on)]
    return {"lines": rows[:MOST], "more": max(0, len(rows) - MOST)}


def _day(day: date) -> str:
    return str(formats.date_format(day, "j F Y"))


def _joined(*sentences: str) -> str:
    return " ".join(one for one in sentences if one)


def _incidents(span: Period) -> Iterator[Event]:
    """Outbreaks that went on in these days."""
    rows = Incident.objects.filter(Q(closed_on=None) | Q(closed_on__gte=span.first), opened_on__lte=span.last).select_related("place")
    for row in rows.order_by("opened_on", "place__path_key"):
        what = _("%(what)s in %(place)s.") % {"what": row.get_kind_display().capitalize(), "place": row.place.name}
        source = _("It came from: %(source)s.") % {"source": row.source.rstrip(".")} if row.source else _("Where it came from is not found.")
        yield Event(row.opened_on, _joined(what, source, _over(row.closed_on)))


def _over(day: date | None) -> str:
    return _("Over since %(day)s.") % {"day": _day(day)} if day else _("Not over.")


def _alarms(span: Period) -> Iterator[Event]:
    """Red ones that went on in these days, of what lies in the house."""
    begin, end = clock.start_of(span.first), clock.start_of(span.last + timedelta(days=1))
    rows = standing_alarms().filter(Q(ended_at=None) | Q(ended_at__gt=begin), level=ClimateAlarm.Level.RED, begin__lt=end).select_related("place")
    for row in rows.order_by("begin", "place__path_key", "kind"):
        said = _("Red alarm of %(kind)s, %(place)s: %(words)s.") % {"kind": row.get_kind_display(), "place": row.place.name, "words": words_of(row)}
        yield Event(clock.day_of(row.begin), _joined(said, _over(clock.day_of(row.ended_at) if row.ended_at else None)))


def _machines(span: Period, places: Sequence[Place]) -> Iterator[Event]:
    for one in troubles(places, span.first, min(span.last, clock.today())):
        yield Event(one.day, _joined(*_of_machine(one), _noted(one.notes)))


def _noted(notes: Sequence[str]) -> str:
    return _("Written down: %(notes)s") % {"notes": "; ".join(notes)} if notes else ""


def _of_machine(one: Trouble) -> list[str]:
    again = _("The usual came again on %(day)s.") % {"day": _day(one.again)} if one.again else _("The usual has not come again.")
    if one.rise is not None:
        said = _("Much more water than usual in the tank in %(place)s, %(rate)s litres a day in place of %(usual)s: a leak until shown otherwise.")
        why = _("The weather does not explain it.") if one.rise.weather else _("Warm wet weather does it too; what it was is not known.")
        figures = {"rate": formats.number_format(one.rise.rate, 1), "usual": formats.number_format(one.rise.expected, 1)}
        return [said % {"place": one.place.name, **figures}, why, again]
    last = _("The dehumidifier in %(place)s: its usual litres were emptied last on this day.") % {"place": one.place.name}
    silent = one.stopped is not None and one.stopped.silent
    return [last, _("After it nobody wrote any: it may have stood still.") if silent else _("After it there was next to nothing in the tank."), again]


def _loggers(span: Period) -> Iterator[Event]:
    """Those that were put somewhere, moved or taken away."""
    rows = standing(Placement.objects.filter(happened_on__lte=span.last).select_related("logger", "place"))
    by_logger: dict[Any, list[Placement | None]] = {}
    for row in rows:
        by_logger.setdefault(row.logger_id, [None]).append(row)
    for before, now in (pair for each in by_logger.values() for pair in pairwise(each)):
        on = clock.day_of(instant_of(now)) if now else span.last
        if now is not None and on >= span.first:
            yield Event(on, _joined(_moved(before.place if before else None, now), _noted([now.note] if now.note else [])))


def _moved(before: Place | None, now: Placement) -> str:
    names = {"logger": now.logger.name, "before": before.name if before else "", "now": now.place.name if now.place else ""}
    if now.place is None:
        return _("Logger %(logger)s was taken away from %(before)s.") % names if before else _("Logger %(logger)s was taken away.") % names
    return _("Logger %(logger)s was moved from %(before)s to %(now)s.") % names if before else _("Logger %(logger)s was put into %(now)s.") % names


def _holes(span: Period, rooms: Sequence[dict[str, Any]], places: Sequence[Place]) -> Iterator[Event]:
    """Stretches of a day or more of which nothing is known though a logger spoke for the room, with the new battery that ended them.

    A hole in one record is told once, of the first of the places for which it speaks.
    """
    new, said, silent = _new_batteries(places, span), set[tuple[str, str, int]](), dict[date, list[str]]()
    for place, room in zip(places, rooms, strict=True):
        for hole in room["holes"]["named"] if room["whole"]["known"] else []:
            begin, end = (datetime.fromisoformat(hole[name]) for name in ("begin", "end"))
            voices = speaks_for(place.pk, begin + timedelta(hours=1))
            records = {(hole["begin"], hole["end"], one.number) for one in voices}
            if records <= said:
                continue
            said |= records
            if end >= min(clock.start_of(span.last + timedelta(days=1)), clock.now() - timedelta(hours=1)):
                # The file of the last days has not been fetched yet: that is no silence.
                if all(clock.now() - begin < timedelta(days=one.silent_after) for one in voices):
                    continue
                silent.setdefault(clock.day_of(begin), []).append(place.name)
            else:
                names = {"place": place.name, "hours": hole["hours"], "end": _day(clock.day_of(end))}
                words = _("Nothing is known of %(place)s for %(hours)s hours, to %(end)s.") % names
                yield Event(clock.day_of(begin), _joined(words, *_battery(new.get(place.pk, []), begin, end)))
    for day, names_of in silent.items():
        yield Event(day, _("No reading after this day has come of: %(places)s.") % {"places": ", ".join(names_of)})


def _battery(changed: Iterable[tuple[str, date]], begin: datetime, end: datetime) -> Iterator[str]:
    first, last = clock.day_of(begin), clock.day_of(end) + timedelta(days=NEAR)
    for logger, day in changed:
        if first < day <= last:
            yield _("Logger %(logger)s got a new battery on %(day)s.") % {"logger": logger, "day": _day(day)}


def _new_batteries(places: Sequence[Place], span: Period) -> dict[Any, list[tuple[str, date]]]:
    """Of the loggers that stood in each place in these days: the days of new batteries, as they were told."""
    stays = LoggerStay.objects.filter(place__in=places, during__overlap=(clock.start_of(span.first), clock.start_of(span.last + timedelta(days=1))))
    stood = {(stay.place_id, stay.logger) for stay in stays.select_related("logger")}
    told: dict[str, set[date]] = {}
    keys = {f"logger:{logger.pk}": logger for _, logger in stood}
    for subject, after in Change.objects.filter(subject__in=keys, what="logger.changed").values_list("subject", "after"):
        day = (after or {}).get("battery_on")
        told.setdefault(subject, set()).update([date.fromisoformat(day)] if day else [])
    found: dict[Any, list[tuple[str, date]]] = {}
    for place, logger in sorted(stood, key=lambda one: one[1].name):
        found.setdefault(place, []).extend((logger.name, day) for day in sorted(told.get(f"logger:{logger.pk}", set()) | _now(logger)))
    return found


def _now(logger: Logger) -> set[date]:
    return {logger.battery_on} if logger.battery_on else set()
