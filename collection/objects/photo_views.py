"""Photographs to and from a browser."""

from typing import Final
from uuid import UUID

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse, QueryDict
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe
from drf_spectacular.utils import extend_schema
from rest_framework.decorators import api_view, parser_classes, permission_classes
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response

from collection.objects.actions.photographs import SUBJECTS, Subject, add_photograph, correct_photograph, derivative_path, withdraw_photograph
from collection.objects.models import Object, Photograph
from collection.objects.photos import SUFFIXES, WIDTHS
from collection.objects.queries import photographs_of
from collection.objects.showing import objects_shown, photograph_for
from collection.objects.taking import take_photographs, upload_of
from collection.objects.views.common import acting, key_in, thing_for
from museum.delivery import attachment, plain_name
from museum.errors import DomainError, Forbidden, Invalid, NotFound
from museum.papers import files
from museum.people.doors import Needs, actor_of, needs, safe_next

#: shown for the seconds until the smaller picture is made
WAIT: Final = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 30" width="{width}" height="{height}"><rect width="40" height="30" fill="#e0e4da"/>'
    '<path d="M12 20v-7h4l1-2h6l1 2h4v7z M20 14.5a2 2 0 1 0 .01 0" fill="none" stroke="#5a6460" stroke-width=".8"/></svg>'
)
KEPT: Final = "private, max-age=31536000, immutable"


@require_http_methods(["GET", "HEAD", "POST"])
@needs("catalogue.see")
def photographs(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """All photographs of a thing. POST takes more of them; what is refused is said for each, the others are kept."""
    thing = thing_for(request, object_id)
    if request.method == "POST":
        shows = [("object", object_id), *_named(request.POST, ("finding", "check"))]
        take_photographs(request, shows, view=request.POST.get("view", ""), caption=request.POST.get("caption", ""))
        if not request.FILES:
            messages.error(request, _("Choose a photograph first."))
        return redirect(safe_next(request, f"/things/{object_id}/"))
    context = {"thing": thing, "card": thing.card, "photographs": photographs_of("object", object_id), "cares": actor_of(request).may("photo.add"), "all": True}
    return render(request, "objects/photographs.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs("catalogue.see")
def photograph(request: HttpRequest, photograph_id: UUID) -> HttpResponse:
    """One photograph, large. POST says better what it is, or takes it back."""
    actor = actor_of(request)
    found = photograph_for(actor, photograph_id)
    if request.method == "POST":
        return _changed(request, found)
    shown = Object.objects.visible_to(actor).filter(pk__in=objects_shown(found)).select_related("card")
    later = Photograph.objects.filter(corrects=found).first()
    may_change = later is None and actor.may("photo.add") and (found.taken_by_id == actor.person or actor.may("catalogue.edit"))
    context = {"photograph": found, "shown": shown, "later": later, "may_change": may_change, "may_fetch": actor.may("catalogue.edit")}
    return render(request, "objects/photograph.html", context)


def _changed(request: HttpRequest, found: Photograph) -> HttpResponse:
    fields, back = request.POST, next(iter(objects_shown(found)), None)
    try:
        if fields.get("do") == "withdraw":
            withdraw_photograph(acting(request), found.pk, reason=fields.get("reason", ""))
            messages.success(request, _("It is taken back and shown no more."))
            return redirect("desk:thing", back) if back else redirect("objects:things")
        found = correct_photograph(acting(request), found.pk, view=fields.get("view", ""), caption=fields.get("caption", ""))
    except (NotFound, Forbidden):
        raise
    except DomainError as refused:
        messages.error(request, refused.sentence)
    else:
        messages.success(request, _("Stored."))
    return redirect("objects:photograph", found.pk)


@extend_schema(request=dict, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("photo.add")])
@parser_classes([MultiPartParser])
def api_add(request: Request) -> Response:
    """Multipart: id, photo, view, caption, and the keys of what it shows: object, component, finding, check, place.

    Sent twice under one id it is kept once. The same file for the same thing under another id adds nothing and answers the first.
    """
    fields, sent = request.POST, request.FILES.get("photo")
    if sent is None:
        raise Invalid(_("There is no photograph in this request."), field="photo")
    if (key := key_in(fields.get("id"))) is None:
        raise Invalid(field="id")
    kept = add_photograph(
        actor_of(request).keyed(key), key, upload_of(sent), shows=_named(fields, SUBJECTS), view=fields.get("view", ""), caption=fields.get("caption", ""),
    )  # fmt: skip
    return Response({"id": str(kept.pk), "address": f"/photos/{kept.pk}/480.jpg", "sha256": kept.file.sha256}, status=201)


@require_safe
@needs("catalogue.see")
def smaller(request: HttpRequest, photograph_id: UUID, width: int) -> HttpResponseBase:
    """A smaller picture, for whoever may see what it shows; a plain ground until it is made."""
    found = photograph_for(actor_of(request), photograph_id)
    if width not in WIDTHS:
        raise NotFound
    row = found.derivatives.filter(width=width).first()
    if row is None or not derivative_path(row).exists():
        waiting = WAIT.format(width=width, height=width * 3 // 4)
        return HttpResponse(waiting, content_type="image/svg+xml", headers={"Cache-Control": "no-store"})
    name = plain_name(f"{found.view or 'photograph'}-{found.pk}-{width}.jpg")
    return FileResponse(derivative_path(row).open("rb"), filename=name, content_type="image/jpeg", headers={"Cache-Control": KEPT})


@require_safe
@needs("catalogue.edit")
def original(request: HttpRequest, photograph_id: UUID) -> HttpResponseBase:
    """The original, byte for byte, under the ending of its true form."""
    found = photograph_for(actor_of(request), photograph_id)
    stem = found.file.name.rsplit(".", 1)[0]
    return attachment(files.open_file(found.file), name=f"{stem}.{SUFFIXES[found.file.media_type]}", media_type=found.file.media_type)


def _named(fields: QueryDict, kinds: tuple[str, ...]) -> list[Subject]:
    """What the request says is to be seen. Raises Invalid for a key that is none."""
    named = [(kind, key_in(fields[kind])) for kind in kinds if fields.get(kind)]
    if wrong := next((kind for kind, key in named if key is None), None):
        raise Invalid(field=wrong)
    return [(kind, key) for kind, key in named if key is not None]
