"""The catalogue for programs: repeatable by the keys the client makes."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from collection.objects.actions.objects import create_object
from collection.objects.actions.statements import say
from collection.objects.models import Card, Object
from collection.objects.record import record_of
from collection.objects.search import cards_for
from museum.errors import Invalid, NotFound
from museum.people.doors import Needs

A_PAGE = 50


@extend_schema(request=dict, responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("catalogue.see")])
def objects(request: Request) -> Response:
    """GET ?q=&page=: things found. POST {"id", "kind", "number" or "next_in", "said", "materials", "whose"}: a new one."""
    actor = request.actor  # type: ignore[attr-defined]
    if request.method == "GET":
        number = request.query_params.get("page", "1")
        start = (max(1, int(number)) - 1) * A_PAGE if number.isdigit() else 0
        rows = cards_for(actor, request.query_params.get("q", ""))[start : start + A_PAGE]
        return Response({"objects": [_row(card) for card in rows]})
    body = _body(request)
    key = _key(body.get("id"), "id")
    said = body.get("said") or {}
    if not isinstance(said, dict):
        raise Invalid(field="said")
    thing = create_object(
        actor.keyed(key), object_id=key, kind=str(body.get("kind", "")), number=str(body.get("number", "")), next_in=str(body.get("next_in", "")),
        as_written=body.get("as_written") is True, said=said, materials=[str(code) for code in body.get("materials") or []],
        whose=str(body.get("whose", "")),
    )  # fmt: skip
    return Response(_row(Card.objects.get(pk=thing.pk)), status=201)


@extend_schema(responses=dict)
@api_view(["GET"])
@permission_classes([Needs("catalogue.see")])
def one(request: Request, object_id: UUID) -> Response:
    """One thing with its record."""
    actor = request.actor  # type: ignore[attr-defined]
    thing = Object.objects.visible_to(actor).select_related("card", "kind").filter(pk=object_id).first()
    if thing is None:
        raise NotFound()
    record = record_of(thing, actor)
    fields = {line.field.code: [{"value": s.value, "words": s.words} for s in line.statements] for line in record.filled}
    zones = [{"key": zone.key, "name": zone.name, "part": zone.part, "materials": zone.materials} for zone in record.zones]
    return Response(_row(thing.card) | {"version": thing.version, "fields": fields, "zones": zones, "hazards": record.hazards})


@extend_schema(request=dict, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("catalogue.propose")])
def statements(request: Request) -> Response:
    """{"id", "component", "field", "value", "words", "source", "replaces"}: says something of a component."""
    body = _body(request)
    replaces = _key(body["replaces"], "replaces") if body.get("replaces") else None
    made = say(
        request.actor.keyed(_key(body.get("id"), "id")), _key(body.get("component"), "component"), str(body.get("field", "")),  # type: ignore[attr-defined]
        body.get("value"), words=str(body.get("words", "")), source=str(body.get("source", "")), replaces=replaces,
    )  # fmt: skip
    return Response({"id": str(made.pk), "accepted": hasattr(made, "acceptance")}, status=201)


def _row(card: Card) -> dict[str, Any]:
    return {
        "id": str(card.object_id), "number": card.number, "name": card.name, "kind": card.kind, "date": card.date_text, "grade": card.grade,
        "urgency": card.urgency, "hazard_level": card.hazard_level,
    }  # fmt: skip


def _body(request: Request) -> dict[str, Any]:
    if not isinstance(request.data, dict):
        raise Invalid(field="body")
    return dict(request.data)


def _key(value: Any, field: str) -> UUID:
    try:
        return UUID(str(value))
    except ValueError:
        raise Invalid(field=field) from None
