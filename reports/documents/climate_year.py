"""The climate of all rooms over a year in plain words: how damp, for how long without a break, what is not known, what helped."""

from datetime import date, timedelta
from typing import Any, Final
from uuid import UUID

from django.db.models import Q
from django.urls import reverse
from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from locations.climate.models import LoggerStay
from locations.climate.science.damp import INSPECT_AFTER
from locations.climate.science.series import ENOUGH_OF_YEAR
from locations.places.models import Place
from locations.places.queries import lies_outdoors, path_of
from museum import clock
from museum.errors import NotFound
from museum.people.actor import Actor
from museum.people.models import Society
from reports.documents import aired, walled
from reports.documents.happened import happened
from reports.documents.periods import Period, period
from reports.registry import Gathered, document

#: no share of a year is told as the year's where less is known, %
ENOUGH: Final = round(100 * ENOUGH_OF_YEAR)
MOST_DAYS: Final = 400
#: two years whose damp hours, as a share of the known, lie closer are alike, % (ours: sensors are off by 2 to 3 % humidity)
ALIKE: Final = 5
#: damp by hours only: no run so long, and not one in a hundred of the hours known (ours)
FEW: Final = 24


@document(
    "climate_year", title=gettext_lazy("Climate report"), version="3", permission="paper.issue", seen_by="climate.see", options=("begin", "end")
)  # fmt: skip
def climate_year(subject: UUID, actor: Actor, begin: str = "", end: str = "") -> Gathered:
    """Of all rooms, from `begin` to `end`; else of the 365 days that end today."""
    if subject != UUID(Society.KEY):
        raise NotFound
    span = period(begin if begin or end else (clock.today() - timedelta(days=364)).isoformat(), end, most=MOST_DAYS)
    places = _places(span)
    rooms = [_room(n, place, span) for n, place in enumerate(places, start=1)]
    months = sorted({row["month"] for room in rooms for row in room["months"]})
    data = {
        "first": span.first.isoformat(), "last": span.last.isoformat(), "rooms": rooms, "months": months,
        "grid": [{"name": room["place"]["name"], "cells": _cells(room, months)} for room in rooms], "enough": ENOUGH,
        "happened": happened(span, rooms, places), "worst": _worst(rooms), "asked": span.asked,
    }  # fmt: skip
    title = _("Climate report, %(first)s to %(last)s") % {"first": formats.date_format(span.first, "j F Y"), "last": formats.date_format(span.last, "j F Y")}
    return Gathered(data, title, reverse("climate:overview"), [("society", subject)])


def _places(span: Period) -> list[Place]:
    """The open rooms, and other places where a logger stood in these days; not what lies outdoors or with others."""
    stood = LoggerStay.objects.filter(during__overlap=(clock.start_of(span.first), clock.start_of(span.last + timedelta(days=1)))).values("place")
    found = Place.objects.filter(Q(level=Place.Level.ROOM, closed_on=None) | Q(pk__in=stood)).order_by("path_key", "code")
    paths = {place.pk: path_of(place.pk) for place in found}
    ours = [place for place in found if next((above.use for above in paths[place.pk] if above.use), "") != Place.Use.OUTSIDE]
    return [place for place in ours if not lies_outdoors(paths[place.pk])]


def _room(n: int, place: Place, span: Period) -> dict[str, Any]:
    found, dials = aired.room_air(place.pk, span), aired.dials(place.pk, span)
    figures, months = aired.figures(found.whole), aired.month_rows(found)
    return {
        "place": aired.place_name(found.path), "whole": figures, "run": aired.run_words(found), "holes": aired.holes(found), "months": months,
        "marked": aired.marked(months), "drawing": aired.drawing(found, f"room{n}"), "dials": dials,
        "band": walled.band(found), "walls": walled.beside_walls(found), "machine": aired.machine(place.pk, span), "before": _before(place, span, figures),
        "verdict": _verdict(figures, dials), "loggers": [one.name for one in found.air.loggers], "dampest": _month(found, highest=True),
        "driest": _month(found, highest=False),
    }  # fmt: skip


def _verdict(figures: dict[str, Any], dials: dict[str, Any]) -> str:
    """A code: what is told first (ours). A week above 65 % without a break is damp, a few hours are no reason for worry; of dials the verdict of their own."""
    if not figures["known"]:
        return f"dials_{dials['verdict']}" if dials["count"] else "unknown"
    if figures["longest"] >= INSPECT_AFTER:
        return "damp"
    if not figures["damp"]:
        return "dry"
    return "few_hours" if figures["longest"] < FEW and 100 * figures["damp"] < figures["known"] else "at_times"


def _month(found: aired.RoomAir, *, highest: bool) -> dict[str, str] | None:
    """The month with the highest or lowest mean, of those of which half is known."""
    told = [one for one in found.months if one.rh and 2 * one.known >= one.hours]
    if len(told) < 2:
        return None
    pick = max if highest else min
    chosen = pick(told, key=lambda one: one.rh[0] if one.rh else 0.0)
    return {"month": max(chosen.first, found.span.first).isoformat(), "rh": f"{chosen.rh[0]:.0f}" if chosen.rh else ""}


def _before(place: Place, span: Period, now: dict[str, Any]) -> dict[str, Any] | None:
    """The same days a year before, where half of them are known; how the two compare by their shares, if enough is known of both."""
    whole = aired.room_air(place.pk, Period(_year_before(span.first), _year_before(span.last))).whole
    if 2 * whole.known < whole.hours or not whole.known or not now["known"]:
        return None
    then = aired.figures(whole)
    step = 100 * now["damp"] / now["known"] - 100 * whole.damp / whole.known
    words = "alike" if abs(step) < ALIKE else "damper" if step > 0 else "drier"
    return then | {"compared": words if min(now["coverage"], then["coverage"]) >= ENOUGH else "unsure"}


def _year_before(day: date) -> date:
    return day.replace(year=day.year - 1) if (day.month, day.day) != (2, 29) else date(day.year - 1, 2, 28)


def _cells(room: dict[str, Any], months: list[str]) -> list[dict[str, Any]]:
    """Damp hours month by month; what is known too little says so."""
    rows = {row["month"]: row for row in room["months"]}
    return [
        {"known": bool(row and row["known"]), "damp": row["damp"] if row else 0, "partly": bool(row and row["known"] and row["coverage"] < ENOUGH)}
        for row in (rows.get(month) for month in months)
    ]  # fmt: skip


def _worst(rooms: list[dict[str, Any]]) -> dict[str, Any] | None:
    """The room with the longest time above 65 % without a break."""
    found = max(rooms, key=lambda room: room["whole"]["longest"], default=None)
    return {"name": found["place"]["name"], "hours": found["whole"]["longest"], "at_least": found["whole"]["at_least"]} if found and found["run"] else None
