"""The air of a place over some days as papers tell it: figures, months, holes, a drawing; rounded, and nothing asked of the database after."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Any, Final
from uuid import UUID

import numpy as np
from django.utils import formats
from django.utils.translation import gettext as _

from locations.climate import sums
from locations.climate.air import Air, air_of
from locations.climate.charts import room as charts
from locations.climate.charts.drawing import Said
from locations.climate.dials import dials_of
from locations.climate.hearing import HOUR, hour_of
from locations.climate.models import Calibration, Logger, LoggerStay, Spot
from locations.climate.queries import standing_spots
from locations.climate.science.lived import DAMP
from locations.climate.science.series import ENOUGH, ENOUGH_OF_YEAR, LEAST_FOR_SHARES, month_usable
from locations.climate.science.values import Flags, Floats
from locations.places.models import Place
from locations.places.queries import path_of
from museum import clock
from museum.errors import NotFound
from reports.documents.periods import Period

#: a hole as long as this is named by its days, h
NAMED_HOLE: Final = 24
#: more holes than this are counted, the longest named
MOST_HOLES: Final = 30
#: a check against known humidity counts as old after so many days (house rule of the reference: every 12 months)
CHECK_HOLDS: Final = 366
FORMATS: Final = {"hour": "H:i", "day": "j M", "week": "j M", "month": "M", "year": "Y"}


@dataclass(frozen=True)
class RoomAir:
    """A place, the days asked for, and the air of them up to now."""

    path: Sequence[Place]
    span: Period
    air: Air

    @property
    def place(self) -> Place:
        return self.path[0]

    @cached_property
    def whole(self) -> sums.Sum:
        return sums.summed(self.span.first, self.air.hour_t, self.air.hour_rh)

    @cached_property
    def months(self) -> list[sums.Sum]:
        edges = [(day, _hour(max(day, self.span.first))) for day in sums.firsts(self.span.first, self.span.last)]
        return sums.by_month(edges, self.air.begin, self.air.hour_t, self.air.hour_rh)

    @cached_property
    def lost_days(self) -> set[date]:
        """Days of which under 75 % of the hours are known."""
        days = [self.span.first + timedelta(days=n) for n in range(self.span.days + 1)]
        found = sums.by_day([(day, _hour(day)) for day in days], self.air.begin, np.where(self.air.known, self.air.hour_rh, np.nan))
        hours = {one.on: _hour(one.on + timedelta(days=1)) - _hour(one.on) for one in found}
        return {one.on for one in found if hours[one.on] - one.unknown < ENOUGH * hours[one.on]}

    @cached_property
    def read(self) -> Flags:
        """Hours of which enough was read; the other known ones were put between their neighbours."""
        expected = max(1, HOUR * 3 // 2 // max(1, round(self.air.widest)))
        there = self.air.at[~np.isnan(self.air.rh) & ~np.isnan(self.air.t)] // HOUR - self.air.begin
        count = np.bincount(there[(there >= 0) & (there < len(self.air.hour_rh))], minlength=len(self.air.hour_rh))
        return self.air.known & (count >= ENOUGH * expected)

    @property
    def t(self) -> Floats:
        """°C of the hours as read, for what is no index."""
        return np.where(self.read, self.air.hour_t, np.nan)

    @property
    def rh(self) -> Floats:
        """% of the hours as read."""
        return np.where(self.read, self.air.hour_rh, np.nan)

    @property
    def trust(self) -> str:
        """What the figures are worth: '' good, `partly` (under 90 % known, or a month under 75 %), `little` (under 75 %), `short` (under 30 days)."""
        if self.whole.known * HOUR < LEAST_FOR_SHARES:
            return "short"
        if self.whole.known < ENOUGH * self.whole.hours:
            return "little"
        whole = self.whole.known >= ENOUGH_OF_YEAR * self.whole.hours and all(one.known >= ENOUGH * one.hours for one in self.months)
        return "" if whole else "partly"


def room_air(place_id: UUID, span: Period) -> RoomAir:
    """Raises NotFound for a place that is no room and where no logger ever stood."""
    path = path_of(place_id)
    if not path or (path[0].level != Place.Level.ROOM and not LoggerStay.objects.filter(place=place_id).exists()):
        raise NotFound
    begin, end = _hour(span.first), min(_hour(span.last + timedelta(days=1)), int(clock.now().timestamp()) // HOUR)
    return RoomAir(path, span, air_of(path, begin, max(end, begin + 1)))


def place_name(path: Sequence[Place]) -> dict[str, str]:
    """The room, and the building it is in."""
    building = next((place.name for place in path if place.level == Place.Level.BUILDING), "")
    return {"name": path[0].name, "code": path[0].code, "building": "" if building == path[0].name else building}


def figures(one: sums.Sum) -> dict[str, Any]:
    """Mean, lowest and highest, damp hours, the longest run, what is known: as they stand in a table."""
    return {
        "hours": one.hours, "known": one.known, "unknown": one.unknown, "coverage": one.coverage, "rh": _three(one.rh), "t": _three(one.t), "damp": one.damp,
        "share": round(100 * one.damp / one.known) if one.known else None,
        "longest": one.longest.hours if one.longest else 0, "at_least": bool(one.longest and one.longest.at_least),
    }  # fmt: skip


def _three(values: tuple[float, float, float] | None) -> list[str]:
    return [f"{value:.1f}" for value in values] if values else []


def month_rows(found: RoomAir) -> list[dict[str, Any]]:
    """The figures month by month; `whole` unless more than 5 days, or more than 3 in a row, are lost."""
    rows = []
    for one in found.months:
        lost = [day.toordinal() for day in found.lost_days if (day.year, day.month) == (one.first.year, one.first.month)]
        rows.append({"month": max(one.first, found.span.first).isoformat(), "whole": month_usable(lost)} | figures(one))
    return rows


def marked(rows: Sequence[dict[str, Any]]) -> bool:
    """Whether a month is not whole, or a run may be longer than its month tells."""
    return any(row["known"] and (not row["whole"] or (row["at_least"] and row["longest"])) for row in rows)


def run_words(found: RoomAir) -> dict[str, Any] | None:
    """The longest time above 65 % without a break, with its beginning and end."""
    run = found.whole.longest
    if run is None:
        return None
    begin, end = (_moment(found.air.begin + hour) for hour in (run.begin, run.end))
    return {"hours": run.hours, "at_least": run.at_least, "begin": begin.isoformat(), "end": end.isoformat()}


def percentiles(values: Floats) -> list[str]:
    """What 5, 50 and 95 of a hundred hours lie below; nothing of under 30 days."""
    known = values[~np.isnan(values)]
    if len(known) * HOUR < LEAST_FOR_SHARES:
        return []
    return [f"{value:.1f}" for value in np.percentile(known, (5, 50, 95))] if len(known) else []


def holes(found: RoomAir) -> dict[str, Any]:
    """Hours of which nothing is known: each stretch of a day or more by its days, the shorter ones in one sum."""
    unknown = ~found.air.known
    edges = np.diff(np.concatenate(([0], unknown.astype(np.int8), [0])))
    pairs = list(zip(np.flatnonzero(edges == 1).tolist(), np.flatnonzero(edges == -1).tolist(), strict=True))
    long = sorted((pair for pair in pairs if pair[1] - pair[0] >= NAMED_HOLE), key=lambda pair: pair[0] - pair[1])
    named = sorted(long[:MOST_HOLES])
    rest = [pair for pair in pairs if pair not in named]
    return {
        "named": [{"begin": _moment(found.air.begin + a).isoformat(), "end": _moment(found.air.begin + b).isoformat(), "hours": b - a} for a, b in named],
        "others": len(rest), "other_hours": sum(b - a for a, b in rest),
    }  # fmt: skip


def loggers(found: RoomAir) -> list[dict[str, Any]]:
    """Who read it, how often, and the check that counted last in these days."""
    return [_logger(one, found.span.last) for one in found.air.loggers]


def _logger(one: Logger, until: date) -> dict[str, Any]:
    checks = Calibration.objects.filter(logger=one, corrected_by=None, withdraws=False, happened_on__lte=until)
    last = checks.order_by(*Calibration.ORDER).last()
    return {
        "name": one.name, "serial": one.serial, "minutes": one.interval // 60, "checked_on": last.happened_on.isoformat() if last else "",
        "old": bool(last and (until - last.happened_on).days > CHECK_HOLDS),
        "points": [[f"{showed:.1f}", f"{true:.1f}"] for showed, true in last.points] if last else [],
    }  # fmt: skip


def dials(place_id: UUID, span: Period) -> dict[str, Any]:
    """What people read at the dial: how often, between what, and what it tells of damp; of the time between them nothing."""
    found = dials_of(place_id, clock.start_of(span.first), clock.start_of(span.last + timedelta(days=1)))
    rows, verdict = [row for row in found.spots if row.rh is not None], found.verdict
    months: dict[str, list[Spot]] = {}
    for row in rows:
        months.setdefault(max(row.happened_on.replace(day=1), span.first).isoformat(), []).append(row)
    told = {"verdict": verdict.verdict if verdict else "few" if rows else "", "months": [{"month": month} | _of_dials(read) for month, read in months.items()]}
    return _of_dials(rows) | told


def _of_dials(rows: Sequence[Spot]) -> dict[str, Any]:
    rh, t = [row.rh for row in rows if row.rh is not None], [row.t for row in rows if row.t is not None]
    return {
        "count": len(rh), "damp": sum(value > DAMP for value in rh), "rh": [f"{min(rh):g}", f"{max(rh):g}"] if rh else [],
        "t": [f"{min(t):g}", f"{max(t):g}"] if t else [],
    }  # fmt: skip


def machine(place_id: UUID, span: Period) -> dict[str, Any]:
    """Litres emptied, month by month and in all; insects of the traps that were counted; what people wrote beside it, the last five."""
    rows = list(standing_spots().filter(place=place_id, happened_on__range=(span.first, span.last)).order_by("happened_at", "recorded_at"))
    litres: dict[str, float] = {}
    for row in rows:
        if row.litres is not None:
            month = max(row.happened_on.replace(day=1), span.first).isoformat()
            litres[month] = litres.get(month, 0.0) + row.litres
    counted = [row.insects for row in rows if row.insects is not None]
    return {
        "litres": [{"month": month, "litres": f"{much:.1f}"} for month, much in litres.items()],
        "all_litres": f"{sum(litres.values()):.0f}" if litres else "", "insects": sum(counted), "trapped": len(counted),
        "notes": [{"on": row.happened_on.isoformat(), "words": row.note, "by": row.by.name if row.by else ""} for row in rows if row.note][-5:],
    }  # fmt: skip


def drawing(found: RoomAir, key: str) -> str:
    """Humidity and temperature as two lines, holes crossed out, hand readings as marks that nothing joins: an SVG of ours; '' where nothing was read."""
    air, by_hand = found.air, dials_of(found.place.pk, clock.start_of(found.span.first), clock.start_of(found.span.last + timedelta(days=1)))
    if found.whole.rh is None and not by_hand:
        return ""
    words = {"rh": _("Humidity, %"), "t": _("Temperature, °C (broken line)"), "damp": _("Dotted: 65 %, damp above"), "hand": _("By hand")}
    title = _("Humidity and temperature of %(place)s") % {"place": found.place.name}
    frame = charts.Frame(air.begin * HOUR, air.end * HOUR, clock.zone(), _say, words)
    marks = charts.Dials(by_hand.at, by_hand.t, by_hand.rh) if by_hand else charts.NO_DIALS
    return charts.lines(Said(key, title, _in_words(found.whole)), charts.Air(air.at, air.t, air.rh, air.widest), frame, None, marks)


def _in_words(whole: sums.Sum) -> str:
    """What the lines show, for those who do not see them."""
    if whole.rh is None or whole.t is None:
        return _("No logger spoke for this place in this time.")
    return _("Humidity between %(low).0f and %(high).0f %%, mean %(mean).0f %%; temperature between %(cold).1f and %(warm).1f °C.") % {
        "low": whole.rh[1], "high": whole.rh[2], "mean": whole.rh[0], "cold": whole.t[1], "warm": whole.t[2],
    }  # fmt: skip


def _say(at: datetime, sort: str) -> str:
    return str(formats.date_format(at, FORMATS[sort]))


def _moment(hour: int) -> datetime:
    return datetime.fromtimestamp(hour * HOUR, clock.zone())


def _hour(day: date) -> int:
    return hour_of(clock.start_of(day))
