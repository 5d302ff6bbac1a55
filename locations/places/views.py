"""Pages of places: the tree, what stands where on which day, moving things."""

from collections.abc import Callable
from datetime import date, datetime, time
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from collection.objects.actions.numbers import read_number
from collection.objects.models import Card, Number, Object
from locations.places import actions
from locations.places.models import Movement, Place
from locations.places.queries import objects_below, path_of, place_words
from museum import clock
from museum.errors import DomainError, Invalid, NotFound, VersionConflict
from museum.ids import uuid7
from museum.people.doors import actor_of, needs

A_PAGE = 50


@require_safe
@needs("place.see_building")
def places(request: HttpRequest) -> HttpResponse:
    """The tree as far as this person may see it."""
    actor = actor_of(request)
    rows = Place.objects.filter(closed_on=None).order_by("path_key", "code")
    if not actor.may("place.see_exact"):
        rows = rows.filter(level=Place.Level.BUILDING)
    shown = [{"place": place, "depth": max(0, place.path_key.count(".") - 1)} for place in rows if not place.mobile]
    boxes = [place for place in rows if place.mobile]
    return render(request, "places/places.html", {"rows": shown, "boxes": boxes, "may_edit": actor.may("place.edit")})


@require_safe
@needs("place.see_exact")
def place(request: HttpRequest, place_id: UUID) -> HttpResponse:
    """One place: what stands there now or on a day, and what came and went."""
    found = _place(place_id)
    on = _day(request.GET.get("on"))
    instant = datetime.combine(on, time.max, clock.zone()) if on else clock.now()
    keys = objects_below(place_id, instant)
    cards = Card.objects.filter(object__in=Object.objects.visible_to(actor_of(request)).filter(pk__in=keys)).order_by("number_sort", "object")
    context = {
        "place": found, "path": list(reversed(path_of(place_id, instant))), "page": Paginator(cards, A_PAGE).get_page(request.GET.get("page")),
        "count": len(keys), "on": on, "children": found.children.filter(closed_on=None).order_by("walk", "code"),
        "boxes": Place.objects.filter(own_stays__place=found, own_stays__during__contains=instant).order_by("code"),
        "moves": found.arrivals.select_related("component__object__card", "mobile", "by").order_by("-recorded_at")[:20],
        "may_edit": actor_of(request).may("place.edit"), "uses": Place.Use.choices, "levels": Place.Level.choices,
        "targets": _targets(), "query": f"on={on}&" if on else "",
    }  # fmt: skip
    return render(request, "places/place.html", context)


@require_http_methods(["GET", "POST"])
@needs("place.set_up")
def new_place(request: HttpRequest) -> HttpResponse:
    """Adds a place; a box is put somewhere at once."""
    error, typed = "", request.POST
    if request.method == "POST":
        try:
            made = _make(request)
        except DomainError as refused:
            error = refused.sentence
        else:
            messages.success(request, _("%(place)s is here.") % {"place": made})
            return redirect("places:place", made.pk) if actor_of(request).may("place.see_exact") else redirect("places:new_place")
    context = {
        "error": error, "typed": typed, "levels": Place.Level.choices, "uses": Place.Use.choices, "key": typed.get("id") or uuid7(),
        "parents": Place.objects.filter(closed_on=None, mobile=False).exclude(level="shelf").order_by("path_key"),
        "shelves": _targets(), "parent": typed.get("parent") or request.GET.get("parent", ""),
    }  # fmt: skip
    return render(request, "places/new.html", context, status=400 if error else 200)


def _make(request: HttpRequest) -> Place:
    fields, actor, key = request.POST, actor_of(request), _uuid(request.POST.get("id")) or uuid7()
    level = fields.get("level", "")
    mobile = level == Place.Level.BOX
    made = actions.make_place(
        actor.keyed(key), place_id=key, level=level, code=fields.get("code", ""), name=fields.get("name", ""), use=fields.get("use", ""),
        parent_id=None if mobile else _uuid(fields.get("parent")), mobile=mobile, closed_container=fields.get("closed") == "on",
        walk=int(fields["walk"]) if fields.get("walk", "").isdigit() else 0,
    )  # fmt: skip
    if mobile and (stands := _uuid(fields.get("stands"))):
        actions.move_box(actor, made.pk, place_id=stands)
    return made


@require_POST
@needs("place.edit")
def change(request: HttpRequest, place_id: UUID) -> HttpResponse:
    """Renames a place or changes its use."""
    fields = request.POST

    def act() -> None:
        actions.change_place(
            actor_of(request), place_id, version=int(fields.get("version") or 0), code=fields.get("code", ""), name=fields.get("name", ""),
            use=fields.get("use", ""), walk=int(fields["walk"]) if fields.get("walk", "").isdigit() else 0,
        )  # fmt: skip

    try:
        act()
    except VersionConflict as conflict:
        names = {"code": _("Code, as on its label"), "name": _("Name"), "use": _("Use"), "walk": _("Turn in the walk")}
        back = reverse("places:place", args=[place_id])
        context = {"conflict": conflict, "again": request.path, "back": back, "typed": fields, "names": names}
        return render(request, "web/conflict.html", context, status=409)
    except DomainError as refused:
        messages.error(request, refused.sentence)
    return redirect("places:place", place_id)


@require_POST
@needs("place.edit")
def close(request: HttpRequest, place_id: UUID) -> HttpResponse:
    """Closes an empty place."""
    return _said(request, lambda: actions.close_place(actor_of(request), place_id, reason=request.POST.get("reason", "")), place_id)


@require_POST
@needs("movement.record")
def move_a_box(request: HttpRequest, place_id: UUID) -> HttpResponse:
    """A box goes somewhere, with what is in it."""
    target = _uuid(request.POST.get("place"))
    if target is None:
        messages.error(request, _("Choose where it went."))
        return redirect("places:place", place_id)
    return _said(request, lambda: actions.move_box(actor_of(request), place_id, place_id=target, reason=request.POST.get("reason", "")), place_id)


@require_http_methods(["GET", "POST"])
@needs("movement.record")
def move_thing(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """A thing went somewhere: told when it happened."""
    actor = actor_of(request)
    thing = Object.objects.visible_to(actor).select_related("card").filter(pk=object_id).first()
    if thing is None:
        raise NotFound()
    key, error = _uuid(request.POST.get("id")) or uuid7(), ""
    if request.method == "POST":
        try:
            warnings = actions.move_object(
                actor.keyed(key), object_id, to=request.POST.get("to", ""), place_id=_uuid(request.POST.get("place")),
                parts=[part for text in request.POST.getlist("parts") if (part := _uuid(text))], reason=request.POST.get("reason", ""),
                happened_on=_day(request.POST.get("on")), return_by=_day(request.POST.get("return_by")),
            )  # fmt: skip
        except Invalid as refused:
            error = refused.sentence
        else:
            for warning in warnings:
                messages.warning(request, warning)
            messages.success(request, _("Stored where it is now."))
            return redirect("desk:thing", object_id)
    context = {
        "thing": thing, "card": thing.card, "key": key, "error": error, "typed": request.POST, "targets": _targets(),
        "ways": Movement.To.choices, "parts": thing.components.filter(sort__in=("main", "loose", "retained")).order_by("position"),
        "now": place_words(actor, thing), "today": clock.today(),
    }  # fmt: skip
    return render(request, "places/move.html", context, status=400 if error else 200)


@require_http_methods(["GET", "POST"])
@needs("movement.record")
def move_many(request: HttpRequest) -> HttpResponse:
    """Several things to one place, by typing or scanning their numbers."""
    said: list[tuple[str, str]] = []
    if request.method == "POST":
        target = _uuid(request.POST.get("place"))
        for text in request.POST.get("numbers", "").splitlines():
            if text.strip():
                said.append((text.strip(), _move_one(request, text.strip(), target)))
    return render(request, "places/move_many.html", {"said": said, "targets": _targets(), "typed": request.POST})


def _move_one(request: HttpRequest, text: str, target: UUID | None) -> str:
    """Moves what carries a number; answers what happened in words."""
    actor = actor_of(request)
    try:
        canonical = str(read_number(text))
    except Invalid:
        canonical = text
    number = Number.objects.filter(text=canonical, state="current", object__in=Object.objects.visible_to(actor)).first()
    if number is None:
        return _("Nothing here carries this number. It was not moved.")
    parts = [number.component_id] if number.component_id else []
    try:
        warnings = actions.move_object(actor, number.object_id, place_id=target, parts=parts)
    except DomainError as refused:
        return refused.sentence
    return " ".join([_("Moved."), *warnings])


def _said(request: HttpRequest, act: Callable[[], Any], place_id: UUID) -> HttpResponse:
    """Carries out, tells what came of it, and goes back to the place."""
    try:
        answer = act()
    except DomainError as refused:
        messages.error(request, refused.sentence)
    else:
        for warning in answer if isinstance(answer, list) else []:
            messages.warning(request, warning)
        messages.success(request, _("Stored."))
    return redirect("places:place", place_id)


def _place(place_id: UUID) -> Place:
    found = Place.objects.filter(pk=place_id).first()
    if found is None:
        raise NotFound()
    return found


def _targets() -> list[Place]:
    """Open places that can take a thing, in walking order; boxes last."""
    return list(Place.objects.filter(closed_on=None).exclude(level="building").order_by("mobile", "path_key", "code"))


def _day(text: str | None) -> date | None:
    try:
        return date.fromisoformat(text or "")
    except ValueError:
        return None


def _uuid(text: Any) -> UUID | None:
    try:
        return UUID(str(text))
    except ValueError:
        return None
