"""The catalogue for programs: repeatable by the keys the client makes."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from collection.objects.actions.drawing import draw_zone, erase_zone
from collection.objects.actions.numbers import give_number, next_number
from collection.objects.actions.objects import create_object
from collection.objects.actions.parts import add_component
from collection.objects.actions.statements import say
from collection.objects.drawn import drawn_views
from collection.objects.models import Acceptance, Card, Component, Number, Object, Statement, ZoneNote
from collection.objects.queries import everything_said
from collection.objects.record import Spoken, record_of
from collection.objects.search import FILTERS, things_found
from museum import clock
from museum.errors import Invalid, NotFound
from museum.people.actor import Actor
from museum.people.doors import Needs, actor_of, body_of

WALK = ("after", "id", "dir", "from")
MOST_SAID = 500


@extend_schema(request=dict, responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("catalogue.see")])
def objects(request: Request) -> Response:
    """GET ?q=&kind=&grade=...: things found, fifty at a time; `on` and `back` are the queries of the pages beside it.
    POST {"id", "kind", "number" or "next_in", "as_written", "said", "materials", "components", "whose"}: a new one."""
    actor = actor_of(request)
    if request.method == "GET":
        asked = request.query_params
        filters = {name: asked.get(name, "") for name in FILTERS}
        found = things_found(actor, asked.get("q", ""), at={n: asked[n] for n in WALK if n in asked}, **filters)
        rows = [_row(card) for card in found.cards]
        pages = {"back": found.back or None, "on": found.on or None}
        return Response({"objects": rows, "total": found.total, "more": found.more, "nearly": found.nearly, **pages})
    body = body_of(request)
    key = _key(body.get("id"), "id")
    thing = create_object(
        actor.keyed(key), object_id=key, kind=_text(body, "kind"), number=_text(body, "number"),
        next_in=_text(body, "next_in"), as_written=body.get("as_written") is True, whose=_text(body, "whose"),
        said=_mapping(body, "said"), materials=[str(code) for code in _list(body, "materials")],
        components=[part for part in _list(body, "components") if isinstance(part, dict)],
    )  # fmt: skip
    return Response(_row(Card.objects.get(pk=thing.pk)), status=201)


@extend_schema(responses=dict)
@api_view(["GET"])
@permission_classes([Needs("catalogue.see")])
def one(request: Request, object_id: UUID) -> Response:
    """One thing with its record."""
    actor = actor_of(request)
    thing = _thing(actor, object_id)
    record = record_of(thing, actor)
    zones = [{"key": zone.key, "name": zone.name, "part": zone.part, "materials": zone.materials} for zone in record.zones]
    return Response(
        _row(thing.card)
        | {
            "version": thing.version, "how_many": thing.how_many, "public": thing.public, "whose": record.whose,
            "hazards": record.hazards, "zones": zones, "numbers": [_number(row) for row in record.numbers],
            "components": [_component(row) for row in record.components],
            "said": {line.field.code: [_spoken(said) for said in line.said] for line in record.filled},
        }
    )  # fmt: skip


@extend_schema(request=dict, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("catalogue.propose")])
def numbers(request: Request, object_id: UUID) -> Response:
    """{"id", "number" or "next_in" (and "year"), "as_written"}: gives a number, or issues the next of a series."""
    body, actor = body_of(request), actor_of(request)
    by = actor.keyed(_key(body.get("id"), "id"))
    _thing(actor, object_id)
    if series := _text(body, "next_in"):
        year = body.get("year")
        made = next_number(by, object_id, series, year if isinstance(year, int) else clock.today().year)
    else:
        made = give_number(by, object_id, _text(body, "number"), as_written=body.get("as_written") is True)
    return Response(_number(made), status=201)


@extend_schema(request=dict, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("catalogue.edit")])
def components(request: Request, object_id: UUID) -> Response:
    """{"id", "sort", "name", "lettered" or "letter", "zones"}: adds a part."""
    body, actor = body_of(request), actor_of(request)
    made = add_component(
        actor.keyed(_key(body.get("id"), "id")), object_id, sort=_text(body, "sort"), name=_text(body, "name"),
        lettered=body.get("lettered") is True, letter=_text(body, "letter"),
        zones=[str(zone) for zone in _list(body, "zones")],
    )  # fmt: skip
    return Response(_component(made), status=201)


@extend_schema(request=dict, responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("catalogue.edit")])
def drawn(request: Request, object_id: UUID) -> Response:
    """GET: the zones drawn on the thing's photographs. POST {"id", "component", "zone", "photograph", "shape", "name", "replaces"}: draws one.
    `shape` is a list of corners [x, y], 0 to 1 of the upright picture; `replaces` the shape that was seen, if there was one."""
    actor = actor_of(request)
    thing = _thing(actor, object_id)
    if request.method == "GET":
        return Response({"zones": [_drawn(zone.note) for view in drawn_views(thing) for zone in view.zones]})
    body = body_of(request)
    component = _key(body.get("component"), "component")
    if not thing.components.filter(pk=component).exists():
        raise NotFound
    made = draw_zone(
        actor.keyed(_key(body.get("id"), "id")), component, zone=_text(body, "zone"), photograph=_key(body.get("photograph"), "photograph"),
        shape=_list(body, "shape"), name=_text(body, "name"), replaces=_key(body["replaces"], "replaces") if body.get("replaces") else None,
    )  # fmt: skip
    return Response(_drawn(made), status=201)


@extend_schema(request=dict, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("catalogue.edit")])
def erase(request: Request, note_id: UUID) -> Response:
    """{"id", "reason"}: takes a drawn zone back."""
    body = body_of(request)
    erase_zone(actor_of(request).keyed(_key(body.get("id"), "id")), note_id, reason=_text(body, "reason"))
    return Response(status=204)


@extend_schema(responses=dict)
@api_view(["GET"])
@permission_classes([Needs("catalogue.see_all")])
def said(request: Request, object_id: UUID) -> Response:
    """All that was ever said of a thing, newest first."""
    thing = _thing(actor_of(request), object_id)
    return Response({"statements": [_statement(row) for row in everything_said(thing)[:MOST_SAID]]})


@extend_schema(request=dict, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("catalogue.propose")])
def statements(request: Request) -> Response:
    """{"id", "component", "field", "value", "words", "source", "certainty", "replaces"}: says something of a component.
    A value of null empties the field. `replaces` is the acceptance that the writer saw."""
    body, actor = body_of(request), actor_of(request)
    replaces = _key(body["replaces"], "replaces") if body.get("replaces") else None
    made = say(
        actor.keyed(_key(body.get("id"), "id")), _key(body.get("component"), "component"), _text(body, "field"),
        body.get("value"), words=_text(body, "words"), source=_text(body, "source"), replaces=replaces,
        certainty=_text(body, "certainty") or Statement.Certainty.SURE,
    )  # fmt: skip
    acceptance = Acceptance.objects.filter(statement=made).first()
    key = str(acceptance.pk) if acceptance else None
    return Response({"id": str(made.pk), "accepted": acceptance is not None, "acceptance": key}, status=201)


def _row(card: Card) -> dict[str, Any]:
    return {
        "id": str(card.object_id), "number": card.number, "name": card.name, "kind": card.kind, "date": card.date_text,
        "grade": card.grade, "urgency": card.urgency, "hazard_level": card.hazard_level,
    }  # fmt: skip


def _number(row: Number) -> dict[str, Any]:
    part = str(row.component_id) if row.component_id else None
    return {"id": str(row.pk), "number": row.text, "series": row.series, "state": row.state, "component": part}


def _component(row: Component) -> dict[str, Any]:
    return {"id": str(row.pk), "sort": row.sort, "name": row.name, "letter": row.letter, "version": row.version}


def _drawn(row: ZoneNote) -> dict[str, Any]:
    key = f"{row.component_id}/{row.zone}"
    return {"id": str(row.pk), "zone": key, "name": row.name, "photograph": str(row.photograph), "shape": row.shape}


def _spoken(one: Spoken) -> dict[str, Any]:
    row = one.statement
    return {
        "value": row.value, "words": row.words, "text": one.text, "certainty": row.certainty, "source": row.source,
        "component": str(row.component_id), "acceptance": str(row.acceptance.pk),
    }  # fmt: skip


def _statement(row: Statement) -> dict[str, Any]:
    acceptance = getattr(row, "acceptance", None)
    return {
        "id": str(row.pk), "component": str(row.component_id), "field": row.field.code, "value": row.value,
        "words": row.words, "source": row.source, "certainty": row.certainty, "recorded_at": row.recorded_at,
        "author": row.author.name if row.author else None, "acceptance": str(acceptance.pk) if acceptance else None,
        "replaced": acceptance is not None and hasattr(acceptance, "replaced_by"),
    }  # fmt: skip


def _thing(actor: Actor, object_id: UUID) -> Object:
    thing = Object.objects.visible_to(actor).select_related("card", "kind").filter(pk=object_id).first()
    if thing is None:
        raise NotFound
    return thing


def _text(body: dict[str, Any], name: str) -> str:
    value = body.get(name)
    if value is not None and not isinstance(value, str):
        raise Invalid(field=name)
    return value or ""


def _list(body: dict[str, Any], name: str) -> list[Any]:
    value = body.get(name)
    if value is not None and not isinstance(value, list):
        raise Invalid(field=name)
    return value or []


def _mapping(body: dict[str, Any], name: str) -> dict[str, Any]:
    value = body.get(name)
    if value is not None and not isinstance(value, dict):
        raise Invalid(field=name)
    return value or {}


def _key(value: Any, field: str) -> UUID:
    try:
        return UUID(str(value))
    except ValueError:
        raise Invalid(field=field) from None
