"""The same for programs."""

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from museum.jobs.api import JobBody
from museum.people.doors import Needs, actor_of
from reports import actions
from reports.labels.asking import ask_for_labels


class ReprintBody(serializers.Serializer[Any]):
    """The key of the act."""

    id = serializers.UUIDField(required=False)


class IssueBody(ReprintBody):
    """Which paper about what."""

    document = serializers.CharField()
    subject = serializers.UUIDField()
    issued_to = serializers.CharField(required=False, allow_blank=True)
    supersedes = serializers.UUIDField(required=False, allow_null=True)
    options = serializers.DictField(child=serializers.CharField(allow_blank=True), required=False)


class LabelsBody(ReprintBody):
    """Which labels, on what."""

    stock = serializers.CharField()
    things = serializers.ListField(child=serializers.UUIDField(), required=False, default=list)
    places = serializers.ListField(child=serializers.UUIDField(), required=False, default=list)
    inside = serializers.BooleanField(required=False, default=False)
    parts = serializers.BooleanField(required=False, default=False)
    start = serializers.IntegerField(required=False, default=1)


@extend_schema(request=IssueBody, responses={202: JobBody})
@api_view(["POST"])
@permission_classes([Needs("paper.see")])
def issue(request: Request) -> Response:
    """Asks for a paper; the answer is the job that makes it, and the number of a paper that says the same already."""
    read = IssueBody(data=request.data)
    read.is_valid(raise_exception=True)
    asked: dict[str, Any] = dict(read.validated_data)
    actor = actor_of(request).keyed(asked.pop("id", None))
    same = actions.identical_to(actor, asked["document"], actions.gather(actor, asked["document"], asked["subject"], asked.get("options")))
    job = actions.ask_for(actor, **asked)
    body = {**JobBody(job).data, "identical": same.number if same else None}
    return Response(body, status=status.HTTP_202_ACCEPTED)


@extend_schema(request=ReprintBody, responses={202: JobBody})
@api_view(["POST"])
@permission_classes([Needs("paper.see")])
def reprint(request: Request, paper_id: UUID) -> Response:
    """Asks for a reprint."""
    read = ReprintBody(data=request.data)
    read.is_valid(raise_exception=True)
    job = actions.ask_for_reprint(actor_of(request).keyed(read.validated_data.get("id")), paper_id)
    return Response(JobBody(job).data, status=status.HTTP_202_ACCEPTED)


@extend_schema(request=LabelsBody, responses={202: JobBody})
@api_view(["POST"])
@permission_classes([Needs("label.print")])
def labels(request: Request) -> Response:
    """Asks for labels as a PDF; the answer is the job that sets them."""
    read = LabelsBody(data=request.data)
    read.is_valid(raise_exception=True)
    asked: dict[str, Any] = dict(read.validated_data)
    job = ask_for_labels(actor_of(request).keyed(asked.pop("id", None)), **asked)
    return Response(JobBody(job).data, status=status.HTTP_202_ACCEPTED)
