"""Looks that were asked for, for programs: which are open, and closing one with the reason."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from collection.objects.models import Object
from conservation.checks.actions.calls import answer_call
from conservation.checks.models import Call
from conservation.checks.views.calls import asked_look
from museum.people.bodies import Keyed, Words, read_by
from museum.people.doors import Needs, actor_of

A_PAGE = 200


class CloseLookBody(Keyed):
    reason = Words()


@extend_schema(responses=dict)
@api_view(["GET"])
@permission_classes([Needs("round.walk")])
def looks(request: Request) -> Response:
    """The open looks that something or somebody asked for, what is due first in front, some hundreds at the most."""
    rows = Call.objects.filter(answer=None, corrected_by=None, withdraws=False, object__in=Object.objects.visible_to(actor_of(request)))
    return Response({"looks": [_look(row) for row in rows.order_by("due_on", "id")[:A_PAGE]], "all": rows.count()})


@extend_schema(request=CloseLookBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("look.close")])
def look_close(request: Request, call_id: UUID) -> Response:
    """Closes it without a look; told twice it is closed once."""
    said = read_by(CloseLookBody, request)
    answer = answer_call(actor_of(request).keyed(said["id"]), call_id, reason=said["reason"])
    return Response({**_look(asked_look(actor_of(request), call_id)), "closed": answer.recorded_at, "reason": answer.reason, "check": answer.of_check_id})


def _look(call: Call) -> dict[str, Any]:
    return {"id": str(call.pk), "object": str(call.object_id), "sort": call.sort, "why": call.why, "due_on": call.due_on, "for": call.reason}
