"""Card tests and incidents for programs: repeatable by the key that the client makes."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from collection.objects.models import Object
from conservation.checks.actions import cards, incidents
from conservation.checks.models import CardTest, Incident, IncidentStep
from conservation.checks.views.incidents import find
from museum.people.bodies import Keyed, read_by
from museum.people.doors import Needs, actor_of


class CardBody(Keyed):
    object = serializers.UUIDField()
    zone = serializers.CharField(default="", allow_blank=True)
    finding = serializers.UUIDField(required=False, allow_null=True)
    card = serializers.ChoiceField(CardTest.Card.choices, default=CardTest.Card.WHITE)
    started_on = serializers.DateField(required=False, allow_null=True)
    photograph = serializers.UUIDField(required=False, allow_null=True)
    note = serializers.CharField(default="", allow_blank=True)


class ReadingBody(Keyed):
    reading = serializers.ChoiceField(CardTest.Reading.choices)
    read_on = serializers.DateField(required=False, allow_null=True)
    term = serializers.CharField(default="", allow_blank=True)
    material = serializers.CharField(default="", allow_blank=True)
    note = serializers.CharField(default="", allow_blank=True)


class IncidentBody(Keyed):
    kind = serializers.ChoiceField(Incident.Kind.choices)
    place = serializers.UUIDField()
    opened_on = serializers.DateField(required=False, allow_null=True)
    note = serializers.CharField(default="", allow_blank=True)
    square_metres = serializers.DecimalField(max_digits=6, decimal_places=2, required=False, allow_null=True)
    came_from = serializers.CharField(default="", allow_blank=True)


class StepBody(Keyed):
    kind = serializers.ChoiceField(IncidentStep.Kind.choices)
    note = serializers.CharField(default="", allow_blank=True)
    happened_on = serializers.DateField(required=False, allow_null=True)


class CloseBody(Keyed):
    highest_rh = serializers.DecimalField(max_digits=4, decimal_places=1, required=False, allow_null=True)
    record_from = serializers.DateField(required=False, allow_null=True)
    reason = serializers.CharField(default="", allow_blank=True)


@extend_schema(methods=["POST"], request=CardBody, responses=dict)
@extend_schema(methods=["GET"], responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("check.record")])
def card_tests(request: Request) -> Response:
    """GET: the cards laid out. POST: lays one."""
    if request.method == "GET":
        rows = CardTest.objects.filter(reading="", object__in=Object.objects.visible_to(actor_of(request))).order_by("due_on", "id")
        return Response({"cards": [_card(test) for test in rows]})
    said = read_by(CardBody, request)
    test = cards.start_card(
        actor_of(request).keyed(said["id"]), said["object"], test_id=said["id"], zone=said["zone"], finding_id=said.get("finding"), card=said["card"],
        started_on=said.get("started_on"), photograph=said.get("photograph"), note=said["note"],
    )  # fmt: skip
    return Response(_card(test), status=201)


@extend_schema(request=ReadingBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("check.record")])
def card_reading(request: Request, card_id: UUID) -> Response:
    """Reads a card; the answer names the check that its reading made."""
    said = read_by(ReadingBody, request)
    key = said.pop("id")
    return Response(_card(cards.read_card(actor_of(request).keyed(key), card_id, **said)))


@extend_schema(methods=["POST"], request=IncidentBody, responses=dict)
@extend_schema(methods=["GET"], responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("event.report")])
def incident_list(request: Request) -> Response:
    """GET: the open incidents. POST: opens one; what is at risk is listed by a job."""
    if request.method == "GET":
        return Response({"incidents": [_incident(one) for one in Incident.objects.filter(closed_on=None).order_by("opened_on", "id")]})
    said = read_by(IncidentBody, request)
    key = said.pop("id")
    place, source = said.pop("place"), said.pop("came_from")
    return Response(_incident(incidents.open_incident(actor_of(request).keyed(key), incident_id=key, place_id=place, source=source, **said)), status=201)


@extend_schema(responses=dict)
@api_view(["GET"])
@permission_classes([Needs("event.report")])
def incident(request: Request, incident_id: UUID) -> Response:
    """One incident with its steps; to whoever may close it also the record that its room gives, as the body of the closing asks for it."""
    found = find(incident_id)
    steps = [{"kind": step.kind, "on": step.happened_on, "note": step.note} for step in found.steps.order_by("happened_on", "id")]
    told = {"on_record": _on_record(found)} if actor_of(request).may("hazard.close") and not found.closed_on else {}
    return Response({**_incident(found), "steps": steps, **told})


@extend_schema(request=StepBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("event.report")])
def incident_step(request: Request, incident_id: UUID) -> Response:
    """Says what was done."""
    said = read_by(StepBody, request)
    key = said.pop("id")
    return Response({"id": str(incidents.add_step(actor_of(request).keyed(key), incident_id, **said).pk)}, status=201)


@extend_schema(request=CloseBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("hazard.close")])
def incident_close(request: Request, incident_id: UUID) -> Response:
    """Closes it with the climate record or a reason."""
    said = read_by(CloseBody, request)
    key = said.pop("id")
    return Response(_incident(incidents.close_incident(actor_of(request).keyed(key), incident_id, **said)))


def _card(test: CardTest) -> dict[str, Any]:
    return {
        "id": str(test.pk), "object": str(test.object_id), "zone": test.zone, "finding": test.finding_id, "card": test.card, "started_on": test.started_on,
        "due_on": test.due_on, "reading": test.reading, "read_on": test.read_on, "check": test.of_check_id,
    }  # fmt: skip


def _on_record(found: Incident) -> dict[str, Any] | None:
    record = incidents.record_of(found).record
    if record is None:
        return None
    return {
        "record_from": record.first, "highest_rh": incidents.highest_of(record), "loggers": record.loggers, "known_hours": record.known, "hours": record.hours,
        "by_hand": record.by_hand,
    }  # fmt: skip


def _incident(found: Incident) -> dict[str, Any]:
    return {
        "id": str(found.pk), "kind": found.kind, "place": str(found.place_id), "opened_on": found.opened_on, "came_from": found.source, "job": found.job,
        "at_risk": found.at_risk.count(), "listed": found.listed_at is not None, "closed_on": found.closed_on, "version": found.version,
    }  # fmt: skip
