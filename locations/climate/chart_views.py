"""Pages of a room's climate and of the climate a thing lived through: plain words, charts, and the same figures as tables."""

import csv
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from math import isnan, nan
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.dates import WEEKDAYS_ABBR
from django.utils.formats import date_format
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from collection.objects.views.common import thing_for
from locations.climate import typed
from locations.climate.alarm_lines import words_of
from locations.climate.charts import room as room_charts
from locations.climate.charts import thing as thing_charts
from locations.climate.charts.drawing import Said
from locations.climate.dials import Dials
from locations.climate.hearing import HOUR
from locations.climate.lives import Life, Light, Lived, life_of, light_of
from locations.climate.metered import A_DAY, metered
from locations.climate.models import ClimateAlarm
from locations.climate.rooms import RoomClimate, Shared, room_climate, shared_band, span_of
from locations.climate.science.light import budget_used
from locations.climate.storing import moment
from locations.climate.sums import Sum
from locations.places.models import Place
from museum import clock
from museum.errors import DomainError
from museum.people.doors import actor_of, needs
from museum.people.models import Society

WIDE = "chart chart--wide"
#: more alarms of the days shown are counted only
MOST_ALARMS = 40
#: readings by hand that the page lists
MOST_TYPED = 20
FORMATS = {"hour": "H:i", "day": "j M", "week": "j M", "month": "M Y", "year": "Y"}


def day_in(text: str | None) -> date | None:
    """A day of the address; none where it is no day."""
    try:
        return typed.day(text, "on")
    except DomainError:
        return None


@require_safe
@needs("climate.see")
def room(request: HttpRequest, place_id: UUID) -> HttpResponse:
    """A room through a year, or any shorter or longer time."""
    found = room_climate(place_id, span_of(request.GET.get("span"), day_in(request.GET.get("on"))))
    shared = shared_band(place_id)
    names = [("ten", _("Ten years")), ("year", _("Year")), ("month", _("Month")), ("week", _("Week")), ("day", _("Day"))]
    context = {
        "climate": found, "place": found.place, "span": found.span, "spans": names, "shared": shared, "lines": _lines(found, shared),
        "calendar": _calendar(found), "scatter": _scatter(found), "moulds": _mould_rows(found), "run": _run(found), "today": clock.today(),
        "typed": list(reversed(found.spots))[:MOST_TYPED], "most_typed": MOST_TYPED,
        "alarms": found.alarms.running, "rows": _month_lines(found), **_alarm_rows(found),
        "prints": actor_of(request).may("paper.issue"),
    }  # fmt: skip
    return render(request, "climate/room.html", context)


def _run(found: RoomClimate) -> dict[str, Any] | None:
    run = found.whole.longest
    if run is None:
        return None
    begin, end = (datetime.fromtimestamp((found.air.begin + hour) * HOUR, clock.zone()) for hour in (run.begin, run.end))
    return {"hours": run.hours, "at_least": run.at_least, "begin": begin, "end": end, "goes_on": run.end >= len(found.air.hour_rh)}


def _alarm_rows(found: RoomClimate) -> dict[str, Any]:
    shown = found.shown_alarms
    # What is not of the place or of what it is in, is of a place in it that has air of its own: by a logger there, or at a wall.
    inside = [one for one in shown if one.place not in found.path]
    presumed = [one.place for one in shown if one.kind == ClimateAlarm.Kind.MOULD and "index" not in one.figures]
    return {
        "told": [(one, words_of(one)) for one in shown[:MOST_ALARMS]], "untold": max(0, len(shown) - MOST_ALARMS),
        "presumed": any(place in found.path for place in presumed), "presumed_in": _names(place for place in presumed if place not in found.path),
        "inside": _names(one.place for one in inside) if len(inside) == len(shown) else "",
        "alarms_told": len(shown), "reds": sum(one.level == ClimateAlarm.Level.RED for one in shown),
    }  # fmt: skip


def _names(places: Iterable[Place]) -> str:
    return ", ".join(sorted({place.name for place in places}))


def _month_lines(found: RoomClimate) -> list[tuple[Sum, Dials]]:
    """The months with what was read by hand in each."""
    return [(one, found.dials.month(one.first)) for one in found.months]


def _mould_rows(found: RoomClimate) -> list[tuple[str, Any]]:
    words = {"VS": _("leather, felt, cork with glue"), "S": _("clean textile, paper"), "MR": _("dusty painted metal"), "R": _("clean metal, lacquer")}
    return [(words[code], state) for code, state in found.moulds]


def _lines(found: RoomClimate, shared: Shared) -> SafeString:
    whole, span = found.whole, found.span
    words = {"rh": _("Humidity, %"), "t": _("Temperature, °C (broken line)"), "damp": _("Dotted: 65 %, damp above"), "hand": _("by hand")}
    title = _("Humidity and temperature of %(place)s, %(first)s to %(last)s") % {"place": found.place.name, "first": _day(span.first), "last": _day(span.last)}
    said = Said("lines", title, _in_words(found), WIDE)
    air, end = found.air, min(int(span.end.timestamp()), found.air.end * HOUR)
    frame = room_charts.Frame(int(span.begin.timestamp()), max(end, int(span.begin.timestamp()) + HOUR), clock.zone(), _say, words)
    if not whole.hours:
        return SafeString("")
    drawn, dials = room_charts.Air(air.at, air.t, air.rh, air.widest), found.dials
    alarms = [_alarmed(one, frame.end) for one in found.shown_alarms]
    return SafeString(room_charts.lines(said, drawn, frame, shared.drawn, room_charts.Dials(dials.at, dials.t, dials.rh), alarms))


def _alarmed(alarm: ClimateAlarm, last: int) -> room_charts.Alarmed:
    end = int(alarm.ended_at.timestamp()) if alarm.ended_at else last
    return room_charts.Alarmed(int(alarm.begin.timestamp()), end, alarm.level == ClimateAlarm.Level.RED)


def _say(at: datetime, sort: str) -> str:
    return str(date_format(at, FORMATS[sort]))


def _day(day: date) -> str:
    return str(date_format(day, "SHORT_DATE_FORMAT"))


def _in_words(found: RoomClimate) -> str:
    """What the lines show, for those who do not see them."""
    whole = found.whole
    if whole.rh is None or whole.t is None:
        return _("Nothing is known of this time.")
    return _(
        "Humidity between %(low).0f and %(high).0f %%, mean %(mean).0f %%; temperature between %(cold).1f and %(warm).1f °C. "
        "Above 65 %% in %(damp)d of %(known)d known hours; %(unknown)d hours unknown. The figures stand in the table below."
    ) % {
        "low": whole.rh[1], "high": whole.rh[2], "mean": whole.rh[0], "cold": whole.t[1], "warm": whole.t[2], "damp": whole.damp, "known": whole.known,
        "unknown": whole.unknown,
    }  # fmt: skip


def _calendar(found: RoomClimate) -> SafeString:
    days = found.days
    if len(days) < 7:
        return SafeString("")
    origin = days[0].on.toordinal() - days[0].on.weekday()
    squares = [room_charts.Day((day.on.toordinal() - origin) // 7, day.on.weekday(), day.damp, day.unknown) for day in days]
    firsts = [((day.on.toordinal() - origin) // 7, str(date_format(day.on, "M"))) for day in days if day.on.day == 1]
    text = _("%(damp)d of %(days)d days had hours above 65 %%. The figures stand in the table below.") % {"damp": found.damp_days, "days": len(days)}
    said = Said("calendar", _("Damp hours, day by day"), text, WIDE)
    return SafeString(room_charts.calendar(said, squares, [str(WEEKDAYS_ABBR[n]) for n in range(7)], firsts))


def _scatter(found: RoomClimate) -> SafeString:
    if not found.whole.known:
        return SafeString("")
    words = {"rh": _("Humidity, %"), "t": _("Temperature, °C"), "dew": _("dew %(t)s °C"), "mould": _("Dotted: mould can grow above")}
    said = Said("scatter", _("Temperature against humidity"), _in_words(found), "chart chart-small")
    return SafeString(room_charts.scatter(said, found.air.hour_t, found.air.hour_rh, words))


@require_safe
@needs("climate.see")
def room_table(request: HttpRequest, place_id: UUID) -> HttpResponse:
    """The same as CSV: hour by hour, or month by month."""
    found = room_climate(place_id, span_of(request.GET.get("span"), day_in(request.GET.get("on"))))
    answer, out = _csv(f"climate-{found.place.code}-{found.span.first}-{found.span.last}.csv")
    if request.GET.get("what") == "months":
        out.writerow(["month", *MONTH_FIELDS])
        out.writerows([f"{one['month']:%Y-%m}", *(one[name] for name in MONTH_FIELDS)] for one in month_rows(found))
        return answer
    out.writerow(HOUR_FIELDS)
    out.writerows(_hour_rows(found))
    return answer


HOUR_FIELDS = ("time_utc", "temperature_c", "rh_percent_corrected", "temperature_c_by_hand", "rh_percent_by_hand")


def _hour_rows(found: RoomClimate) -> list[list[str]]:
    """The hours that loggers told, and between them each hand reading at its own time, in columns of its own."""
    hours = [((found.air.begin + n) * HOUR, [t, rh, nan, nan]) for n, (t, rh) in enumerate(zip(found.air.hour_t, found.air.hour_rh, strict=True))]
    dials = [(int(at), [nan, nan, t, rh]) for at, t, rh in zip(found.dials.at, found.dials.t, found.dials.rh, strict=True)]
    rows = sorted([*hours, *dials], key=lambda row: row[0])
    return [[moment(at).strftime("%Y-%m-%dT%H:%M:%SZ"), *("" if isnan(value) else f"{value:.2f}" for value in values)] for at, values in rows]


MONTH_FIELDS = (
    "hours", "known", "rh_mean", "rh_low", "rh_high", "t_mean", "t_low", "t_high", "damp_hours", "damp_longest", "wet_hours", "hand_readings",
    "hand_rh_low", "hand_rh_high",
)  # fmt: skip


def month_rows(found: RoomClimate) -> list[dict[str, Any]]:
    """The months as they leave the house."""
    return [
        {
            "month": one.first, "hours": one.hours, "known": one.known, **_spread("rh", one.rh), **_spread("t", one.t), "damp_hours": one.damp,
            "damp_longest": one.longest.hours if one.longest else 0, "wet_hours": one.wet, "hand_readings": len(dials.spots),
            "hand_rh_low": dials.reach[0] if dials.reach else None, "hand_rh_high": dials.reach[1] if dials.reach else None,
        }
        for one, dials in _month_lines(found)
    ]  # fmt: skip


def _spread(name: str, values: tuple[float, float, float] | None) -> dict[str, float | None]:
    return {f"{name}_{what}": round(values[i], 2) if values else None for i, what in enumerate(("mean", "low", "high"))}


def _csv(name: str) -> tuple[HttpResponse, Any]:
    answer = HttpResponse(content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer, csv.writer(answer)


@require_safe
@needs("climate.see")
def lived(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """The climate a thing lived through, wherever it stood."""
    found, light = asked_life(request, object_id), None
    if request.GET.get("light"):
        light = light_of(found.thing)
    context = {
        "life": found, "thing": found.thing, "card": found.thing.card, "courses": _courses(found), "light": light, "bar": _budget(light),
        "asks_light": bool(request.GET.get("light")), "typed": request.GET.get("since", ""),
        "walled": [one.at_wall for one in found.parts if one.at_wall],
        "ahead": found.since is not None and found.since > clock.today(), "prints": actor_of(request).may("paper.issue") and found.exact,
        **_metered(request, found, light),
    }  # fmt: skip
    return render(request, "climate/lived.html", context)


def _metered(request: HttpRequest, found: Life, light: Light | None) -> dict[str, Any]:
    """What a light meter tells beside the loggers, at the open hours that somebody states, else at those of the days the house is open."""
    days = len(Society.load().opening_days or range(7))
    try:
        weekly = typed.figure(request.GET.get("hours"), "hours")
    except DomainError:
        weekly = None
    weekly = weekly if weekly is not None and 1 <= weekly <= 168 else float(A_DAY * days)
    told = metered(found.thing, weekly, light.days) if light else None
    return {"metered": told, "weekly": weekly, "metered_used": budget_used(told.dose, light.category) if told and light else None}


def asked_life(request: HttpRequest, object_id: UUID) -> Life:
    """The life of a thing since the day that the address asks for, else since the first day known."""
    thing = thing_for(request, object_id)
    return life_of(thing, since=day_in(request.GET.get("since")), exact=actor_of(request).may("place.see_exact"))


def _courses(found: Life) -> list[SafeString]:
    """Month by month what mould takes first, and below it the face at a wall, where that suffered more."""
    if found.mouldiest is None or not found.exact:
        return []
    drawn = [_course(found, "course", _("The climate it lived through"), found.mouldiest)]
    if found.worse_face:
        drawn.append(_course(found, "face", _("At its coldest face, against a wall"), found.worse_face))
    return drawn


def _course(found: Life, name: str, title: str, drawn: Lived) -> SafeString:
    words = {
        "time": _("Checks (squares) and moves (lozenges)"), "damp": _("Hours above 65 % in a month; hatched: not known"),
        "mould": _("Mould index of %(material)s") % {"material": drawn.material},
    }  # fmt: skip
    months = [thing_charts.Month(row.month, row.damp, row.unknown, row.mould) for row in drawn.rows]
    text = _("%(damp)d hours above 65 %%, %(unknown)d hours unknown, mould index now %(mould).1f of 6. The figures stand in the table below.")
    said = Said(name, title, text % {"damp": drawn.damp, "unknown": drawn.unknown, "mould": drawn.mould.mould}, WIDE)
    return SafeString(thing_charts.course(said, months, [thing_charts.Happened(one.on, one.looked) for one in found.events], words))


def _budget(light: Light | None) -> SafeString:
    if light is None:
        return SafeString("")
    text = _("At least %(used).0f %% of a year’s light is used; of %(unknown).0f %% of the year nobody measured it.") % {
        "used": light.used,
        "unknown": light.unknown,
    }
    said = Said("budget", _("Light used of a year’s budget"), text, "chart chart-small")
    return SafeString(thing_charts.budget(said, light.used, light.unknown, _("a year’s budget")))


@require_safe
@needs("climate.see")
def lived_table(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """The same as CSV."""
    found = asked_life(request, object_id)
    answer, out = _csv(f"lived-{found.thing.card.number}.csv")
    rows = part_rows(found)
    out.writerow(PART_FIELDS)
    out.writerows([row[name] for name in PART_FIELDS] for row in rows)
    return answer


PART_FIELDS = (
    "part", "material", "since", "known_hours", "unknown_hours", "over_own_limit_hours", "over_own_limit_longest", "under_own_limit_hours", "damp_hours",
    "damp_longest", "wet_hours", "mould_index", "mould_highest", "mould_at_least", "ageing_ratio", "wall_hours", "wall_unknown_hours",
    "wall_over_own_limit_hours", "wall_over_own_limit_longest", "wall_damp_hours", "wall_damp_longest", "wall_mould_index", "wall_mould_highest",
)  # fmt: skip


def _at_wall(one: Lived | None) -> dict[str, Any]:
    """The coldest face of what stood against a colder wall; empty for what never did."""
    if one is None:
        return dict.fromkeys(name for name in PART_FIELDS if name.startswith("wall_"))
    return {
        "wall_hours": one.against, "wall_unknown_hours": one.unknown,
        "wall_over_own_limit_hours": one.over, "wall_over_own_limit_longest": one.over_longest, "wall_damp_hours": one.damp,
        "wall_damp_longest": one.damp_longest, "wall_mould_index": round(one.mould.mould, 2), "wall_mould_highest": round(one.mould.mould_highest, 2),
    }  # fmt: skip


def part_rows(found: Life) -> Sequence[dict[str, Any]]:
    """What each material lived through, as it leaves the house."""
    return [
        {
            "part": one.component, "material": one.material, "since": found.since or found.first, "known_hours": one.known, "unknown_hours": one.unknown,
            "over_own_limit_hours": one.over, "over_own_limit_longest": one.over_longest, "under_own_limit_hours": one.under, "damp_hours": one.damp,
            "damp_longest": one.damp_longest, "wet_hours": one.wet, "mould_index": round(one.mould.mould, 2),
            "mould_highest": round(one.mould.mould_highest, 2), "mould_at_least": one.mould.mould_unknown > 0,
            "ageing_ratio": round(one.ageing, 2) if one.ageing is not None else None, **_at_wall(one.at_wall),
        }
        for one in found.parts
    ]  # fmt: skip
