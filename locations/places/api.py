"""Places and movements for programs: repeatable by the key that the client makes."""

from datetime import date
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from collection.objects.models import Object
from locations.places import actions, deciding, placing
from locations.places.models import Misplaced, Movement, Place
from museum.errors import NotFound
from museum.people.bodies import Keyed, read_by
from museum.people.doors import Needs, actor_of


class MoveBody(Keyed):
    """Of an object or of a box. Without a day or an instant it is now: the rules are asked first, unless it stands there already."""

    object = serializers.UUIDField(required=False)
    box = serializers.UUIDField(required=False)
    to = serializers.ChoiceField(Movement.To.choices, default=Movement.To.PLACE)
    place = serializers.UUIDField(required=False, allow_null=True)
    parts = serializers.ListField(child=serializers.UUIDField(), required=False)
    reason = serializers.CharField(required=False, allow_blank=True)
    happened_on = serializers.DateField(required=False, allow_null=True)
    happened_at = serializers.DateTimeField(required=False, allow_null=True)
    return_by = serializers.DateField(required=False, allow_null=True)
    resting = serializers.ChoiceField(Movement.Resting.choices, default=Movement.Resting.SUPPORT)
    stands_already = serializers.BooleanField(default=False)
    accepts = serializers.CharField(required=False, allow_blank=True, help_text="who decided on humidities that do not meet there, and why")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if ("object" in attrs) == ("box" in attrs):
            raise serializers.ValidationError({"object": "either an object or a box"})
        return attrs


class HumidityBody(Keyed):
    reason = serializers.CharField(allow_blank=True)
    withdraws = serializers.UUIDField(required=False, help_text="the decision that is taken back")


class CorrectBody(Keyed):
    reason = serializers.CharField()
    place = serializers.UUIDField(required=False, allow_null=True)


class NewPlaceBody(Keyed):
    level = serializers.ChoiceField(Place.Level.choices)
    code = serializers.CharField()
    name = serializers.CharField()
    within = serializers.UUIDField(required=False, allow_null=True)
    use = serializers.ChoiceField(Place.Use.choices, required=False, allow_blank=True)
    closed_container = serializers.BooleanField(default=False)
    walk = serializers.IntegerField(default=0, min_value=0, max_value=32_767)


class PlaceBody(Keyed):
    version = serializers.IntegerField()
    code = serializers.CharField()
    name = serializers.CharField()
    use = serializers.ChoiceField(Place.Use.choices, allow_blank=True)
    walk = serializers.IntegerField(min_value=0, max_value=32_767)


class DescribeBody(Keyed):
    version = serializers.IntegerField()
    spot = serializers.ChoiceField(Place.Spot.choices, allow_blank=True, default="")
    sun = serializers.BooleanField(default=False)
    off_floor_cm = serializers.IntegerField(min_value=0, max_value=1000, required=False, allow_null=True)
    closed_container = serializers.BooleanField(default=False)


class CloseBody(Keyed):
    reason = serializers.CharField(allow_blank=True)


@extend_schema(request=MoveBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("movement.record")])
def movements(request: Request) -> Response:
    """Records that an object or a box went somewhere; warnings are answered. What is planned may be refused, what has happened is stored."""
    said = read_by(MoveBody, request)
    actor = actor_of(request).keyed(said["id"])
    told: dict[str, Any] = {name: said.get(name) for name in ("happened_on", "happened_at", "return_by")}
    told |= {"to": said["to"], "place_id": said.get("place"), "reason": said.get("reason", ""), "accepts": said.get("accepts", "")}
    told["planned"] = not (said["stands_already"] or said.get("happened_on") or said.get("happened_at"))
    if "box" in said:
        warnings = actions.move_box(actor, said["box"], **told)
    else:
        warnings = actions.move_object(actor, said["object"], parts=said.get("parts", []), resting=said["resting"], **told)
    return Response({"id": str(said["id"]), "warnings": warnings}, status=201)


@extend_schema(methods=["POST"], request=HumidityBody, responses=dict)
@extend_schema(methods=["GET"], responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("movement.record")])
def humidity(request: Request, object_id: Any) -> Response:
    """GET: what was decided on humidities that do not meet where a thing stood. POST: decides for where it stands now, or takes a decision back."""
    if not Object.objects.visible_to(actor_of(request)).filter(pk=object_id).exists():
        raise NotFound
    if request.method == "GET":
        return Response({"decisions": [_decision(one, exact=actor_of(request).may("place.see_exact")) for one in deciding.shown(object_id)]})
    said = read_by(HumidityBody, request)
    by, old = actor_of(request).keyed(said["id"]), said.get("withdraws")
    fact = deciding.withdraw_humidity(by, object_id, old, reason=said["reason"]) if old else deciding.decide_humidity(by, object_id, reason=said["reason"])
    return Response({"id": str(fact.pk)}, status=201)


def _decision(one: deciding.Shown, *, exact: bool) -> dict[str, Any]:
    row = one.decision
    return {
        "id": str(row.pk), "place": str(row.place_id) if exact else None, "pairs": row.pairs, "reason": row.reason, "by": row.by.name if row.by else "",
        "on": row.happened_on.isoformat(), "counts": one.counts,
    }  # fmt: skip


@extend_schema(request=CorrectBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("movement.record")])
def correct(request: Request, movement_id: Any) -> Response:
    """Corrects a movement: it went to `place`, or without one it never happened."""
    said = read_by(CorrectBody, request)
    fact = actions.correct_move(actor_of(request).keyed(said["id"]), movement_id, reason=said["reason"], place_id=said.get("place"))
    return Response({"id": str(fact.pk)}, status=201)


@extend_schema(methods=["POST"], request=NewPlaceBody, responses=dict)
@extend_schema(methods=["GET"], responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("place.set_up")])
def places(request: Request) -> Response:
    """GET: the open places in walking order. POST: a new one; a box has no parent, it is moved to where it stands."""
    actions.demand_set_up(actor_of(request))
    if request.method == "GET":
        rows = Place.objects.filter(closed_on=None).order_by("mobile", "path_key", "code")
        return Response({"places": [_row(place) for place in rows]})
    said = read_by(NewPlaceBody, request)
    made = actions.make_place(
        actor_of(request).keyed(said["id"]), place_id=said["id"], level=said["level"], code=said["code"], name=said["name"],
        parent_id=said.get("within"), use=said.get("use", ""), mobile=said["level"] == Place.Level.BOX,
        closed_container=said["closed_container"], walk=said["walk"],
    )  # fmt: skip
    return Response(_row(made), status=201)


@extend_schema(request=PlaceBody, responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("place.edit")])
def change(request: Request, place_id: Any) -> Response:
    """GET: one place. POST: renames it, changes its use or its turn in the walk; the version it was made from tells of a change meanwhile."""
    place = Place.objects.filter(pk=place_id).first()
    if place is None:
        raise NotFound
    if request.method == "POST":
        said = read_by(PlaceBody, request)
        fields = {name: said[name] for name in ("version", "code", "name", "use", "walk")}
        place = actions.change_place(actor_of(request).keyed(said["id"]), place_id, **fields)
    return Response(_row(place))


@extend_schema(request=DescribeBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("place.edit")])
def describe(request: Request, place_id: Any) -> Response:
    """What a place is like: attic or cellar, sun, height, closed."""
    said = read_by(DescribeBody, request)
    fields: dict[str, Any] = {name: said.get(name) for name in ("version", "spot", "sun", "off_floor_cm", "closed_container")}
    return Response(_row(actions.describe_place(actor_of(request).keyed(said["id"]), place_id, **fields)))


@extend_schema(responses=dict)
@api_view(["GET"])
@permission_classes([Needs("place.see_exact")])
def misplaced(request: Request) -> Response:
    """What stands as the rules would refuse it, the oldest first."""
    rows = [
        {"object": str(one.object_id), "number": one.object.card.number, "place": str(one.place_id), "code": one.code, "since": one.since, **_said(one)}
        for one in placing.urgent(actor_of(request))
    ]
    return Response({"misplaced": rows})


def _said(one: Misplaced) -> dict[str, str]:
    objection = placing.read_row(one)
    return {"why": placing.words(objection.why), "instead": placing.words(objection.instead)}


@extend_schema(request=CloseBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("place.edit")])
def close(request: Request, place_id: Any) -> Response:
    """Closes an empty place."""
    said = read_by(CloseBody, request)
    return Response(_row(actions.close_place(actor_of(request).keyed(said["id"]), place_id, reason=said["reason"])))


def _row(place: Place) -> dict[str, Any]:
    closed: date | None = place.closed_on
    return {
        "id": str(place.pk), "within": str(place.parent_id) if place.parent_id else None, "level": place.level, "code": place.code,
        "name": place.name, "use": place.use, "mobile": place.mobile, "walk": place.walk, "version": place.version,
        "spot": place.spot, "sun": place.sun, "off_floor_cm": place.off_floor_cm, "closed_container": place.closed_container,
        "closed_on": closed.isoformat() if closed else None,
    }  # fmt: skip
