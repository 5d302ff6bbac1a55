"""The climate that one thing lived through, wherever it stood: part by part, month by month, its looks and moves; with what is not known."""

from datetime import date
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from locations.climate.charts import thing as charts
from locations.climate.charts.drawing import Said
from locations.climate.lives import Life, Light, Lived, life_of, light_of
from museum import clock
from museum.errors import Invalid
from museum.people.actor import Actor
from reports.documents import common
from reports.registry import Gathered, document


@document(
    "lived_climate", title=gettext_lazy("The climate it lived through"), version="1", permission="paper.issue", seen_by="place.see_exact", options=("begin",)
)  # fmt: skip
def lived_climate(subject: UUID, actor: Actor, begin: str = "") -> Gathered:
    """Of a thing, since the day `begin`, else since the first hour known."""
    actor.demand("place.see_exact")
    thing, since = common.object_for(actor, subject), _day(begin)
    life = life_of(thing, since=since, exact=True)
    data = {
        "object": {"number": thing.card.number, "name": thing.card.name}, "on": clock.today().isoformat(), "since": since.isoformat() if since else "",
        "first": life.first.isoformat() if life.first else "", "last_check": life.last_check.isoformat() if life.last_check else "",
        "parts": [_part(one) for one in life.parts], "walled": any(one.at_wall for one in life.parts),
        "presumed": {"material": life.presumed.material, "part": f"{life.presumed.presumed:.0f}"} if life.presumed else {}, "drawing": _drawing(life),
        "worst": _months(life.worst) if life.worst else {},
        "events": [{"on": one.on.isoformat(), "looked": one.looked} for one in life.events if not since or one.on >= since],
        "light": _light(light_of(thing)), "asked": {"begin": begin} if begin else {},
    }  # fmt: skip
    title = _("The climate that %(number)s lived through") % {"number": thing.card.number or thing.card.name}
    return Gathered(data, title, common.page_of(thing), [("object", thing.pk)])


def _day(text: str) -> date | None:
    if not text:
        return None
    try:
        found = date.fromisoformat(text)
    except ValueError:
        raise Invalid(_("'%(text)s' is no day of the calendar. Write it as 2026-11-25; nothing was issued."), field="begin", text=text) from None
    if found > clock.today():
        raise Invalid(_("That day is still to come. Choose today or an earlier day; nothing was issued."), field="begin")
    return found


def _part(one: Lived) -> dict[str, Any]:
    """A material of a part, as it stands in the table."""
    band = f"{one.limits.low:.0f}–{one.limits.high:.0f}\u00a0%" if one.limits.low is not None and one.limits.high is not None else ""
    return {
        "name": one.component, "material": one.material, "band": band, "known": one.known, "unknown": one.unknown, "over": one.over,
        "over_longest": one.over_longest, "under": one.under, "damp": one.damp, "damp_longest": one.damp_longest, "wet": one.wet,
        "mould": f"{one.mould.mould:.1f}", "highest": f"{one.mould.mould_highest:.1f}", "at_least": one.mould.mould_unknown > 0,
        "ageing": f"{one.ageing:.1f}" if one.ageing is not None else "", "wall": _at_wall(one.at_wall) if one.at_wall else {},
    }  # fmt: skip


def _at_wall(one: Lived) -> dict[str, Any]:
    """Its coldest face, where it stood against a wall told to be colder."""
    return {
        "against": one.against, "over": one.over, "over_longest": one.over_longest, "damp": one.damp, "damp_longest": one.damp_longest, "wet": one.wet,
        "mould": f"{one.mould.mould:.1f}", "at_least": one.mould.mould_unknown > 0, "unknown": one.unknown,
    }  # fmt: skip


def _light(light: Light | None) -> dict[str, str]:
    if light is None:
        return {}
    return {"dose": f"{light.dose:.0f}", "budget": f"{light.category.yearly:.0f}", "used": f"{light.used:.0f}", "hours": f"{light.hours:.0f}"}


def _months(one: Lived) -> dict[str, Any]:
    rows = [{"month": row.month.isoformat(), "over": row.over, "damp": row.damp, "unknown": row.unknown, "mould": f"{row.mould:.1f}"} for row in one.rows]
    return {"name": one.component, "material": one.material, "months": rows}


def _drawing(life: Life) -> str:
    worst = life.worst
    if worst is None:
        return ""
    words = {
        "time": _("Checks (squares) and moves (lozenges)"), "damp": _("Hours above 65 % in a month; hatched: not known"),
        "mould": _("Mould index of %(material)s") % {"material": worst.material},
    }  # fmt: skip
    months = [charts.Month(row.month, row.damp, row.unknown, row.mould) for row in worst.rows]
    text = _("%(damp)d hours above 65 %%, %(unknown)d hours unknown, mould index now %(mould).1f of 6. The figures stand in the table below.")
    said = Said("lived", _("The climate it lived through"), text % {"damp": worst.damp, "unknown": worst.unknown, "mould": worst.mould.mould})
    return charts.course(said, months, [charts.Happened(one.on, one.looked) for one in life.events], words)
