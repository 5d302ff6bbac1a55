"""Photographs to and from a browser."""

from typing import Any, BinaryIO, cast
from uuid import UUID

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe
from drf_spectacular.utils import extend_schema
from rest_framework.decorators import api_view, parser_classes, permission_classes
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from collection.objects.actions.photographs import Subject, add_photograph, derivative_path
from collection.objects.photos import WIDTHS, Upload
from collection.objects.showing import photograph_for
from museum.delivery import attachment
from museum.errors import Invalid
from museum.ids import uuid7
from museum.papers import files
from museum.people.doors import Needs, actor_of, needs, safe_next

WAIT = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 4 3" width="480" height="360"><rect width="4" height="3" fill="#e0e4da"/></svg>'


@require_POST
@needs("photo.add")
def add(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Takes photographs of a thing; what is refused is said for each, the others are kept."""
    taken = 0
    for sent in request.FILES.getlist("photo"):
        try:
            add_photograph(
                actor_of(request),
                uuid7(),
                Upload.of(_bytes(sent), sent.name or ""),
                shows=_shows(object_id, request.POST.get("finding")),
                view=request.POST.get("view", ""),
                caption=request.POST.get("caption", ""),
            )
            taken += 1
        except Invalid as refused:
            messages.error(request, f"{sent.name}: {refused.sentence}")
    if taken:
        messages.success(request, ngettext("%(n)d photograph is kept.", "%(n)d photographs are kept.", taken) % {"n": taken})
    elif not request.FILES:
        messages.error(request, _("Choose a photograph first."))
    return redirect(safe_next(request, f"/things/{object_id}/"))


@extend_schema(request=dict, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("photo.add")])
@parser_classes([MultiPartParser])
def api_add(request: Request) -> Response:
    """Multipart: id, object, photo, view, caption, finding. Sent twice under one id it is kept once."""
    sent = request.FILES.get("photo")
    if sent is None:
        raise Invalid(_("There is no photograph in this request."), field="photo")
    fields = {str(name): value for name, value in request.POST.items()}
    key, thing = (_key(fields.get(name), name) for name in ("id", "object"))
    kept = add_photograph(
        request.actor.keyed(key),  # type: ignore[attr-defined]
        key,
        Upload.of(_bytes(sent), sent.name or ""),
        shows=_shows(thing, fields.get("finding")),
        view=str(fields.get("view", "")),
        caption=str(fields.get("caption", "")),
    )
    return Response({"id": str(kept.pk), "address": f"/photos/{kept.pk}/480.jpg"}, status=201)


@require_safe
@needs("catalogue.see")
def smaller(request: HttpRequest, photograph_id: UUID, width: int) -> HttpResponseBase:
    """A smaller picture, for whoever may see what it shows; a plain ground until it is made."""
    photograph = photograph_for(actor_of(request), photograph_id)
    if width not in WIDTHS:
        raise Http404
    row = photograph.derivatives.filter(width=width).first()
    path = derivative_path(row) if row else None
    if path is None or not path.exists():
        return HttpResponse(WAIT, content_type="image/svg+xml", headers={"Cache-Control": "no-store"})
    return FileResponse(path.open("rb"), content_type="image/jpeg", headers={"Cache-Control": "private, max-age=31536000, immutable"})


@require_safe
@needs("catalogue.edit")
def original(request: HttpRequest, photograph_id: UUID) -> HttpResponseBase:
    """The original, byte for byte."""
    photograph = photograph_for(actor_of(request), photograph_id)
    return attachment(files.open_file(photograph.file), name=photograph.file.name, media_type=photograph.file.media_type)


def _bytes(sent: "UploadedFile[Any]") -> BinaryIO:
    """What the browser sent, as a file."""
    return cast(BinaryIO, sent.file)


def _shows(thing: UUID, finding: object) -> list[Subject]:
    return [("object", thing), *([("finding", _key(finding, "finding"))] if finding else [])]


def _key(value: object, field: str) -> UUID:
    try:
        return UUID(str(value))
    except ValueError:
        raise Invalid(field=field) from None
