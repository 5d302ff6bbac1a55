"""Pages of the climate: the rooms, a logger with all that is told of it, its readings, and what is read by hand."""

import csv
from datetime import datetime, timedelta
from math import isnan
from typing import Any, Final
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from collection.objects.views.common import acting, chosen, done, key_in, number_in
from locations.climate import queries, typed
from locations.climate.actions import loggers as actions
from locations.climate.actions.spots import SpotEntry, read_by_hand
from locations.climate.actions.spots import correct_spot as take_back
from locations.climate.alarm_lines import open_lines
from locations.climate.attention import to_see
from locations.climate.days import LOGGERS
from locations.climate.doubts import clock_alone
from locations.climate.models import Logger, Reading, Verdict
from locations.climate.science.psychrometrics import dew_point
from locations.climate.sentences import noticed
from locations.climate.spans import standing
from locations.climate.storing import moment
from locations.places.models import Place
from museum import clock
from museum.errors import DomainError, Invalid, NotFound, VersionConflict
from museum.ids import uuid7
from museum.people.doors import actor_of, needs
from museum.people.models import Society

A_PAGE: Final = 100
TABLE_DAYS: Final = 400
#: files that say otherwise than was in, which a logger's page lists, and times of each
MOST_FILES: Final = 10
MOST_PAIRS: Final = 6


@require_safe
@needs("climate.see")
def overview(request: HttpRequest) -> HttpResponse:
    """Every room with what was read there last, and what somebody has to see to."""
    today = clock.today()
    return render(
        request, "climate/overview.html",
        {
            "alarms": open_lines(), "rooms": queries.rooms(), "see": to_see(), "sets_up": actor_of(request).may("climate.set_up"),
            "idle": Logger.objects.filter(ended_on=None, stays=None).order_by("name"), "prints": actor_of(request).may("paper.issue"),
            "whole_house": Society.KEY, "today": today, "year_ago": today - timedelta(days=364),
        },
    )  # fmt: skip


@require_http_methods(["GET", "POST"])
@needs("climate.record")
def by_hand(request: HttpRequest) -> HttpResponse:
    """Ten rooms in a minute: what the dials show, room by room, in the order in which one walks."""
    places, error, wrong = Place.objects.filter(closed_on=None, level=Place.Level.ROOM).order_by("path_key", "code"), "", ""
    if request.method == "POST":
        try:
            stored = read_by_hand(acting(request), _entries(request, [place.pk for place in places]), at=typed.moment(request.POST.get("at")))
        except DomainError as refused:
            error, wrong = refused.sentence, refused.field or ""
        else:
            messages.success(request, _("Stored: %(n)s.") % {"n": len(stored)})
            return redirect("climate:by_hand")
    rows = [_hand_row(request, place) for place in places]
    lately = Paginator(queries.standing_spots().select_related("place").order_by("-happened_at", "-recorded_at"), 30).get_page(request.GET.get("page"))
    context = {"rows": rows, "error": error, "wrong": wrong, "page": lately, "at": request.POST.get("at", "")}
    return render(request, "climate/by_hand.html", context, status=400 if error else 200)


def _hand_row(request: HttpRequest, place: Place) -> dict[str, Any]:
    names = ("t", "rh", "lux", "uv", "litres", "insects", "note")
    said = {name: request.POST.get(f"{name}-{place.pk}", "") for name in names}
    return {"place": place, "key": request.POST.get(f"id-{place.pk}") or uuid7(), "more": any(said[name] for name in names[2:]), **said}


def _entries(request: HttpRequest, places: list[UUID]) -> list[SpotEntry]:
    fields, found = request.POST, []
    for place in places:
        figures = {name: typed.figure(fields.get(f"{name}-{place}"), f"{name}-{place}") for name in ("t", "rh", "lux", "uv", "litres")}
        insects, note = typed.whole(fields.get(f"insects-{place}"), f"insects-{place}"), fields.get(f"note-{place}", "")
        if note.strip() or insects is not None or any(value is not None for value in figures.values()):
            found.append(SpotEntry(id=key_in(fields.get(f"id-{place}")) or uuid7(), place_id=place, insects=insects, note=note, **figures))
    return found


@require_POST
@needs("climate.record")
def correct_spot(request: HttpRequest, spot_id: UUID) -> HttpResponse:
    """Takes back a hand reading."""
    return done(request, lambda: take_back(acting(request), spot_id, reason=request.POST.get("reason", "")), "climate:by_hand")


@require_http_methods(["GET", "POST"])
@needs("climate.set_up")
def new_logger(request: HttpRequest) -> HttpResponse:
    """Adds a logger."""
    fields, error = request.POST, ""
    key = key_in(fields.get("id")) or uuid7()
    if request.method == "POST":
        try:
            made = actions.make_logger(actor_of(request).keyed(key), logger_id=key, **_told(request))
        except DomainError as refused:
            error = refused.sentence
        else:
            messages.success(request, _("%(logger)s is here. Say where it stands.") % {"logger": made.name})
            return redirect("climate:logger", made.pk)
    said = fields if request.method == "POST" else {"serial": request.GET.get("serial", ""), "name": request.GET.get("serial", "")}
    context = {
        "error": error,
        "key": key,
        "typed": said,
        "clocks": Logger.Clock.choices,
        "minutes": fields.get("minutes") or 60,
        "battery_on": fields.get("battery_on", ""),
    }
    return render(request, "climate/new_logger.html", context, status=400 if error else 200)


def _told(request: HttpRequest) -> dict[str, Any]:
    fields = request.POST
    minutes, days = typed.figure(fields.get("minutes"), "minutes"), typed.whole(fields.get("silent_after"), "silent_after")
    return {
        "name": fields.get("name", ""), "serial": fields.get("serial", ""), "clock_kind": fields.get("clock_kind", ""), "zone": fields.get("zone", "").strip(),
        "interval": 3600 if minutes is None else round(60 * minutes), "silent_after": 35 if days is None else days,
        "battery_on": typed.day(fields.get("battery_on"), "battery_on"),
    }  # fmt: skip


@require_safe
@needs("climate.see")
def logger(request: HttpRequest, logger_id: UUID) -> HttpResponse:
    """One logger: where it stood, its checks, its files, what was judged."""
    return _logger_page(request, _logger(logger_id))


def _logger_page(request: HttpRequest, found: Logger, refused: str = "") -> HttpResponse:
    """The page; with `refused`, the form that was not carried out stands open as it was filled in."""
    changed = request.POST if "version" in request.POST else {
        "name": found.name, "serial": found.serial, "clock_kind": found.clock_kind, "zone": found.zone, "minutes": f"{found.interval / 60:g}",
        "silent_after": found.silent_after, "battery_on": str(found.battery_on or ""), "ended_on": str(found.ended_on or ""), "version": found.version,
    }  # fmt: skip
    verdicts = found.verdicts.filter(corrected_by=None, withdraws=False).select_related("by", "file").order_by("begin", "recorded_at", "id")
    context = {
        "logger": found, "clock_alone": clock_alone(found), "changed": changed, "minutes": f"{found.interval / 60:g}",
        "last": queries.last_readings([found.number]).get(found.number),
        "placements": list(reversed(standing(found.placements.select_related("place", "by")))), "key": uuid7(),
        "calibrations": list(reversed(standing(found.calibrations.select_related("by")))), "files": found.files.order_by("-sent_at")[:20],
        "verdicts": list(reversed(verdicts)), "last_words": {one.file_id: one.pk for one in verdicts if one.file_id}.values(),
        "suspicions": found.suspicions.select_related("settlement").order_by("-recorded_at"),
        "contradictions": queries.contradictions(found, files=MOST_FILES, pairs=MOST_PAIRS), "choices": Verdict.OF_TWO,
        "says": Verdict.OF_ALL, "clocks": Logger.Clock.choices,
        "spans": found.coverage_spans.select_related("place").order_by("place__path_key"), "sets_up": actor_of(request).may("climate.set_up"),
        "places": Place.objects.filter(closed_on=None).order_by("path_key", "code"), "error": refused,
        "typed": {request.POST.get("do", "").removeprefix("un"): request.POST},
    }  # fmt: skip
    return render(request, "climate/logger.html", context, status=400 if refused else 200)


@require_POST
@needs("climate.set_up")
def change(request: HttpRequest, logger_id: UUID) -> HttpResponse:
    """Changes what is told of a logger."""
    fields = request.POST

    try:
        actions.change_logger(
            actor_of(request), logger_id, version=number_in(fields.get("version"), 0), ended_on=typed.day(fields.get("ended_on"), "ended_on"), **_told(request),
        )  # fmt: skip
    except VersionConflict as conflict:
        names = {
            "name": _("Name, as on its label"), "serial": _("Serial number"), "clock_kind": _("Its clock shows"), "zone": _("Time zone"),
            "silent_after": _("Days without a file until somebody is asked"), "battery_on": _("Last new battery"), "ended_on": _("Out of use since"),
        }  # fmt: skip
        context = {"conflict": conflict, "again": request.path, "back": f"/climate/loggers/{logger_id}/", "typed": fields, "names": names}
        return render(request, "web/conflict.html", context, status=409)
    except NotFound:
        raise
    except DomainError as refused:
        return _logger_page(request, _logger(logger_id), refused.sentence)
    messages.success(request, _("Saved."))
    return redirect("climate:logger", logger_id)


@require_POST
@needs("climate.set_up")
def tell(request: HttpRequest, logger_id: UUID) -> HttpResponse:
    """A logger was put somewhere, checked, told to speak for a place, or its readings judged."""
    found, fields, actor = _logger(logger_id), request.POST, acting(request)
    place = key_in(fields.get("place"))
    acts = {
        "place": lambda: actions.place_logger(actor, found.pk, place_id=place, at=typed.moment(fields.get("at")), note=fields.get("note", "")),
        "misplaced": lambda: actions.correct_placement(
            actor, key_in(fields.get("placement")) or uuid7(), reason=fields.get("note", ""), place_id=place, at=typed.moment(fields.get("at")),
        ),
        "calibrate": lambda: actions.calibrate(actor, found.pk, points=_points(request), at=typed.moment(fields.get("at")), note=fields.get("note", "")),
        "cover": lambda: actions.cover(actor, place or uuid7(), logger_id=found.pk, at=typed.moment(fields.get("at")), reason=fields.get("note", "")),
        "uncover": lambda: actions.cover(actor, place or uuid7(), logger_id=None, reason=fields.get("note", "")),
        "judge": lambda: actions.judge_readings(
            actor, found.pk, begin=typed.moment(fields.get("begin")) or clock.now(), end=typed.moment(fields.get("end")) or clock.now(),
            says=fields.get("says", ""), reason=fields.get("note", ""),
        ),
        "choose": lambda: actions.choose_value(
            actor, found.pk, file_id=key_in(fields.get("file")) or uuid7(), says=fields.get("says", ""), reason=fields.get("note", ""),
            seen=key_in(fields.get("seen")),
        ),
    }  # fmt: skip
    act = chosen(request, acts)
    try:
        act()
    except NotFound:
        raise
    except DomainError as refused:
        return _logger_page(request, found, refused.sentence)
    messages.success(request, _("Stored."))
    return redirect("climate:logger", found.pk)


def _points(request: HttpRequest) -> list[tuple[float, float]]:
    pairs = [(typed.figure(request.POST.get(f"showed{n}"), "points"), typed.figure(request.POST.get(f"true{n}"), "points")) for n in (1, 2)]
    if any((showed is None) != (true is None) for showed, true in pairs):
        raise Invalid(_("Of each salt both are needed: what the logger showed, and what was true."), field="points")
    return [(showed, true) for showed, true in pairs if showed is not None and true is not None]


@require_safe
@needs("climate.see")
def readings(request: HttpRequest, logger_id: UUID) -> HttpResponse:
    """The readings of a logger, newest first, with what was noticed about them."""
    found = _logger(logger_id)
    begin, end = _span(request)
    rows = Reading.objects.filter(logger=found.number, at__gte=begin, at__lt=end).order_by("-at")
    page = Paginator(rows, A_PAGE).get_page(request.GET.get("page"))
    shown = [{"row": row, "dew": _dew(row), "noticed": noticed(row.flags)} for row in page]
    query = f"from={begin.date()}&to={(end - timedelta(days=1)).date()}&"
    return render(
        request, "climate/readings.html", {"logger": found, "page": page, "rows": shown, "begin": begin, "until": end - timedelta(days=1), "query": query}
    )


def _dew(row: Reading) -> float | None:
    if row.t is None or row.rh is None:
        return None
    value = dew_point(row.t, row.rh)
    return None if isnan(value) else value


def _span(request: HttpRequest) -> tuple[datetime, datetime]:
    """The days asked for, else the last seven; of those on which a logger can have read."""
    try:
        first, last = typed.day(request.GET.get("from"), "from"), typed.day(request.GET.get("to"), "to")
    except DomainError:
        first = last = None
    today = clock.today()
    last = max(min(last or today, today + timedelta(days=1)), LOGGERS.day)
    return clock.start_of(max(first or last - timedelta(days=6), LOGGERS.day)), clock.start_of(last + timedelta(days=1))


@require_safe
@needs("climate.see")
def readings_table(request: HttpRequest, logger_id: UUID) -> HttpResponseBase:
    """The same as a table: as recorded, and corrected by the check of then."""
    found = _logger(logger_id)
    begin, end = _span(request)
    series = queries.readings(found, max(begin, end - timedelta(days=TABLE_DAYS)), end)
    answer = HttpResponse(content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="readings-{found.number}-{begin.date()}-{(end - timedelta(days=1)).date()}.csv"'
    out = csv.writer(answer)
    out.writerow(["time_utc", "temperature_c", "rh_percent", "rh_percent_corrected", "lux"])
    for at, *values in zip(series.at.tolist(), series.t, series.rh, queries.corrected_rh(found, series), series.lux, strict=True):
        out.writerow([moment(at).strftime("%Y-%m-%dT%H:%M:%SZ"), *("" if isnan(value) else f"{value:.2f}" for value in values)])
    return answer


def _logger(logger_id: UUID) -> Logger:
    found = Logger.objects.filter(pk=logger_id).first()
    if found is None:
        raise NotFound
    return found
