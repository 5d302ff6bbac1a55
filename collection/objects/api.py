"""The catalogue for programs: repeatable by the keys the client makes."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
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
from museum.errors import NotFound
from museum.people.actor import Actor
from museum.people.bodies import Keyed, Words, read_by
from museum.people.doors import Needs, actor_of

WALK = ("after", "id", "dir", "from")
MOST_SAID = 500


class NewThingBody(Keyed):
    """`number`, or of which series the next one is given; what `said` takes are the fields of the record."""

    kind = Words()
    number = Words()
    next_in = Words()
    as_written = serializers.BooleanField(default=False)
    whose = Words()
    said = serializers.DictField(default=dict)
    materials = serializers.ListField(child=serializers.CharField(), default=list)
    components = serializers.ListField(child=serializers.DictField(), default=list)


class NumberBody(Keyed):
    """`number`, or the next of a series and, where it counts by years, the year."""

    number = Words()
    next_in = Words()
    year = serializers.IntegerField(required=False, allow_null=True, min_value=1000, max_value=2999)
    as_written = serializers.BooleanField(default=False)


class ComponentBody(Keyed):
    sort = Words()
    name = Words()
    lettered = serializers.BooleanField(default=False)
    letter = Words()
    zones = serializers.ListField(child=serializers.CharField(), default=list)


class ShapeBody(Keyed):
    """`shape` is a list of corners [x, y], 0 to 1 of the upright picture; `replaces` the shape that was seen, if there was one."""

    component = serializers.UUIDField()
    zone = Words()
    photograph = serializers.UUIDField()
    shape = serializers.ListField(default=list)
    name = Words()
    replaces = serializers.UUIDField(required=False, allow_null=True)


class ReasonBody(Keyed):
    reason = Words()


class StatementBody(Keyed):
    """A value of null empties the field. `replaces` is the acceptance that the writer saw."""

    component = serializers.UUIDField()
    field = Words()
    value = serializers.JSONField(default=None, allow_null=True)
    words = Words()
    source = Words()  # type: ignore[assignment]
    certainty = Words()
    replaces = serializers.UUIDField(required=False, allow_null=True)


@extend_schema(methods=["POST"], request=NewThingBody, responses=dict)
@extend_schema(methods=["GET"], responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("catalogue.see")])
def objects(request: Request) -> Response:
    """GET ?q=&kind=&grade=...: things found, fifty at a time; `on` and `back` are the queries of the pages beside it.
    POST: a new one."""
    actor = actor_of(request)
    if request.method == "GET":
        asked = request.query_params
        filters = {name: asked.get(name, "") for name in FILTERS}
        found = things_found(actor, asked.get("q", ""), at={n: asked[n] for n in WALK if n in asked}, **filters)
        rows = [_row(card) for card in found.cards]
        pages = {"back": found.back or None, "on": found.on or None}
        return Response({"objects": rows, "total": found.total, "more": found.more, "nearly": found.nearly, **pages})
    sent = read_by(NewThingBody, request)
    told: dict[str, Any] = {name: sent[name] for name in ("kind", "number", "next_in", "as_written", "whose", "said", "materials", "components")}
    thing = create_object(actor.keyed(sent["id"]), object_id=sent["id"], **told)
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


@extend_schema(request=NumberBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("catalogue.propose")])
def numbers(request: Request, object_id: UUID) -> Response:
    """Gives a number, or issues the next of a series."""
    sent, actor = read_by(NumberBody, request), actor_of(request)
    by = actor.keyed(sent["id"])
    _thing(actor, object_id)
    if sent["next_in"]:
        made = next_number(by, object_id, sent["next_in"], sent.get("year") or clock.today().year)
    else:
        made = give_number(by, object_id, sent["number"], as_written=sent["as_written"])
    return Response(_number(made), status=201)


@extend_schema(request=ComponentBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("catalogue.edit")])
def components(request: Request, object_id: UUID) -> Response:
    """Adds a part."""
    sent = read_by(ComponentBody, request)
    told: dict[str, Any] = {name: sent[name] for name in ("sort", "name", "lettered", "letter", "zones")}
    return Response(_component(add_component(actor_of(request).keyed(sent["id"]), object_id, **told)), status=201)


@extend_schema(methods=["POST"], request=ShapeBody, responses=dict)
@extend_schema(methods=["GET"], responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("catalogue.edit")])
def drawn(request: Request, object_id: UUID) -> Response:
    """GET: the zones drawn on the thing's photographs. POST: draws one."""
    actor = actor_of(request)
    thing = _thing(actor, object_id)
    if request.method == "GET":
        return Response({"zones": [_drawn(zone.note) for view in drawn_views(thing) for zone in view.zones]})
    sent = read_by(ShapeBody, request)
    if not thing.components.filter(pk=sent["component"]).exists():
        raise NotFound
    told: dict[str, Any] = {name: sent.get(name) for name in ("zone", "photograph", "shape", "name", "replaces")}
    return Response(_drawn(draw_zone(actor.keyed(sent["id"]), sent["component"], **told)), status=201)


@extend_schema(request=ReasonBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("catalogue.edit")])
def erase(request: Request, note_id: UUID) -> Response:
    """Takes a drawn zone back."""
    sent = read_by(ReasonBody, request)
    erase_zone(actor_of(request).keyed(sent["id"]), note_id, reason=sent["reason"])
    return Response(status=204)


@extend_schema(responses=dict)
@api_view(["GET"])
@permission_classes([Needs("catalogue.see_all")])
def said(request: Request, object_id: UUID) -> Response:
    """All that was ever said of a thing, newest first."""
    thing = _thing(actor_of(request), object_id)
    return Response({"statements": [_statement(row) for row in everything_said(thing)[:MOST_SAID]]})


@extend_schema(request=StatementBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("catalogue.propose")])
def statements(request: Request) -> Response:
    """Says something of a component."""
    sent = read_by(StatementBody, request)
    made = say(
        actor_of(request).keyed(sent["id"]), sent["component"], sent["field"], sent["value"], words=sent["words"], source=sent["source"],
        replaces=sent.get("replaces"), certainty=sent["certainty"] or Statement.Certainty.SURE,
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
