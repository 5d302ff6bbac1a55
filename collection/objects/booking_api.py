"""Bookings for programs: repeatable by the keys the client makes."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from collection.objects.actions.bookings import book, cancel_booking, change_booking
from collection.objects.bookings import planned_for
from collection.objects.models import Booking, Object
from collection.objects.views.bookings import day_in
from collection.objects.views.common import key_in
from museum import clock
from museum.errors import Invalid, NotFound
from museum.people.doors import Needs, actor_of, body_of


@extend_schema(request=dict, responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("catalogue.see_all")])
def bookings(request: Request, object_id: UUID) -> Response:
    """GET: what is to come. POST {"id", "kind", "from_on", "until_on", "standing", "purpose", "component"}: one more."""
    actor = actor_of(request)
    if not Object.objects.visible_to(actor).filter(pk=object_id).exists():
        raise NotFound
    if request.method == "GET":
        return Response({"bookings": [_row(row) for row in planned_for(object_id, clock.today())]})
    body = body_of(request)
    key = _key(body)
    made = book(actor.keyed(key), object_id, booking_id=key, component_id=key_in(body.get("component")), **_plan(body))
    return Response(_row(made), status=201)


@extend_schema(request=dict, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("booking.make")])
def booking(request: Request, booking_id: UUID) -> Response:
    """{"id", "version", "reason"} and the whole plan, or "cancel": true."""
    body, actor = body_of(request), actor_of(request)
    by, version, reason = actor.keyed(_key(body)), body.get("version"), str(body.get("reason", ""))
    if not isinstance(version, int):
        raise Invalid(field="version")
    if body.get("cancel") is True:
        return Response(_row(cancel_booking(by, booking_id, version=version, reason=reason)))
    return Response(_row(change_booking(by, booking_id, version=version, changes=_plan(body), reason=reason)))


def _key(body: dict[str, Any]) -> UUID:
    if (key := key_in(body.get("id"))) is None:
        raise Invalid(field="id")
    return key


def _plan(body: dict[str, Any]) -> dict[str, Any]:
    days = {name: day_in(str(body.get(name, "")), name) for name in ("from_on", "until_on")}
    return {"kind": str(body.get("kind", "")), "standing": str(body.get("standing") or "asked"), "purpose": str(body.get("purpose", ""))} | days


def _row(row: Booking) -> dict[str, Any]:
    days = {"from_on": row.from_on.isoformat(), "until_on": row.until_on.isoformat()}
    said = {"kind": row.kind, "standing": row.standing, "purpose": row.purpose, "version": row.version}
    return {"id": str(row.pk), "object": str(row.object_id), "component": str(row.component_id)} | days | said
