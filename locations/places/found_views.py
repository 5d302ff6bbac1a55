"""A thing that is in no record: entered by whoever finds it, identified by whoever knows it."""

from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import api_view, permission_classes
from rest_framework.request import Request
from rest_framework.response import Response

from collection.objects.actions.found import number_found
from collection.objects.actions.numbers import read_number
from collection.objects.found import to_identify
from collection.objects.models import Card, Number, Object
from collection.objects.taking import take_photographs
from collection.objects.views.common import acting, key_in
from locations.places.found import enter_where_found, identify
from locations.places.move_views import targets
from museum.errors import DomainError, Forbidden, Invalid, NotFound
from museum.ids import uuid7
from museum.people.actor import Actor
from museum.people.bodies import Keyed, Words, read_by
from museum.people.doors import Needs, actor_of, needs

A_PAGE = 20


@require_http_methods(["GET", "HEAD", "POST"])
@needs("things.found")
def found(request: HttpRequest) -> HttpResponse:
    """Enter what was found; below, what waits to be identified, for those who may. Sent twice, it is entered once."""
    actor, typed, error, wrong = actor_of(request), request.POST, "", ""
    key = key_in(typed.get("id")) or uuid7()
    if request.method == "POST":
        try:
            number = _entered(request, key)
        except Invalid as refused:
            error, wrong = refused.sentence, refused.field or ""
        else:
            told = _("It has the number %(number)s now. Tie a tag with this number to it, and leave it where it stands.")
            messages.success(request, told % {"number": number})
            return redirect("desk:thing", key)
    page = Paginator(to_identify(actor), A_PAGE).get_page(request.GET.get("page")) if actor.may("catalogue.edit") else None
    context = {
        "key": key, "typed": typed, "error": error, "wrong": wrong, "targets": targets(), "page": page, "identifies": page is not None,
        "numbers": actor.may("number.issue"), "query": "",
    }  # fmt: skip
    return render(request, "places/found.html", context, status=400 if error else 200)


def _entered(request: HttpRequest, key: UUID) -> str:
    typed = request.POST
    enter_where_found(
        actor_of(request).keyed(key), object_id=key, name=typed.get("name", ""), note=typed.get("note", ""), where=typed.get("where", ""),
        place_id=key_in(typed.get("place")),
    )  # fmt: skip
    take_photographs(request, [("object", key)])
    return Card.objects.values_list("number", flat=True).get(pk=key)


@require_POST
@needs("catalogue.edit")
def known(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """'This is 1974.12.3', or an accession number of its own."""
    try:
        to = _settled(acting(request), object_id, request.POST.get("do", ""), request.POST.get("number", ""), request.POST.get("reason", ""))
    except (NotFound, Forbidden):
        raise
    except DomainError as refused:
        messages.error(request, refused.sentence)
        return redirect("places:found")
    messages.success(request, _("Stored. Its temporary number still finds it."))
    return redirect("desk:thing", to)


def _settled(actor: Actor, object_id: UUID, do: str, number: str, reason: str) -> UUID:
    """Carries out either; answers which thing it is by now. Raises Invalid, NotFound and what the actions raise."""
    if do == "is":
        return identify(actor, object_id, target=_thing_called(actor, number), reason=reason).pk
    if do == "number":
        return number_found(actor, object_id, number=number, reason=reason).object_id
    raise NotFound


def _thing_called(actor: Actor, text: str) -> UUID:
    """The thing that goes by a number, as it is written or as ours. Raises Invalid."""
    texts = {text.strip()}
    try:
        texts.add(str(read_number(text)))
    except Invalid as refused:
        if not text.strip():
            raise refused from None
    seen = Object.objects.visible_to(actor)
    rows = set(Number.objects.filter(text__in=texts, state=Number.State.CURRENT, object__in=seen).values_list("object", flat=True))
    if len(rows) != 1:
        raise Invalid(_("No thing goes by the number %(number)s."), field="number", number=text.strip())
    return rows.pop()


class FoundBody(Keyed):
    name = Words()
    note = Words()
    where = Words()
    place = serializers.UUIDField(required=False, allow_null=True)


class KnownBody(Keyed):
    """`number`: of the known thing, or the accession number it gets; none of the latter: the next."""

    do = serializers.CharField()
    number = Words()
    reason = Words()


@extend_schema(request=FoundBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("things.found")])
def api_found(request: Request) -> Response:
    """A thing that is in no record. Its photographs go to /api/photos/."""
    sent = read_by(FoundBody, request)
    texts = {name: sent[name] for name in ("name", "note", "where")}
    enter_where_found(actor_of(request).keyed(sent["id"]), object_id=sent["id"], place_id=sent.get("place"), **texts)
    return Response({"id": str(sent["id"]), "number": Card.objects.values_list("number", flat=True).get(pk=sent["id"])}, status=201)


@extend_schema(request=KnownBody, responses=dict)
@api_view(["POST"])
@permission_classes([Needs("catalogue.edit")])
def api_known(request: Request, object_id: UUID) -> Response:
    """`do` is: it is the thing of this number; `do` number: it gets an accession number."""
    sent = read_by(KnownBody, request)
    to = _settled(actor_of(request).keyed(sent["id"]), object_id, sent["do"], sent["number"], sent["reason"])
    return Response({"id": str(to), "number": Card.objects.values_list("number", flat=True).get(pk=to)})
