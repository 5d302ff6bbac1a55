"""The log of the checks of all loggers: when, against what, by whom, how far off; and which come due."""

from datetime import date, timedelta
from typing import Any, Final
from uuid import UUID

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from conservation.rules.leave import same_day_later
from locations.climate.models import Calibration, Logger, LoggerStay, Suspicion
from locations.climate.spans import standing
from museum import clock
from museum.errors import NotFound
from museum.people.actor import Actor
from museum.people.models import Society
from reports.registry import Gathered, document

#: months from one check to the next (house rule of the reference)
MONTHS: Final = 12
#: due within so many days is said to come
SOON: Final = timedelta(days=60)
#: a single point, or two nearer than that, does not bracket what a room has, %
BRACKET: Final = 20.0


@document("calibration_log", title=gettext_lazy("Log of the loggers’ checks"), version="1", permission="paper.issue", seen_by="climate.see")
def calibration_log(subject: UUID, actor: Actor) -> Gathered:
    """Of all loggers, those out of use last."""
    if subject != UUID(Society.KEY):
        raise NotFound
    today = clock.today()
    places = {stay.logger_id: stay.place.name for stay in LoggerStay.objects.filter(during__contains=clock.now()).select_related("place")}
    doubted = set(Suspicion.objects.filter(settlement=None).values_list("logger", flat=True))
    rows = [_logger(one, places.get(one.pk, ""), today, doubted=one.pk in doubted) for one in Logger.objects.order_by("name", "number")]
    used = sorted((row for row in rows if not row["ended_on"]), key=lambda row: (row["due_on"], row["name"]))
    data = {
        "on": today.isoformat(), "months": MONTHS, "loggers": used, "ended": [row for row in rows if row["ended_on"] and row["checks"]],
        "late": sum(row["state"] in ("never", "late") for row in used),
    }  # fmt: skip
    return Gathered(data, _("Log of the loggers’ checks"), reverse("climate:overview"), [("society", subject)])


def _logger(one: Logger, place: str, today: date, *, doubted: bool) -> dict[str, Any]:
    checks = standing(one.calibrations.select_related("by"))
    due = same_day_later(checks[-1].happened_on, months=MONTHS) if checks else None
    return {
        "name": one.name, "serial": one.serial, "place": place, "minutes": one.interval // 60, "doubted": doubted,
        "ended_on": one.ended_on.isoformat() if one.ended_on else "", "due_on": due.isoformat() if due else "", "state": _state(due, today),
        "battery_on": one.battery_on.isoformat() if one.battery_on else "", "checks": [_check(check) for check in reversed(checks)],
    }  # fmt: skip


def _state(due: date | None, today: date) -> str:
    if due is None:
        return "never"
    return "late" if due < today else "soon" if due <= today + SOON else "good"


def _check(one: Calibration) -> dict[str, Any]:
    true = [float(point[1]) for point in one.points]
    return {
        "on": one.happened_on.isoformat(), "by": one.by.name if one.by else "", "note": one.note, "slope": f"{one.slope:.3f}",
        "shown": f"{'+' if one.offset < 0 else '−'} {abs(one.offset):.2f}",
        "low": f"{max(one.low, 0):.0f}", "high": f"{min(one.high, 100):.0f}", "bracket": bool(true) and max(true) - min(true) >= BRACKET,
        "points": [{"showed": f"{showed:.1f}", "true": f"{at:.1f}", "off": f"{showed - at:+.1f}"} for showed, at in one.points],
    }  # fmt: skip
