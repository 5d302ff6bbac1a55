"""Pages of what if: of one room, and of the window. They ask and answer by address alone; nothing is stored."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils.dates import MONTHS
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from collection.objects.views.common import key_in
from locations.climate import sentences, typed
from locations.climate.models import Wall
from locations.climate.science.surfaces import wall_temperature
from locations.climate.science.values import NoValue
from locations.climate.walls import walls_in
from locations.climate.whatif import choices, figures
from locations.climate.whatif.choices import Air
from locations.places.models import Place
from museum import clock
from museum.errors import Invalid
from museum.people.doors import actor_of, needs


@dataclass(frozen=True, slots=True)
class Asked:
    """What the address asks: humidity to reach, size and leaks of the room, the air outdoors, the coldest surface."""

    target: float
    volume: float | None
    leaks: str
    outside: Air | None
    cold: float | None


def asked(fields: QueryDict) -> Asked:
    """Raises Invalid for a figure that is none, or cannot be."""
    target = typed.figure(fields.get("target"), "target")
    pair = _within(fields, "t", -20, 50), _within(fields, "rh", 1, 100)
    if (pair[0] is None) != (pair[1] is None):
        raise Invalid(_("Outdoors both are needed, temperature and humidity."), field="rh" if pair[1] is None else "t")
    outside = (pair[0], pair[1]) if pair[0] is not None and pair[1] is not None else None
    leaks = fields.get("leaks", "")
    known = {one.code for one in choices.tightnesses()}
    return Asked(
        target if target in choices.TARGETS else choices.TARGET, _within(fields, "volume", 1, 100_000), leaks if leaks in known else "usual", outside,
        _within(fields, "cold", -20, 50),
    )  # fmt: skip


def _within(fields: QueryDict, name: str, low: float, high: float) -> float | None:
    value = typed.figure(fields.get(name), name)
    if value is not None and not low <= value <= high:
        told = {"value": sentences.figure(value), "low": sentences.figure(low), "high": sentences.figure(high)}
        raise Invalid(_("%(value)s cannot be. It lies between %(low)s and %(high)s."), field=name, **told)
    return value


@require_safe
@needs("climate.see")
def whatif(request: HttpRequest, place_id: UUID) -> HttpResponse:
    """What heating, airing, drying, sealing or another room would do for a room."""
    place = figures.place_for(place_id)
    error, wrong = "", ""
    try:
        said = asked(request.GET)
    except Invalid as refused:
        error, wrong, said = refused.sentence, refused.field or "", asked(QueryDict())
    days = figures.last_days(place)
    context: dict[str, Any] = {
        "place": place, "days": days, "said": said, "typed": request.GET, "error": error, "wrong": wrong, "targets": choices.TARGETS,
        "leaks": sentences.LEAKS.items(), "prints": actor_of(request).may("paper.issue"),
    }  # fmt: skip
    if days is not None:
        context |= _answers(place, days, said)
    return render(request, "climate/whatif.html", context, status=400 if error else 200)


def _answers(place: Place, days: figures.LastDays, said: Asked) -> dict[str, Any]:
    outside, whence = _outside(said)
    walls = [(one, _colder(one, days.air, outside)) for one in walls_in(place.pk)]
    told = [colder for _, colder in walls if colder is not None]
    seal = choices.seal(days.air, outside) if outside else None
    year = figures.heating_of_a_year(place, said.target)
    return {
        "heat": choices.heat(days.air, said.target), "months": [(str(MONTHS[one.month]), one) for one in year],
        "none_needed": days.air[1] <= said.target, "dry": _dry(days.air, said), "outside": outside, "whence": whence,
        "airing": choices.air_it(days.air, outside, days.air[0] - max(told) if said.cold is None and told else said.cold, said.target) if outside else None,
        "seal": seal, "walls": [(one, None if colder is None else choices.off_wall(days.air, colder, seal)) for one, colder in walls],
        "others": [(other, choices.move(days.air, other.air)) for other in figures.others(place)],
    }  # fmt: skip


def _colder(wall: Wall, air: Air, outside: Air | None) -> float | None:
    """How much colder than the room a wall is, K; none where it goes by the air outdoors and that is not known."""
    if not wall.quality:
        return wall.colder
    return air[0] - wall_temperature(air[0], outside[0], wall.quality) if outside else None


def _dry(air: Air, said: Asked) -> choices.Drying | None:
    if said.volume is None:
        return None
    try:
        return choices.dry(air, said.target, said.volume, choices.tightness(said.leaks))
    except NoValue:
        return None


def _outside(said: Asked) -> tuple[Air | None, str]:
    """The air outdoors and who told it: what was typed, else the mean of a logger's last days."""
    if said.outside is not None:
        return said.outside, _("as you typed it")
    for place in figures.outdoor_places():
        days = figures.last_days(place)
        if days is not None and not days.old:
            return days.air, _("mean of the last days at %(place)s") % {"place": place.name}
    return None, ""


@require_safe
@needs("climate.see")
def window(request: HttpRequest) -> HttpResponse:
    """Open the window now?"""
    rooms, error, wrong = figures.rooms(), "", ""
    key = key_in(request.GET.get("room"))
    room = figures.place_for(key) if key else None
    if room and room not in rooms:
        rooms = [*rooms, room]
    context: dict[str, Any] = {"rooms": rooms, "room": room, "typed": request.GET, "outdoors": None, "now": clock.now()}
    try:
        said = asked(request.GET)
        if room is not None:
            context |= _window(room, said, _inside(request.GET))
    except Invalid as refused:
        error, wrong = refused.sentence, refused.field or ""
    return render(request, "climate/window.html", context | {"error": error, "wrong": wrong}, status=400 if error else 200)


def _inside(fields: QueryDict) -> Air | None:
    """What was typed of the room itself; both figures or none."""
    t, rh = _within(fields, "room_t", -20, 50), _within(fields, "room_rh", 1, 100)
    if (t is None) != (rh is None):
        raise Invalid(_("Of the room both are needed, temperature and humidity."), field="room_rh" if rh is None else "room_t")
    return (t, rh) if t is not None and rh is not None else None


def _window(room: Place, said: Asked, inside: Air | None) -> dict[str, Any]:
    last, outside, at = figures.now_in(room), said.outside, None
    if outside is None:
        readings = [found for place in figures.outdoor_places() if (found := figures.now_in(place)) and clock.now() - found[1] <= figures.FRESH]
        if readings:
            outside, at = max(readings, key=lambda one: one[1])
    air = inside or (last[0] if last else None)
    answer = None
    if air is not None and outside is not None:
        try:
            answer = choices.air_it(air, outside, said.cold)
        except NoValue:
            raise Invalid(_("These figures lie outside what the formulas are good for: -20 to 50 °C and 1 to 100 %%."), field="t") from None
    return {
        "air": air, "read_at": None if inside else last[1] if last else None, "stale": bool(last and not inside and clock.now() - last[1] > figures.FRESH),
        "outdoors": outside, "outdoors_at": at, "answer": answer,
    }  # fmt: skip
