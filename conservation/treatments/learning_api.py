"""What people were shown, for programs. A body's `id` (UUID version 7, made by the client) makes a request repeatable."""

from typing import Any
from uuid import UUID

from django.utils.translation import gettext_lazy as _
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from conservation.treatments import learning
from conservation.treatments.actions.learning import sign_off, tell_practice
from museum import clock
from museum.errors import NotFound
from museum.people import actions
from museum.people.actor import Actor
from museum.people.doors import Needs, actor_of
from museum.people.models import Person, Qualification


class CompetenceBody(serializers.Serializer[Any]):
    """With `shown_by` a teacher's sign-off, with `practice` what a person has long done."""

    id = serializers.UUIDField(required=False)
    steps = serializers.ListField(child=serializers.CharField())
    shown_by = serializers.UUIDField(required=False)
    practice = serializers.CharField(required=False)
    on = serializers.DateField()
    valid_to = serializers.DateField(required=False, allow_null=True)
    evidence = serializers.CharField(required=False, allow_blank=True)
    second_later = serializers.BooleanField(required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        if ("shown_by" in attrs) == ("practice" in attrs):
            raise serializers.ValidationError(_("Say who showed it, or what prior practice it rests on: one of the two."))
        if "shown_by" in attrs:
            attrs.pop("second_later", None)
        else:
            attrs.pop("evidence", None)
        return attrs


class QualificationBody(serializers.Serializer[Any]):
    """Given with its evidence, or ended with the reason."""

    id = serializers.UUIDField(required=False)
    kind = serializers.ChoiceField(Qualification.Kind.choices)
    given = serializers.BooleanField(default=True)
    evidence = serializers.CharField(required=False, allow_blank=True)
    until = serializers.DateField(required=False, allow_null=True)
    reason = serializers.CharField(required=False, allow_blank=True)


class ReasonBody(serializers.Serializer[Any]):
    """The key of the act, and why."""

    id = serializers.UUIDField(required=False)
    reason = serializers.CharField(required=False, allow_blank=True)


@extend_schema(request=CompetenceBody, responses=dict)
@api_view(["GET", "POST"])
@permission_classes([Needs("competence.see")])
def competences(request: Request, person_id: UUID) -> Response:
    """GET: how the person stands with everything that can be learnt. POST: puts several steps on file; answers their keys."""
    if not Person.objects.filter(pk=person_id).exists():
        raise NotFound
    if request.method == "GET":
        held = [row.kind for _words, row in learning.held_by(person_id)]
        return Response({"qualifications": held, "competences": [_shown(one) for one in learning.standing(person_id, clock.today())]})
    by, said = _said(request, CompetenceBody)
    act = sign_off if "shown_by" in said else tell_practice
    return Response({"ids": act(by, person_id, **said)}, status=201)


@extend_schema(request=QualificationBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("qualification.give")])
def qualifications(request: Request, person_id: UUID) -> Response:
    """Puts a qualification on file, or takes it off."""
    by, said = _said(request, QualificationBody)
    if said["given"]:
        row = actions.give_qualification(by, person_id, said["kind"], evidence=said.get("evidence", ""), until=said.get("until"))
    else:
        row = actions.end_qualification(by, person_id, said["kind"], reason=said.get("reason", ""))
    return Response({"id": row.pk, "kind": row.kind, "given": row.given, "until": row.until}, status=201)


@extend_schema(request=ReasonBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("competence.sign")])
def sign(request: Request, competence_id: UUID) -> Response:
    """Signs for somebody's prior practice."""
    by, _body = _said(request, ReasonBody)
    return Response({"id": actions.sign_practice(by, competence_id).pk}, status=201)


@extend_schema(request=ReasonBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("competence.end")])
def end(request: Request, competence_id: UUID) -> Response:
    """Ends a competence from today."""
    by, said = _said(request, ReasonBody)
    return Response({"id": actions.end_competence(by, competence_id, reason=said.get("reason", "")).pk}, status=201)


def _said(request: Request, body: type[serializers.Serializer[Any]]) -> tuple[Actor, dict[str, Any]]:
    read = body(data=request.data)
    read.is_valid(raise_exception=True)
    said: dict[str, Any] = dict(read.validated_data)
    return actor_of(request).keyed(said.pop("id", None)), said


def _shown(one: learning.Told) -> dict[str, Any]:
    row = one.row
    return {
        "step": one.subject.code,
        "name": one.subject.name,
        "stands": one.stands,
        "id": row.pk if row else None,
        "on": row.happened_on if row else None,
        "valid_to": row.valid_to if row else None,
        "shown_by": row.shown_by_id if row else None,
        "signed_by": getattr(row, "signer", None),
    }
