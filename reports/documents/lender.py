"""The climate record of a place for a lender: statistics with their coverage, types of control, and both readings of 'per 24 hours'."""

from itertools import dropwhile
from math import floor
from typing import Any, Final
from uuid import UUID

import numpy as np
from django.urls import reverse
from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from locations.climate.science.control import MEETS, WINDOW_DAYS, control_shares, control_types, meets
from locations.climate.science.damp import longest_run
from locations.climate.science.loans import Swing, Terms, judge_loan, loan_terms, swing
from locations.climate.science.values import Floats, NoValue
from museum import clock
from museum.people.actor import Actor
from museum.web.figures import written
from reports.documents import aired, walled
from reports.documents.periods import period
from reports.registry import Gathered, document

#: what lenders usually ask: name of the terms
TERMS: Final = {
    "bizot": gettext_lazy("Bizot Green Protocol"), "aiccm": gettext_lazy("AICCM, interim guidelines"), "leather": gettext_lazy("for leather"),
}  # fmt: skip
FAILED: Final = {
    "rh": gettext_lazy("humidity outside the range"), "t": gettext_lazy("temperature outside the range"),
    "rh_range": gettext_lazy("humidity, lowest to highest in 24 h"), "rh_deviation": gettext_lazy("humidity, away from the mean of 24 h"),
    "t_range": gettext_lazy("temperature, lowest to highest in 24 h"), "t_deviation": gettext_lazy("temperature, away from the mean of 24 h"),
}  # fmt: skip
#: a type of control is one of a year
YEAR: Final = 365


@document(
    "climate_record", title=gettext_lazy("Climate record"), version="2", permission="paper.issue", seen_by="climate.see", options=("begin", "end")
)  # fmt: skip
def climate_record(subject: UUID, actor: Actor, begin: str = "", end: str = "") -> Gathered:
    """Of a room, from `begin` to `end`; else of this year."""
    span = period(begin, end)
    found = aired.room_air(subject, span)
    t, rh, months = found.t, found.rh, list(dropwhile(lambda row: not row["known"], aired.month_rows(found)))
    data = {
        "place": aired.place_name(found.path), "first": span.first.isoformat(), "last": span.last.isoformat(), "zone": str(clock.zone()),
        "whole": aired.figures(found.whole), "run": aired.run_words(found), "rh_shares": aired.percentiles(rh), "t_shares": aired.percentiles(t),
        "trust": found.trust, "bridged": int((found.air.known & ~found.read).sum()), "holes": aired.holes(found), "loggers": aired.loggers(found),
        "months": months, "marked": aired.marked(months), "drawing": aired.drawing(found, "record"), "swings": _swings(rh, t),
        "control": _control(rh, t, span.days) | _longest(found), "loans": [_loan(code, rh, t) for code in TERMS], "dials": aired.dials(subject, span),
        "band": walled.band(found), "walls": walled.beside_walls(found), "asked": span.asked,
    }  # fmt: skip
    title = _("Climate record, %(place)s, %(first)s to %(last)s") % {
        "place": found.place.name, "first": formats.date_format(span.first, "j F Y"), "last": formats.date_format(span.last, "j F Y"),
    }  # fmt: skip
    return Gathered(data, title, reverse("climate:room", args=[subject]), [("place", subject)])


def _swings(rh: Floats, t: Floats) -> dict[str, Any]:
    """The largest swing in 24 hours by both readings, whatever is asked; nothing where no 24 hours are known."""
    return {name: _swing(values) for name, values in (("rh", rh), ("t", t))}


def _swing(values: Floats) -> dict[str, str] | None:
    try:
        found = swing(values, np.inf)
    except NoValue:
        return None
    return {"range": f"{found.range:.1f}", "deviation": f"{found.deviation:.1f}"}


def _control(rh: Floats, t: Floats, days: int) -> dict[str, Any]:
    """The share of time within each type, or why it cannot be told."""
    told = {"window": WINDOW_DAYS, "least": f"{MEETS:.0f}", "year": days >= YEAR}
    try:
        shares = control_shares(rh, t)
    except NoValue as wrong:
        why = {
            "too_short": _("No 30 days follow each other with enough readings: no type of control can be told."),
            "too_long": _("A type of control is told year by year: ask for a record of at most 400 days."),
        }  # fmt: skip
        return told | {"rows": [], "why": why.get(wrong.code, _("No type of control can be told from these readings."))}
    rows = [{"code": kind.code, "share": _share(shares[kind.code]), "meets": told["year"] and meets(shares[kind.code])} for kind in control_types()]
    return told | {"rows": rows, "why": ""}


def _longest(found: aired.RoomAir) -> dict[str, int]:
    """Hours of the longest times without a break above the limits that C and D name."""
    ways = ((f"over{limit:g}", longest_run(found.air.hour_rh, limit)) for limit in (65.0, 75.0))
    return {name: run.hours if run else 0 for name, run in ways}


def _loan(code: str, rh: Floats, t: Floats) -> dict[str, Any]:
    terms = loan_terms(code)
    told = {"code": code, "name": str(TERMS[code]), "source": terms.source, "asks": _asks(terms)}
    try:
        found = judge_loan(rh, t, terms)
    except NoValue:
        return told | {"known": False}
    rows = [
        _row(_("Humidity"), _reach(rh, "%"), _bounds(terms.rh_low, terms.rh_high, "%"), found.rh_inside),
        _row(_("Temperature"), _reach(t, "°C"), _bounds(terms.t_low, terms.t_high, "°C"), found.t_inside),
        *_swing_rows(str(FAILED["rh_range"]), str(FAILED["rh_deviation"]), found.rh_swing, terms.rh_swing, terms, "%"),
        *_swing_rows(str(FAILED["t_range"]), str(FAILED["t_deviation"]), found.t_swing, terms.t_swing, terms, "K"),
    ]
    return told | {"known": True, "passed": found.passed, "failed": [str(FAILED[one]) for one in found.failed], "rows": rows}


def _swing_rows(by_range: str, by_mean: str, found: Swing | None, most: float | None, terms: Terms, unit: str) -> list[dict[str, str]]:
    """Both readings of a swing beside what each allows: twice as much from lowest to highest where it is meant either way of the mean."""
    if found is None or most is None:
        return []
    either = terms.swing_is == "either way"
    allowed, away = f"{written(2 * most if either else most)} {unit}", f"{written(f'{found.deviation:.1f}')} {unit}"
    by_one = _row(by_range, f"{written(f'{found.range:.1f}')} {unit}", allowed, found.range_within)
    return [by_one, _row(by_mean, away, f"{written(most)} {unit}" if either else "", found.deviation_within if either else None)]


def _row(words: str, found: str, allowed: str, within: float | None) -> dict[str, str]:
    return {"words": words.capitalize(), "found": found, "allowed": allowed, "within": "" if within is None else _share(within)}


def _share(percent: float) -> str:
    """Rounded down, so that 100.0 is all of it."""
    return f"{floor(10 * percent + 1e-9) / 10:.1f}"


def _reach(values: Floats, unit: str) -> str:
    return f"{written(f'{np.nanmin(values):.1f}')}–{written(f'{np.nanmax(values):.1f}')} {unit}"


def _asks(terms: Terms) -> str:
    """The terms in one line."""
    parts = [_bounds(terms.rh_low, terms.rh_high, "% RH"), _bounds(terms.t_low, terms.t_high, "°C")]
    sign = "±" if terms.swing_is == "either way" else ""
    swings = [f"{sign}{written(most)} {unit}" for most, unit in ((terms.rh_swing, "% RH"), (terms.t_swing, "K")) if most is not None]
    return "; ".join([*filter(None, parts), _("%(swings)s in 24 h") % {"swings": ", ".join(swings)}])


def _bounds(low: float | None, high: float | None, unit: str) -> str:
    if low is None or high is None:
        return "" if high is None else _("at most %(high)s %(unit)s") % {"high": written(high), "unit": unit}
    return f"{written(low)}–{written(high)} {unit}"
