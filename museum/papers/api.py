"""Issued papers for programs."""

from typing import Any
from uuid import UUID

from django.urls import reverse
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from museum.errors import NotFound
from museum.papers.models import IssuedPaper
from museum.papers.views import A_PAGE
from museum.people.doors import Needs, actor_of


class PaperBody(serializers.ModelSerializer[IssuedPaper]):
    """A paper in lists."""

    file_sha256 = serializers.CharField(source="file.sha256", read_only=True)
    file_address = serializers.SerializerMethodField()

    class Meta:
        model = IssuedPaper
        fields = (
            "id", "number", "document", "template_version", "title", "subject", "address", "data_hash", "file_sha256",
            "file_address", "issued_by", "issued_to", "supersedes", "recorded_at",
        )  # fmt: skip

    def get_file_address(self, paper: IssuedPaper) -> str:
        """Where the frozen file is fetched."""
        return reverse("papers:file", args=[paper.pk])


class WholePaperBody(PaperBody):
    """With the data that it was made from."""

    class Meta(PaperBody.Meta):
        fields: Any = (*PaperBody.Meta.fields, "data")


@extend_schema(responses={200: PaperBody(many=True)})
@api_view(["GET"])
@permission_classes([Needs("paper.see")])
def papers(request: Request) -> Response:
    """The newest papers; with `q`, those of a number, a hash or a title."""
    rows = IssuedPaper.objects.visible_to(actor_of(request)).select_related("file")
    if words := request.query_params.get("q", "").strip():
        rows = rows.found_by(words)
    return Response(PaperBody(rows.order_by("-recorded_at")[:A_PAGE], many=True).data)


@extend_schema(responses={200: WholePaperBody})
@api_view(["GET"])
@permission_classes([Needs("paper.see")])
def paper(request: Request, paper_id: UUID) -> Response:
    """One paper whole."""
    found = IssuedPaper.objects.visible_to(actor_of(request)).select_related("file").filter(pk=paper_id).first()
    if found is None:
        raise NotFound
    return Response(WholePaperBody(found).data)
