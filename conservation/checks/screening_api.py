"""The ten questions for programs: of one thing, of a lot, confirmed, shut by an opening. Repeatable by the client's key."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from collection.objects.actions.screens import TOLD, tell_opening
from collection.objects.models import LotScreen, Object
from collection.objects.screens import standing_of
from conservation.checks.actions import screening
from museum.errors import NotFound
from museum.people.bodies import Keyed, Words, read_by
from museum.people.doors import Needs, actor_of


class AnswersBody(Keyed):
    """Question number (1 to 10, 1a, 9a) to yes, no or unsure."""

    answers = serializers.DictField(child=serializers.CharField())


class LotBody(AnswersBody):
    """`corrects`: the lot whose former answers these replace."""

    name = Words()
    kind = Words()
    corrects = serializers.UUIDField(required=False, allow_null=True)


class ConfirmBody(Keyed):
    lot = serializers.UUIDField()
    looked = serializers.ChoiceField((screening.SAME, screening.DIFFERS, screening.UNSURE))
    note = Words()


class OpenedBody(Keyed):
    why = serializers.ChoiceField([str(why) for why in TOLD])
    note = Words()
    happened_on = serializers.DateField(required=False, allow_null=True)


@extend_schema(methods=["POST"], request=AnswersBody, responses=dict)
@extend_schema(methods=["GET"], responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("hazard.report")])
def thing_screen(request: Request, object_id: UUID) -> Response:
    """GET: how the ten questions stand. POST: answers them for this thing as it lies there now."""
    actor = actor_of(request)
    if not Object.objects.visible_to(actor).filter(pk=object_id).exists():
        raise NotFound
    if request.method == "GET":
        return Response(_stands(object_id))
    sent = read_by(AnswersBody, request)
    screening.answer_ten(actor.keyed(sent["id"]), object_id, answers=sent["answers"])
    return Response(_stands(object_id), status=201)


@extend_schema(request=ConfirmBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("hazard.report")])
def confirm(request: Request, object_id: UUID) -> Response:
    """What a look at the thing says of its lot's answers."""
    sent = read_by(ConfirmBody, request)
    screening.confirm_from_lot(actor_of(request).keyed(sent["id"]), object_id, lot_id=sent["lot"], looked=sent["looked"], note=sent["note"])
    return Response(_stands(object_id), status=201)


@extend_schema(request=OpenedBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("hazard.report")])
def opened(request: Request, object_id: UUID) -> Response:
    """Tells that it was opened, or shows something new."""
    sent = read_by(OpenedBody, request)
    tell_opening(actor_of(request).keyed(sent["id"]), object_id, why=sent["why"], note=sent["note"], happened_on=sent.get("happened_on"))
    return Response(_stands(object_id), status=201)


@extend_schema(methods=["POST"], request=LotBody, responses=dict)
@extend_schema(methods=["GET"], responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("hazard.report")])
def lots(request: Request) -> Response:
    """GET: the lots whose answers count. POST: answers for a lot; its key is the act's."""
    if request.method == "GET":
        rows = LotScreen.objects.filter(corrected_by=None, withdraws=False).select_related("kind").order_by("-recorded_at")
        return Response({"lots": [_lot(row) for row in rows]})
    sent = read_by(LotBody, request)
    lot = screening.answer_ten_of_lot(
        actor_of(request).keyed(sent["id"]), sent["id"], name=sent["name"], answers=sent["answers"], kind=sent["kind"], corrects=sent.get("corrects")
    )
    return Response(_lot(lot), status=201)


def _stands(object_id: UUID) -> dict[str, Any]:
    stands = standing_of(object_id)
    opening = stands.opening
    return {
        "state": stands.state, "answers": stands.screen.answers if stands.screen else None, "lot": str(stands.screen.lot_id or "") if stands.screen else "",
        "opened": {"why": opening.why, "on": opening.happened_on, "note": opening.note} if opening else None,
    }  # fmt: skip


def _lot(row: LotScreen) -> dict[str, Any]:
    return {"id": row.pk, "name": row.name, "kind": row.kind.code if row.kind else "", "answers": row.answers}
