"""The page of the walls colder than a room: which place stands against one, what the air comes to there, and the fields to tell it; doors for programs."""

from collections.abc import Callable
from datetime import date
from typing import Any, Final
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST, require_safe
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from collection.objects.views.common import acting, chosen, key_in, sent_key
from locations.climate import typed
from locations.climate.actions.walls import Readings, end_wall, tell_wall, tell_wall_by_quality
from locations.climate.models import Wall
from locations.climate.walls import beside, outdoors_now, places_in, walls_in
from locations.climate.whatif.figures import place_for
from locations.places.models import Place
from museum import clock
from museum.errors import Invalid
from museum.people.bodies import Keyed, Words, read_by
from museum.people.doors import Needs, actor_of, needs


@require_safe
@needs("climate.see")
def walls(request: HttpRequest, place_id: UUID) -> HttpResponse:
    """The colder walls of a place and of what lies in it."""
    return render(request, "climate/walls.html", _context(request, place_for(place_id)))


def _context(request: HttpRequest, place: Place) -> dict[str, Any]:
    actor = actor_of(request)
    return {
        "place": place, "walls": [(one, beside(one.place)) for one in walls_in(place.pk)], "places": places_in(place.pk), "today": clock.today(),
        "sets_up": actor.may("climate.set_up"), "charted": place.level == place.Level.ROOM,
        "outdoors": outdoors_now(place.pk) if actor.may("climate.set_up") else [],
    }  # fmt: skip


@require_POST
@needs("climate.set_up")
def tell(request: HttpRequest, place_id: UUID) -> HttpResponse:
    """A place stands against a colder wall, or does not any more; what was typed wrongly is shown again as it was."""
    place, actor, fields = place_for(place_id), acting(request), request.POST
    acts: dict[str, Callable[[], Wall]] = {
        "told": lambda: tell_wall(
            actor, sent_key(request, "place"), colder=_figure(request, "colder"), on=_day(request, "on"), measured_on=_day(request, "measured_on"),
            reason=fields.get("reason", ""),
        ),
        "quality": lambda: tell_wall_by_quality(
            actor, sent_key(request, "place"), readings=Readings(*(_figure(request, name) for name in ("room", "wall", "outdoors"))),
            on=_day(request, "on"), measured_on=_day(request, "measured_on"), reason=fields.get("reason", ""),
        ),
        "ended": lambda: end_wall(actor, sent_key(request, "place"), on=_day(request, "on"), reason=fields.get("reason", "")),
    }  # fmt: skip
    try:
        chosen(request, acts)()
    except Invalid as refused:
        told = {"error": refused.sentence, f"typed_{fields['do']}": fields, "of": key_in(fields.get("place"))}
        return render(request, "climate/walls.html", _context(request, place) | told, status=400)
    messages.success(request, _("Stored."))
    return redirect("climate:walls", place_id)


def _figure(request: HttpRequest, field: str) -> float:
    value = typed.figure(request.POST.get(field), field)
    if value is None:
        raise Invalid(_LACKING[field], field=field)
    return value


_LACKING: Final = {
    "colder": gettext_lazy("How much colder is the wall than the air? A figure in °C is needed."),
    "room": gettext_lazy("How warm was the air in the room? All three readings are needed."),
    "wall": gettext_lazy("How warm was the wall? All three readings are needed."),
    "outdoors": gettext_lazy("How warm was it outdoors? All three readings are needed."),
}


def _day(request: HttpRequest, field: str) -> date:
    return typed.day(request.POST.get(field), field) or clock.today()


class ReadingsBody(serializers.Serializer[Any]):
    """Read at one time on a cold day."""

    room = serializers.FloatField(help_text="°C of its air")
    wall = serializers.FloatField(help_text="°C of its inner face")
    outdoors = serializers.FloatField(help_text="°C of the air")


class WallBody(Keyed):
    """`colder` or `readings`, not both; without either it does not stand against the wall any more. Days are today where they are not said."""

    colder = serializers.FloatField(required=False, allow_null=True, default=None, help_text="K below the room, all the year")
    readings = ReadingsBody(required=False, allow_null=True, default=None, help_text="tell its quality, by which the air outdoors makes it colder or warmer")
    on = serializers.DateField(required=False, allow_null=True, default=None)
    measured_on = serializers.DateField(required=False, allow_null=True, default=None)
    reason = Words()


@extend_schema(request=WallBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("climate.set_up")])
def api_tell(request: Request, place_id: UUID) -> Response:
    """A place stands against a colder wall, or does not any more."""
    said = read_by(WallBody, request)
    actor, on, measured_on = actor_of(request).keyed(said["id"]), said["on"] or clock.today(), said["measured_on"] or clock.today()
    if said["colder"] is not None and said["readings"] is not None:
        raise Invalid(_("Tell the wall by its difference or by three readings, not by both."), field="readings")
    if said["readings"] is not None:
        read = Readings(**said["readings"])
        fact = tell_wall_by_quality(actor, place_id, readings=read, on=on, measured_on=measured_on, reason=said["reason"])
    elif said["colder"] is not None:
        fact = tell_wall(actor, place_id, colder=said["colder"], on=on, measured_on=measured_on, reason=said["reason"])
    else:
        fact = end_wall(actor, place_id, on=on, reason=said["reason"])
    return Response({"id": str(fact.pk), "colder": fact.colder, "quality": fact.quality}, status=201)


@extend_schema(responses=dict)
@api_view(["GET"])
@permission_classes([Needs("climate.see")])
def api_walls(request: Request, place_id: UUID) -> Response:
    """The colder walls of a place and of what lies in it, with the hours of the last year against them: in the room and at the wall."""
    return Response({"walls": [_row(one) for one in walls_in(place_for(place_id).pk)]})


def _row(fact: Wall) -> dict[str, Any]:
    found = beside(fact.place)
    (room_damp, damp), (room_wet, wet), (room_index, index) = found.damp, found.wet, found.index
    return {
        "place": {"id": str(fact.place_id), "code": fact.place.code}, "colder": fact.colder, "quality": fact.quality,
        "on": fact.happened_on, "measured_on": fact.measured_on, "reason": fact.reason, "known_hours": found.known, "unknown_outdoors": found.unknown,
        "wall_t": dict(zip(("lowest", "highest"), (round(t, 1) for t in found.warmth), strict=True)) if found.known else None,
        "damp_hours": {"room": room_damp, "wall": damp},
        "hours_above_80": {"room": room_wet, "wall": wet}, "dew_hours": found.dew,
        "mould_index": {"room": round(room_index.index, 2), "wall": round(index.index, 2)},
    }  # fmt: skip
