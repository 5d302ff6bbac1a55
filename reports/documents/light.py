"""The plan of light: case by case what each thing on display may still have this year, and a turn of its own for what may not stay out for all of it."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import floor
from typing import Any, Final
from uuid import UUID

import numpy as np
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from collection.objects.models import Card, MadeOf
from locations.climate import typed
from locations.climate.air import heard_air
from locations.climate.hearing import HOUR, Heard, Hearing
from locations.climate.lives import Light, lights_of
from locations.climate.metered import Metered, metered_of
from locations.climate.queries import standing_spots
from locations.climate.science.light import budget_used, hours_allowed, rest, weeks_allowed
from locations.climate.science.values import Floats
from locations.places.models import Place
from locations.places.queries import path_of
from museum import clock
from museum.errors import Invalid, NotFound
from museum.people.actor import Actor
from museum.people.models import Society
from reports.registry import Gathered, document

YEAR: Final = timedelta(days=365)
WEEKS: Final = 52
#: a case is lit where it has so much light, lx: below it a logger reads the night
LIT: Final = 1.0
A_WEEK: Final = 168
#: hours a day that a society is open where nobody says otherwise (ours)
A_DAY: Final = 8
#: a light meter’s figure speaks for a case for so long
METERED: Final = timedelta(days=400)
#: most ultraviolet, µW/lm (Canadian Conservation Institute)
MOST_UV: Final = 75
#: so many things have a line of their own
MOST_NAMED: Final = 300
WORDS: Final = {"high": gettext_lazy("high"), "medium": gettext_lazy("medium"), "low": gettext_lazy("low")}


@dataclass(frozen=True, slots=True)
class Lit:
    """Light of a place, lx while it is lit, and who read it; ultraviolet, µW/lm, where it was read; hours a week that it is lit, as a logger saw."""

    lux: float
    on: date | None
    uv: float | None
    hours: float | None = None


class Airs(dict[tuple[Heard, ...], Floats]):
    """Light that loggers read in the last 365 days, by who spoke: cases that hear one logger are read once."""

    def of(self, path: Sequence[Place]) -> Floats:
        """lx of the first place of a path, dark hours too."""
        end = int(clock.now().timestamp()) // HOUR
        begin = end - YEAR.days * 24
        hearing = Hearing(None if any(place.mobile for place in path) else path)
        parts = tuple(hearing.between(path[0].pk, begin, end))
        if parts not in self:
            self[parts] = heard_air(parts, begin, end).lux
        return self[parts]


@document(
    "light_plan", title=gettext_lazy("Light: who rests when"), version="1", permission="paper.issue", seen_by="place.see_exact", options=("hours",)
)  # fmt: skip
def light_plan(subject: UUID, actor: Actor, hours: str = "") -> Gathered:
    """Of all that stands on display, at `hours` open a week, else eight each open day."""
    if subject != UUID(Society.KEY):
        raise NotFound
    weekly = _hours(hours)
    cards = _on_display(actor)
    lights = lights_of([card.object for card in cards[:MOST_NAMED]])
    by_meter = metered_of({key: light.days for key, light in lights.items()}, weekly)
    groups, airs = defaultdict[UUID, list[Card]](list), Airs()
    for card in cards[:MOST_NAMED]:
        if card.place:
            groups[card.place].append(card)
    cases = [_case(place, group, lights, by_meter, weekly, airs) for place, group in groups.items()]
    data = {
        "on": clock.today().isoformat(), "hours": f"{weekly:g}", "count": len(cards), "named": min(len(cards), MOST_NAMED), "most_uv": MOST_UV,
        "cases": cases, "rests": any("since" in one["turn"] for case in cases for one in case["things"]), "asked": {"hours": f"{weekly:g}"},
    }  # fmt: skip
    return Gathered(data, _("Light: who rests when"), reverse("climate:overview"), [("society", subject)])


def _hours(text: str) -> float:
    found = typed.figure(text, "hours")
    if found is None:
        return A_DAY * len(Society.load().opening_days or range(7))
    if not 1 <= found <= 168:
        raise Invalid(_("A week has 1 to 168 open hours; nothing was issued."), field="hours")
    return found


def _on_display(actor: Actor) -> list[Card]:
    """What stands where things are shown, in walking order."""
    cards = Card.objects.visible_to(actor).exclude(place=None)
    paths = {key: path_of(key) for key in cards.order_by().values_list("place", flat=True).distinct() if key}
    shown = {key: (path[0].path_key, path[0].code) for key, path in paths.items() if path and _use(path) == Place.Use.DISPLAY}
    found = cards.filter(place__in=shown).select_related("object").order_by("number_sort", "pk")
    return sorted(found, key=lambda card: shown[card.place] if card.place else ("", ""))


def _use(path: Sequence[Place]) -> str:
    return next((place.use for place in path if place.use), "")


def _case(key: UUID, cards: Sequence[Card], lights: dict[UUID, Light], by_meter: dict[UUID, Metered], weekly: float, airs: Airs) -> dict[str, Any]:
    path = path_of(key)
    lit = _lit(path, airs)
    things = [_thing(card, lights[card.pk], by_meter.get(card.pk), lit, weekly) for card in cards if card.pk in lights]
    made = MadeOf.objects.filter(component__object__in=[card.pk for card in cards], corrected_by=None, withdraws=False)
    told = set(made.values_list("component__object", flat=True))
    turns = _in_turn(things)
    return {
        "name": ", ".join(dict.fromkeys(place.name for place in path)), "code": path[0].code, "lux": f"{lit.lux:.0f}" if lit else "",
        "lit_hours": f"{lit.hours:.0f}" if lit and lit.hours else "",
        "read_on": lit.on.isoformat() if lit and lit.on else "", "uv": f"{lit.uv:.0f}" if lit and lit.uv is not None else "",
        "uv_high": bool(lit and lit.uv is not None and lit.uv > MOST_UV), "sun": any(one.sun for one in path),
        "things": [one for one in turns if one["turn"]["sort"] not in ("stays", "unknown")], "stay": sum(one["turn"]["sort"] == "stays" for one in turns),
        "bright": sum(one["bright"] for one in turns),
        "unlit": {code: [one["number"] or one["name"] for one in turns if one["category"] == code and one["turn"]["sort"] == "unknown"] for code in WORDS},
        "unfaded": sum(card.pk not in lights and card.pk in told for card in cards), "untold": sum(card.pk not in told for card in cards),
    }  # fmt: skip


def _lit(path: Sequence[Place], airs: Airs) -> Lit | None:
    """By a logger there, the mean while it is lit, of the last 365 days; else by the last reading of a light meter there or above; None if nobody read.

    A logger sees the lamps of closed days and the daylight of windows: what it saw lit counts, whatever the hours of opening are.
    """
    read, near = airs.of(path), {place.pk: n for n, place in enumerate(path) if place.level != Place.Level.BUILDING}
    spots = standing_spots().filter(place__in=near, happened_on__gt=clock.today() - METERED)
    uv = spots.exclude(uv=None).order_by("-happened_at").first()
    if len(lit := read[read >= LIT]):
        return Lit(float(lit.mean()), None, uv.uv if uv else None, A_WEEK * len(lit) / len(read))
    metered = sorted(spots.filter(lux__gte=LIT).order_by("-happened_at", "-recorded_at"), key=lambda spot: near[spot.place_id])
    return Lit(metered[0].lux, metered[0].happened_on, uv.uv if uv else None) if metered else None


def _thing(card: Card, light: Light, by_meter: Metered | None, lit: Lit | None, weekly: float) -> dict[str, Any]:
    """Its category and budget, what it has had, by loggers and else by a light meter, and for how many weeks more it may stay out in the light it stands in."""
    kind, weekly, had = light.category, (lit.hours if lit else None) or weekly, light.dose + (by_meter.dose if by_meter else 0)
    weeks = min(weeks_allowed(kind, lit.lux, weekly), WEEKS) if lit else None
    left = min(weeks, max(kind.yearly - had, 0) / (lit.lux * weekly)) if weeks is not None and lit else None
    if weeks == WEEKS and had < kind.yearly:
        left = WEEKS  # a year in this light is within the budget, and so was the last one
    return {
        "number": card.number, "name": card.name, "category": kind.code, "fades": str(WORDS[kind.code]), "yearly": f"{kind.yearly:.0f}",
        "most": f"{kind.lux:.0f}", "bright": bool(lit and lit.lux > kind.lux), "used": f"{light.used:.0f}" if light.hours else "",
        "measured": f"{100 - light.unknown:.0f}", "hours": f"{hours_allowed(kind, lit.lux):.0f}" if lit else "",
        "rests": _rests(light, by_meter, lit.lux * weekly / 7 if lit else 0),
        "metered": f"{budget_used(by_meter.dose, kind):.0f}" if by_meter else "", "metered_days": by_meter.days if by_meter else 0,
        "weeks": None if weeks is None else floor(10 * weeks) / 10, "left": None if left is None else floor(7 * left),
    }  # fmt: skip


def _rests(light: Light, by_meter: Metered | None, a_day: float) -> dict[str, str] | None:
    """By its own doses, since when its year is used up and until when it rests; of a year that has a day in its light (`a_day`, lx h), up to less than one."""
    doses = defaultdict[date, float](float)
    for had in (light.by_day, by_meter.by_day if by_meter else {}):
        for day, dose in had.items():
            doses[day] += dose
    days, yearly = sorted(doses), light.category.yearly
    told = np.array([day.toordinal() for day in days], dtype=np.int64), np.array([doses[day] for day in days], dtype=np.float64)
    for sort, most in (("used", yearly), ("nearly", yearly - a_day)):
        if most >= 1 and (found := rest(*told, most)):
            return {"sort": sort, "since": date.fromordinal(found.since).isoformat(), "until": date.fromordinal(found.until).isoformat()}
    return None


def _in_turn(things: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Turns one after the other from today on, for a year: first what has most left; what may stay all year needs none."""
    begin, last = clock.today(), clock.today() + YEAR
    order = sorted(things, key=lambda one: (-(one["left"] or 0), one["number"]))
    for thing in order:
        left = thing["left"]
        if thing["rests"] and not left:
            thing["turn"] = thing["rests"]
        elif left is None or left >= 7 * WEEKS:
            thing["turn"] = {"sort": "unknown" if left is None else "stays"}
        elif not left or begin >= last:
            thing["turn"] = {"sort": "waits" if left else "brief"}
        else:
            until = min(begin + timedelta(days=left - 1), last)
            thing["turn"] = {"sort": "turn", "from": begin.isoformat(), "until": until.isoformat()}
            begin = until + timedelta(days=1)
    return order
