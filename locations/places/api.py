"""Movements for programs: repeatable by the client's key."""

from datetime import date
from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from locations.places.actions import move_box, move_object
from museum.errors import Invalid
from museum.people.doors import Needs


@extend_schema(request=dict, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("movement.record")])
def movements(request: Request) -> Response:
    """{"id", "object" or "box", "to", "place", "parts", "happened_on", "reason"}: recorded once, warnings answered."""
    body: dict[str, Any] = request.data if isinstance(request.data, dict) else {}
    actor = request.actor.keyed(_key(body.get("id"), "id"))  # type: ignore[attr-defined]
    on = _day(body.get("happened_on"))
    place = _key(body["place"], "place") if body.get("place") else None
    if body.get("box"):
        if place is None:
            raise Invalid(field="place")
        warnings = move_box(actor, _key(body["box"], "box"), place_id=place, reason=str(body.get("reason", "")), happened_on=on)
    else:
        parts = [_key(part, "parts") for part in body.get("parts") or []]
        warnings = move_object(
            actor, _key(body.get("object"), "object"), to=str(body.get("to", "place")), place_id=place, parts=parts,
            reason=str(body.get("reason", "")), happened_on=on,
        )  # fmt: skip
    return Response({"id": str(body.get("id")), "warnings": warnings}, status=201)


def _key(value: Any, field: str) -> UUID:
    try:
        return UUID(str(value))
    except ValueError:
        raise Invalid(field=field) from None


def _day(value: Any) -> date | None:
    if value in (None, ""):
        return None
    try:
        return date.fromisoformat(str(value))
    except ValueError:
        raise Invalid(field="happened_on") from None
