"""The page of the walls colder than a room: which place stands against one, what the air comes to there, and the fields to tell it; doors for programs."""

from datetime import date
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from collection.objects.views.common import acting, chosen, done, sent_key
from locations.climate import typed
from locations.climate.actions.walls import end_wall, tell_wall
from locations.climate.models import Wall
from locations.climate.walls import beside, places_in, walls_in
from locations.climate.whatif.figures import place_for
from museum import clock
from museum.errors import Invalid
from museum.people.bodies import Keyed, Words, read_by
from museum.people.doors import Needs, actor_of, needs


@require_safe
@needs("climate.see")
def walls(request: HttpRequest, place_id: UUID) -> HttpResponse:
    """The colder walls of a place and of what lies in it."""
    place = place_for(place_id)
    context = {
        "place": place, "walls": [(one, beside(one.place)) for one in walls_in(place_id)], "places": places_in(place_id), "today": clock.today(),
        "sets_up": actor_of(request).may("climate.set_up"), "charted": place.level == place.Level.ROOM,
    }  # fmt: skip
    return render(request, "climate/walls.html", context)


@require_POST
@needs("climate.set_up")
def tell(request: HttpRequest, place_id: UUID) -> HttpResponse:
    """A place stands against a colder wall, or does not any more."""
    place_for(place_id)
    actor, fields = acting(request), request.POST
    acts = {
        "told": lambda: tell_wall(
            actor, sent_key(request, "place"), colder=_figure(request), on=_day(request, "on"), measured_on=_day(request, "measured_on"),
            reason=fields.get("reason", ""),
        ),
        "ended": lambda: end_wall(actor, sent_key(request, "place"), on=_day(request, "on"), reason=fields.get("reason", "")),
    }  # fmt: skip
    return done(request, chosen(request, acts), "climate:walls", place_id)


def _figure(request: HttpRequest) -> float:
    value = typed.figure(request.POST.get("colder"), "colder")
    if value is None:
        raise Invalid(_("How much colder is the wall than the air? A figure in °C is needed."), field="colder")
    return value


def _day(request: HttpRequest, field: str) -> date:
    return typed.day(request.POST.get(field), field) or clock.today()


class WallBody(Keyed):
    """Without `colder` it does not stand against the wall any more; days are today where they are not said."""

    colder = serializers.FloatField(required=False, allow_null=True, default=None, help_text="K below the room")
    on = serializers.DateField(required=False, allow_null=True, default=None)
    measured_on = serializers.DateField(required=False, allow_null=True, default=None)
    reason = Words()


@extend_schema(request=WallBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("climate.set_up")])
def api_tell(request: Request, place_id: UUID) -> Response:
    """A place stands against a colder wall, or does not any more."""
    said = read_by(WallBody, request)
    actor, on = actor_of(request).keyed(said["id"]), said["on"] or clock.today()
    if said["colder"] is None:
        fact = end_wall(actor, place_id, on=on, reason=said["reason"])
    else:
        fact = tell_wall(actor, place_id, colder=said["colder"], on=on, measured_on=said["measured_on"] or clock.today(), reason=said["reason"])
    return Response({"id": str(fact.pk)}, status=201)


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
        "place": {"id": str(fact.place_id), "code": fact.place.code}, "colder": fact.colder, "on": fact.happened_on, "measured_on": fact.measured_on,
        "reason": fact.reason, "known_hours": found.known, "damp_hours": {"room": room_damp, "wall": damp},
        "hours_above_80": {"room": room_wet, "wall": wet}, "dew_hours": found.dew,
        "mould_index": {"room": round(room_index.index, 2), "wall": round(index.index, 2)},
    }  # fmt: skip
