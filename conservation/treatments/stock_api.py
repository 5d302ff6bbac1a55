"""What is kept in stock, for programs. A body's `id` (UUID version 7, made by the client) makes a request repeatable."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from collection.objects.models import Object
from conservation.treatments import stock
from conservation.treatments.actions import stock as actions
from conservation.treatments.models import BatchTest
from museum.people.actor import Actor
from museum.people.doors import Needs, actor_of


class BatchBody(serializers.Serializer[Any]):
    """A delivery."""

    id = serializers.UUIDField(required=False)
    supply = serializers.CharField()
    number = serializers.CharField()
    received_on = serializers.DateField()
    expires_on = serializers.DateField(required=False, allow_null=True)
    maker = serializers.CharField(required=False, allow_blank=True)
    kept_at = serializers.CharField(required=False, allow_blank=True)
    note = serializers.CharField(required=False, allow_blank=True)


class ChangeBody(serializers.Serializer[Any]):
    """All that may change, and the version it was made from."""

    id = serializers.UUIDField(required=False)
    version = serializers.IntegerField()
    expires_on = serializers.DateField(allow_null=True)
    maker = serializers.CharField(allow_blank=True)
    kept_at = serializers.CharField(allow_blank=True)
    note = serializers.CharField(allow_blank=True)


class TestBody(serializers.Serializer[Any]):
    """A test of a batch."""

    __test__ = False

    id = serializers.UUIDField(required=False)
    sort = serializers.ChoiceField(BatchTest.Sort.choices)
    how = serializers.CharField()
    passed = serializers.BooleanField()
    on = serializers.DateField()


class MarkBody(serializers.Serializer[Any]):
    """Opened, or used up."""

    id = serializers.UUIDField(required=False)
    sort = serializers.ChoiceField([mark.value for mark in actions.MARKS])
    on = serializers.DateField(required=False)


class UseBody(serializers.Serializer[Any]):
    """Used to pack, pad or tag an object; `acknowledged` are the codes of the warnings that were read."""

    id = serializers.UUIDField(required=False)
    object = serializers.UUIDField()
    zone = serializers.CharField(required=False, allow_blank=True)
    amount = serializers.CharField(required=False, allow_blank=True)
    on = serializers.DateField(required=False)
    acknowledged = serializers.ListField(child=serializers.CharField(), required=False)


class RecallBody(serializers.Serializer[Any]):
    """Recalled, with the day of the looks; or, without one, the recall lifted."""

    id = serializers.UUIDField(required=False)
    reason = serializers.CharField()
    due_on = serializers.DateField(required=False)


@extend_schema(request=BatchBody, responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("stock.see")])
def batches(request: Request) -> Response:
    """GET: what is at hand, with `step` whether it may be used in that step. POST: takes a delivery into stock."""
    if request.method == "GET":
        return Response({"batches": [_shown(one) for one in stock.at_hand(request.GET.get("step") or None)]})
    by, said = _said(request, BatchBody)
    return Response(_shown(stock.may_use(actions.add_batch(by, **said))), status=201)


@extend_schema(request=ChangeBody, responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("stock.see")])
def batch(request: Request, batch_id: UUID) -> Response:
    """GET: one batch and where it was used. POST: changes what is written of it."""
    found = stock.batch_called(batch_id)
    if request.method == "POST":
        by, said = _said(request, ChangeBody)
        found = actions.change_batch(by, batch_id, **said)
    seen = Object.objects.visible_to(actor_of(request)).filter(batch_uses__batch=found)
    visible = set(seen.values_list("pk", flat=True))
    uses = [
        {"object": use.object_id, "zone": use.zone, "on": use.happened_on, "amount": use.amount, "step": use.work_step.step if use.work_step else None}
        for use in stock.uses_of(found)
        if use.object_id in visible
    ]
    return Response(_shown(stock.may_use(found)) | {"uses": uses})


@extend_schema(request=TestBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("stock.keep")])
def tests(request: Request, batch_id: UUID) -> Response:
    """Puts a test on file."""
    by, said = _said(request, TestBody)
    return Response({"id": actions.record_batch_test(by, batch_id, **said).pk}, status=201)


@extend_schema(request=MarkBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("stock.keep")])
def marks(request: Request, batch_id: UUID) -> Response:
    """Opened, or used up."""
    by, said = _said(request, MarkBody)
    return Response({"id": actions.mark_batch(by, batch_id, **said).pk}, status=201)


@extend_schema(request=UseBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("stock.keep")])
def uses(request: Request, batch_id: UUID) -> Response:
    """Used on an object, outside work."""
    by, said = _said(request, UseBody)
    use = actions.record_use(by, batch_id, said.pop("object"), **said)
    return Response({"id": use.pk, "warned": use.warned}, status=201)


@extend_schema(request=RecallBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("stock.recall")])
def recall(request: Request, batch_id: UUID) -> Response:
    """Recalls the batch, or lifts the recall."""
    by, said = _said(request, RecallBody)
    mark = actions.recall_batch(by, batch_id, **said) if "due_on" in said else actions.lift_recall(by, batch_id, **said)
    return Response({"id": mark.pk, "sort": mark.sort}, status=201)


def _said(request: Request, body: type[serializers.Serializer[Any]]) -> tuple[Actor, dict[str, Any]]:
    read = body(data=request.data)
    read.is_valid(raise_exception=True)
    said: dict[str, Any] = dict(read.validated_data)
    return actor_of(request).keyed(said.pop("id", None)), said


def _shown(one: stock.Verdict) -> dict[str, Any]:
    row = one.batch
    return {
        "id": row.pk, "supply": row.supply, "number": row.number, "received_on": row.received_on, "expires_on": row.expires_on, "kept_at": row.kept_at,
        "version": row.version, "may": one.standing.result, "codes": list(one.standing.codes), "why": one.why, "instead": one.instead,
    }  # fmt: skip
