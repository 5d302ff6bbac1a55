"""A new thing, and what it is."""

from typing import Any, Final
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from collection.objects.actions import numbers, objects
from collection.objects.models import Object, Ownership
from collection.objects.outlines import sets
from collection.objects.shipped import shipped_data
from collection.objects.views.common import acting, key_in, kinds, materials, number_in, thing_for
from museum.errors import Forbidden, Invalid, VersionConflict
from museum.ids import uuid7
from museum.people.doors import actor_of, needs

#: fields of the record that the first form asks for
FIRST_FIELDS: Final = ("name", "description", "date_made")


@require_http_methods(["GET", "POST"])
@needs("catalogue.edit")
def new_thing(request: HttpRequest) -> HttpResponse:
    """A new thing: what it is, its number, what it is made of. Sent twice, it is made once."""
    actor, typed, error, wrong = actor_of(request), request.POST, "", ""
    key = key_in(typed.get("id")) or uuid7()
    if request.method == "POST":
        try:
            thing = _made(request, key)
        except (Invalid, Forbidden, numbers.NumberTaken) as refused:
            error, wrong = refused.sentence, refused.field or ""
        else:
            messages.success(request, _("It is in the catalogue. A photograph and its place come next."))
            return redirect("desk:thing", thing.pk)
    context = {
        "typed": typed, "key": key, "error": error, "wrong": wrong, "kinds": kinds(), "materials": materials(),
        "whose": Ownership.Whose.choices, "chosen": typed.getlist("materials"), "registrar": actor.may("number.issue"),
        "names": shipped_data()["names"]["headgear"],
    }  # fmt: skip
    return render(request, "objects/new.html", context, status=400 if error else 200)


def _made(request: HttpRequest, key: UUID) -> Object:
    typed = request.POST
    number = typed.get("number", "").strip()
    return objects.create_object(
        actor_of(request).keyed(key), object_id=key, kind=typed.get("kind", ""), number=number,
        as_written=typed.get("as_written") == "on", next_in="" if number else typed.get("series", ""),
        said=_said(typed), materials=typed.getlist("materials"), whose=typed.get("whose", ""),
    )  # fmt: skip


def _said(typed: QueryDict) -> dict[str, Any]:
    said: dict[str, Any] = {}
    for name in FIRST_FIELDS:
        if text := typed.get(name, "").strip():
            said[name] = text
    if "name" in said and (broader := typed.get("broader", "").strip()):
        said["name"] = {"text": said["name"], "broader": broader}
    return said


@require_http_methods(["GET", "POST"])
@needs("catalogue.edit")
def what_it_is(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Kind, drawings, how many, whose, and whether readers see it."""
    thing, typed, error = thing_for(request, object_id), request.POST, ""
    if request.method == "POST":
        try:
            _change(request, object_id)
        except VersionConflict as conflict:
            context = {"conflict": conflict, "again": request.path, "typed": typed}
            return render(request, "web/conflict.html", context, status=409)
        except Invalid as refused:
            error = refused.sentence
        else:
            messages.success(request, _("Stored."))
            return redirect("objects:what", object_id)
    context = {
        "thing": thing, "card": thing.card, "error": error, "kinds": kinds(), "sets": sorted(sets()),
        "whose": Ownership.Whose.choices, "ownerships": thing.ownerships.order_by("-happened_on", "-recorded_at"),
    }  # fmt: skip
    return render(request, "objects/what.html", context, status=400 if error else 200)


def _change(request: HttpRequest, object_id: UUID) -> None:
    typed = request.POST
    if typed.get("do") == "whose":
        objects.set_ownership(acting(request), object_id, whose=typed.get("whose", ""), evidence=typed.get("evidence", ""))
        return
    objects.change_object(
        acting(request), object_id, version=number_in(typed.get("version"), 0), kind=typed.get("kind", ""),
        outline_set=typed.get("outline_set", ""), public=typed.get("public") == "on",
        how_many=number_in(typed.get("how_many"), 0),
    )  # fmt: skip
