"""Bookings for programs: repeatable by the keys the client makes."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import PolymorphicProxySerializer, extend_schema
from rest_framework import serializers
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from collection.objects.actions.bookings import book, cancel_booking, change_booking
from collection.objects.bookings import planned_for
from collection.objects.models import Booking, Object
from museum import clock
from museum.errors import NotFound
from museum.people.bodies import Keyed, Words, read_by
from museum.people.doors import Needs, actor_of


class PlanBody(Keyed):
    kind = serializers.CharField()
    from_on = serializers.DateField()
    until_on = serializers.DateField()
    standing = serializers.CharField(default="asked")
    purpose = Words()


class BookBody(PlanBody):
    component = serializers.UUIDField(required=False, allow_null=True)


class ChangeBody(PlanBody):
    """The whole plan as it shall be, from the version that was seen."""

    version = serializers.IntegerField()
    reason = Words()


class CancelBody(Keyed):
    cancel = serializers.BooleanField()
    version = serializers.IntegerField()
    reason = Words()


@extend_schema(methods=["POST"], request=BookBody, responses=dict)
@extend_schema(methods=["GET"], responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("catalogue.see_all")])
def bookings(request: Request, object_id: UUID) -> Response:
    """GET: what is to come. POST: one more."""
    actor = actor_of(request)
    if not Object.objects.visible_to(actor).filter(pk=object_id).exists():
        raise NotFound
    if request.method == "GET":
        return Response({"bookings": [_row(row) for row in planned_for(object_id, clock.today())]})
    sent = read_by(BookBody, request)
    made = book(actor.keyed(sent["id"]), object_id, booking_id=sent["id"], component_id=sent.get("component"), **_plan(sent))
    return Response(_row(made), status=201)


@extend_schema(request=PolymorphicProxySerializer("BookingBody", [ChangeBody, CancelBody], None), responses=dict)
@api_view(["POST"])
@permission_classes([Needs("booking.make")])
def booking(request: Request, booking_id: UUID) -> Response:
    """The whole plan anew, or with "cancel": true no more of it."""
    if isinstance(request.data, dict) and request.data.get("cancel") is True:
        sent = read_by(CancelBody, request)
        row = cancel_booking(actor_of(request).keyed(sent["id"]), booking_id, version=sent["version"], reason=sent["reason"])
    else:
        sent = read_by(ChangeBody, request)
        row = change_booking(actor_of(request).keyed(sent["id"]), booking_id, version=sent["version"], changes=_plan(sent), reason=sent["reason"])
    return Response(_row(row))


def _plan(sent: dict[str, Any]) -> dict[str, Any]:
    return {name: sent[name] for name in ("kind", "from_on", "until_on", "standing", "purpose")}


def _row(row: Booking) -> dict[str, Any]:
    days = {"from_on": row.from_on.isoformat(), "until_on": row.until_on.isoformat()}
    said = {"kind": row.kind, "standing": row.standing, "purpose": row.purpose, "version": row.version}
    return {"id": str(row.pk), "object": str(row.object_id), "component": str(row.component_id)} | days | said
