"""Doors for programs and for the page's own script. Repeatable by the keys the client makes."""

from typing import Any
from uuid import UUID

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from collection.objects.models import Object
from collection.objects.views.common import key_in
from conservation.checks.actions import drafts
from conservation.checks.actions.record import record_check
from conservation.checks.models import ConditionCheck, State
from conservation.checks.reading import entry_of_json
from conservation.checks.views.walk import operation
from museum.errors import Invalid, NotFound
from museum.people.doors import Needs, actor_of, body_of


@extend_schema(request=dict, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("check.record")])
def touch(request: Request, object_id: UUID) -> Response:
    """One operation on the caller's draft: {"do": ..., "zone": ..., and the fields of the finding}; the first begins it, as the check whose key
    `check` is. 409 where that check is stored already."""
    body = body_of(request)
    try:
        change = operation(str(body.get("do", "")), object_id, str(body.get("zone", "")), body)
    except Http404:
        raise Invalid(field="do") from None
    draft = drafts.touch(actor_of(request), object_id, change, check=key_in(body.get("check")))
    return Response({"version": draft.version, "answered": len(draft.content["zones"])})


@extend_schema(request=dict, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("check.record")])
def checks(request: Request) -> Response:
    """Records a check. `id` is the caller's key: sent twice it is stored once and answered the same."""
    entry = entry_of_json(body_of(request))
    check = record_check(actor_of(request).keyed(entry.id), entry)
    return Response(_answer(check), status=201)


@extend_schema(responses=dict)
@api_view(["GET"])
@permission_classes([Needs("catalogue.see_all")])
def check(request: Request, check_id: UUID) -> Response:
    """One check as recorded."""
    found = ConditionCheck.objects.filter(pk=check_id, object__in=Object.objects.visible_to(actor_of(request))).first()
    if found is None:
        raise NotFound()
    return Response(_answer(found))


def _answer(check: ConditionCheck) -> dict[str, Any]:
    state = State.objects.filter(object_id=check.object_id).first()
    return {
        "id": str(check.pk), "object": str(check.object_id), "sort": check.sort, "happened_on": check.happened_on.isoformat(),
        "looks": check.looks, "seen": check.observations.count(), "grade": state.grade if state else None,
        "activity": state.activity if state else None, "urgency": state.urgency if state else None,
    }  # fmt: skip


def _body(request: Request) -> dict[str, Any]:
    if not isinstance(request.data, dict):
        raise Invalid(field="body")
    return dict(request.data)
