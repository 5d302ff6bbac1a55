"""Pages of places: the tree, what stands where on which day, what stands nowhere."""

from datetime import datetime, time
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Exists, OuterRef, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from collection.objects.models import Card, Object
from collection.objects.views.common import acting, key_in, number_in
from locations.places import actions, placing
from locations.places.models import Misplaced, Movement, Place, Stay
from locations.places.move_views import day_in, said, shown, targets
from locations.places.queries import objects_below, path_of, things_in_each, without_place
from museum import clock
from museum.errors import DomainError, NotFound, VersionConflict
from museum.ids import uuid7
from museum.people.doors import actor_of, needs
from museum.web.conflicts import both_versions

A_PAGE = 50
#: places shown at once; of a larger house the buildings, rooms and boxes that stand nowhere, and the rest on the pages of the rooms
WHOLE_TREE = 200


@require_safe
@needs("place.see_building")
def places(request: HttpRequest) -> HttpResponse:
    """The tree as far as this person may see it."""
    actor = actor_of(request)
    rows = Place.objects.filter(closed_on=None).order_by("path_key", "code")
    if not actor.may("place.see_exact"):
        rows = rows.filter(level=Place.Level.BUILDING)
    found = list(rows[: WHOLE_TREE + 1])
    whole = len(found) <= WHOLE_TREE
    if not whole:
        standing = Stay.objects.filter(mobile=OuterRef("pk"), during__contains=clock.now()).exclude(place=None)
        found = list(rows.filter(Q(level__in=(Place.Level.BUILDING, Place.Level.ROOM)) | Q(~Exists(standing), mobile=True)))
    counts = things_in_each(actor)
    told = [(place, {"place": place, "depth": max(0, place.path_key.count(".") - 1), "things": counts[place.pk]}) for place in found]
    context = {
        "rows": [row for place, row in told if not place.mobile], "boxes": [row for place, row in told if place.mobile], "whole": whole,
        "may_see_climate": actor.may("climate.see"), "may_edit": actor.may("place.edit"), "may_walk": actor.may("round.walk"),
        "nowhere": without_place(actor).count() if actor.may("catalogue.see_all") else 0,
    }  # fmt: skip
    return render(request, "places/places.html", context)


@require_safe
@needs("catalogue.see_all")
def nowhere(request: HttpRequest) -> HttpResponse:
    """What nobody knows the place of."""
    page = Paginator(without_place(actor_of(request)), A_PAGE).get_page(request.GET.get("page"))
    return render(request, "places/nowhere.html", {"page": page})


@require_safe
@needs("place.see_exact_on_round")
def wrong(request: HttpRequest) -> HttpResponse:
    """What stands as it should not, the oldest first: each is put right by a move."""
    rows = placing.urgent(actor_of(request))
    page = Paginator(rows, A_PAGE).get_page(request.GET.get("page"))
    return render(request, "places/wrong.html", {"page": page, "rows": _in_words(list(page.object_list))})


def _in_words(rows: list[Misplaced]) -> list[dict[str, object]]:
    return [{"row": row, **said} for row, said in zip(rows, shown(placing.read_row(row) for row in rows), strict=True)]


@require_POST
@needs("place.edit")
def describe(request: HttpRequest, place_id: UUID) -> HttpResponse:
    """Says what a place is like."""
    fields = request.POST
    height = fields.get("off_floor_cm", "")

    def act() -> None:
        actions.describe_place(
            actor_of(request), place_id, version=number_in(fields.get("version"), 0), spot=fields.get("spot", ""), sun=fields.get("sun") == "on",
            off_floor_cm=number_in(height, -1) if height else None, closed_container=fields.get("closed") == "on",
        )  # fmt: skip

    try:
        return said(request, act, place_id)
    except VersionConflict as conflict:
        names = {
            "spot": _("Where in the house"), "sun": _("The sun or a spotlight reaches it"), "closed_container": _("A closed box or case: vapours stay inside"),
            "off_floor_cm": _("Height off the floor in cm (empty: not measured)"),
        }  # fmt: skip
        return both_versions(request, _spots_named(conflict), back=reverse("places:place", args=[place_id]), names=names)


def _spots_named(conflict: VersionConflict) -> VersionConflict:
    """The same, with spots as people call them."""
    spots = {code: str(name) for code, name in Place.Spot.choices} | {"": _("none of these")}
    sides = {side: {name: spots[value] if name == "spot" else value for name, value in conflict.data[side].items()} for side in ("theirs", "mine")}
    return VersionConflict(**{**conflict.data, **sides})


@require_safe
@needs("place.see_exact")
def place(request: HttpRequest, place_id: UUID) -> HttpResponse:
    """One place: what stands there now or on a day, and what came and went."""
    on = day_in(request.GET.get("on"))
    instant = datetime.combine(on, time.max, clock.zone()) if on else clock.now()
    path = path_of(place_id, instant)
    if not path:
        raise NotFound()
    found, inside = path[0], _standing_in(place_id, instant)
    keys = objects_below(place_id, instant)
    cards = Card.objects.filter(object__in=Object.objects.visible_to(actor_of(request)).filter(pk__in=keys)).order_by("number_sort", "object")
    context = {
        "place": found, "path": list(reversed(path)), "page": Paginator(cards, A_PAGE).get_page(request.GET.get("page")),
        "count": len(keys), "on": on, "inside": inside,
        "moves": found.arrivals.select_related("component__object__card", "mobile", "by").order_by("-recorded_at")[:20],
        "may_edit": actor_of(request).may("place.edit"), "uses": Place.Use.choices, "levels": Place.Level.choices,
        "spots": Place.Spot.choices,
        "wrong": _in_words(_standing_wrong(request, keys)) if not on else [],
        "targets": targets(), "ways": Movement.To.choices, "query": f"on={on}&" if on else "",
    }  # fmt: skip
    return render(request, "places/place.html", context)


def _standing_in(place_id: UUID, instant: datetime) -> list[Place]:
    """The rooms, units and shelves of a place in walking order, then the boxes that stand there."""
    boxes = Stay.objects.filter(place=place_id, during__contains=instant, mobile__isnull=False).values("mobile")
    return list(Place.objects.filter(Q(parent=place_id, closed_on=None) | Q(pk__in=boxes)).order_by("mobile", "walk", "code"))


def _standing_wrong(request: HttpRequest, keys: list[UUID]) -> list[Misplaced]:
    """All that the rules say against what stands here, what is refused first."""
    seen = Object.objects.visible_to(actor_of(request)).filter(pk__in=keys)
    return list(Misplaced.objects.filter(object__in=seen).select_related("object__card", "place").order_by("level", "since", "id")[:A_PAGE])


@require_http_methods(["GET", "POST"])
@needs("place.set_up")
def new_place(request: HttpRequest) -> HttpResponse:
    """Adds a place; a box is put somewhere at once."""
    actions.demand_set_up(actor_of(request))
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
        "shelves": targets(), "parent": typed.get("parent") or request.GET.get("parent", ""),
    }  # fmt: skip
    return render(request, "places/new.html", context, status=400 if error else 200)


def _make(request: HttpRequest) -> Place:
    fields, actor, key = request.POST, actor_of(request), key_in(request.POST.get("id")) or uuid7()
    level = fields.get("level", "")
    mobile = level == Place.Level.BOX
    made = actions.make_place(
        actor.keyed(key), place_id=key, level=level, code=fields.get("code", ""), name=fields.get("name", ""), use=fields.get("use", ""),
        parent_id=None if mobile else key_in(fields.get("parent")), mobile=mobile, closed_container=fields.get("closed") == "on",
        walk=number_in(fields.get("walk") or "0", -1),
    )  # fmt: skip
    if mobile and (stands := key_in(fields.get("stands"))):
        actions.move_box(actor, made.pk, place_id=stands)
    return made


@require_POST
@needs("place.edit")
def change(request: HttpRequest, place_id: UUID) -> HttpResponse:
    """Renames a place or changes its use."""
    fields = request.POST

    def act() -> None:
        actions.change_place(
            actor_of(request), place_id, version=number_in(fields.get("version"), 0), code=fields.get("code", ""), name=fields.get("name", ""),
            use=fields.get("use", ""), walk=number_in(fields.get("walk") or "0", -1),
        )  # fmt: skip

    try:
        act()
    except VersionConflict as conflict:
        names = {"code": _("Code, as on its label"), "name": _("Name"), "use": _("Use"), "walk": _("Turn in the walk")}
        return both_versions(request, conflict, back=reverse("places:place", args=[place_id]), names=names)
    except DomainError as refused:
        messages.error(request, refused.sentence)
    return redirect("places:place", place_id)


@require_POST
@needs("place.edit")
def close(request: HttpRequest, place_id: UUID) -> HttpResponse:
    """Closes an empty place."""
    return said(request, lambda: actions.close_place(acting(request), place_id, reason=request.POST.get("reason", "")), place_id)
