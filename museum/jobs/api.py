"""The same for programs, and for the script of the page."""

from typing import Any
from uuid import UUID

from django.urls import reverse
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from museum.errors import NotFound
from museum.jobs import actions
from museum.jobs.models import Job
from museum.jobs.views import SHOWN
from museum.people.doors import Needs, actor_of


class RetryBody(serializers.Serializer[Any]):
    """The key of the act."""

    id = serializers.UUIDField(required=False)


class JobBody(serializers.ModelSerializer[Job]):
    """A job as programs see it."""

    state_words = serializers.CharField(source="get_state_display", read_only=True)
    percent = serializers.IntegerField(read_only=True, allow_null=True)
    over = serializers.BooleanField(read_only=True)
    result_address = serializers.SerializerMethodField()

    class Meta:
        model = Job
        fields = (
            "id", "kind", "title", "state", "state_words", "done", "total", "percent", "says", "error", "over",
            "result_address", "created_at", "started_at", "ended_at", "expires_at",
        )  # fmt: skip

    def get_result_address(self, job: Job) -> str | None:
        """Where what came of it is."""
        if not job.result:
            return None
        return job.result.get("address") or reverse("jobs:result", args=[job.pk])


@extend_schema(responses={200: JobBody(many=True)})
@api_view(["GET"])
@permission_classes([Needs("job.own")])
def jobs(request: Request) -> Response:
    """One's own jobs, the newest first."""
    own = Job.objects.owned_by(actor_of(request)).order_by("-created_at")[:SHOWN]
    return Response(JobBody(own, many=True).data)


@extend_schema(responses={200: JobBody})
@api_view(["GET"])
@permission_classes([Needs("job.own")])
def job(request: Request, job_id: UUID) -> Response:
    """One of them."""
    found = Job.objects.owned_by(actor_of(request)).filter(pk=job_id).first()
    if found is None:
        raise NotFound
    return Response(JobBody(found).data)


@extend_schema(request=RetryBody, responses={200: JobBody})
@api_view(["POST"])
@permission_classes([Needs("job.own")])
def retry(request: Request, job_id: UUID) -> Response:
    """Tries a failed one again."""
    body = RetryBody(data=request.data)
    body.is_valid(raise_exception=True)
    again = actions.retry(actor_of(request).keyed(body.validated_data.get("id")), job_id)
    return Response(JobBody(again).data)
