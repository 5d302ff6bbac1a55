"""Zones drawn on a thing's own photograph: which photograph, which zone, its corners."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from collection.objects import shapes
from collection.objects.actions import drawing, objects
from collection.objects.drawn import DrawnView, drawn_views
from collection.objects.models import Component, Object, Photograph
from collection.objects.outlines.photographs import Picture, Shape, render_photograph
from collection.objects.queries import Zone, photographs_of, zone_names, zones_of
from collection.objects.templatetags.things import seen_on
from collection.objects.views.common import acting, key_in, number_in, sent_key, thing_for
from museum.errors import Invalid, NotFound, VersionConflict
from museum.people.doors import needs

#: the smaller picture that a page draws on
WIDTH = 1600


@dataclass(frozen=True, slots=True)
class Typed:
    """What a form sent that is not stored: kept, with what stands in its way."""

    points: str = ""
    name: str = ""
    error: str = ""
    #: somebody else was first: the key of what stands now
    replaces: str | None = None


def picture_of(photograph: Photograph, zones: Sequence[Shape]) -> Picture:
    """A photograph as pages draw on it."""
    return Picture(reverse("objects:smaller", args=[photograph.pk, WIDTH]), photograph.width, photograph.height, zones)


@require_http_methods(["GET", "POST"])
@needs("catalogue.edit")
def drawn(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """The photographs of a thing with the zones drawn on them; one zone at a time is drawn, drawn anew or taken back."""
    thing = thing_for(request, object_id)
    if request.method == "GET":
        return _page(request, thing, request.GET.get("photo"), request.GET.get("zone"), Typed())
    match request.POST.get("do"):
        case "draw":
            return _draw(request, thing)
        case "erase":
            return _erase(request, thing)
        case "drawings":
            return _choose_drawings(request, thing)
    raise NotFound


def _draw(request: HttpRequest, thing: Object) -> HttpResponse:
    typed = request.POST
    photo, (component, _slash, zone) = sent_key(request, "photo"), typed.get("zone", "").partition("/")
    kept = {"points": typed.get("points", ""), "name": typed.get("name", "")}
    try:
        points = shapes.points_in(kept["points"])
        if points is None:
            raise Invalid(drawing.FAULTS[shapes.Fault.UNREADABLE], field="shape")
        drawing.draw_zone(
            acting(request), _part(thing, component), zone=zone, photograph=photo, shape=points, name=kept["name"],
            replaces=key_in(typed.get("replaces")),
        )  # fmt: skip
    except drawing.DrawnMeanwhile as first:
        return _page(request, thing, str(photo), typed.get("zone"), Typed(**kept, error=first.sentence, replaces=str(first.data["standing"])))
    except Invalid as refused:
        return _page(request, thing, str(photo), typed.get("zone"), Typed(**kept, error=refused.sentence))
    messages.success(request, _("Stored. The check offers it on this photograph from now on."))
    return _to(thing, photo=str(photo))


def _erase(request: HttpRequest, thing: Object) -> HttpResponse:
    try:
        drawing.erase_zone(acting(request), sent_key(request, "note"), reason=request.POST.get("reason", ""))
    except drawing.DrawnMeanwhile as first:
        messages.error(request, _("%(who)s drew or took back this zone meanwhile. Nothing was changed; it is shown as it stands now.") % first.data)
    else:
        messages.success(request, _("It is taken back."))
    return _to(thing, photo=request.POST.get("photo", ""))


def _choose_drawings(request: HttpRequest, thing: Object) -> HttpResponse:
    """The thing's own photographs in place of outline drawings, or those of its kind again; all else stays."""
    own = "photograph" if request.POST.get("outline_set") == "photograph" else ""
    try:
        objects.change_object(
            acting(request), thing.pk, version=number_in(request.POST.get("version"), 0), kind=thing.kind.code, outline_set=own, public=thing.public,
            how_many=thing.how_many,
        )  # fmt: skip
    except VersionConflict as conflict:
        context = {"conflict": conflict, "again": request.path, "back": request.path, "typed": request.POST}
        return render(request, "web/conflict.html", context, status=409)
    messages.success(request, _("Stored."))
    return _to(thing)


def _part(thing: Object, component: str) -> UUID:
    """A component of this thing. Raises NotFound."""
    key = key_in(component)
    if key is None or not Component.objects.filter(object=thing, pk=key).exists():
        raise NotFound
    return key


def _page(request: HttpRequest, thing: Object, photo: str | None, at: str | None, typed: Typed) -> HttpResponse:
    views, zones = drawn_views(thing), {zone.key: zone for zone in zones_of(thing)}
    photographs = sorted(photographs_of("object", thing.pk), key=lambda row: (row.view or "~", row.pk))
    chosen = _chosen(photographs, views, photo)
    here = next((view for view in views if chosen and view.photograph.pk == chosen.pk), None)
    hand = _hand(thing, zones, at) if chosen else None
    notes = {zone.key: zone.note for zone in here.zones} if here else {}
    standing = notes.get(hand.key) if hand else None
    context: dict[str, Any] = {
        "thing": thing, "card": thing.card, "photographs": photographs, "counts": {view.photograph.pk: len(view.zones) for view in views},
        "photo": chosen, "hand": hand, "standing": standing, "typed": typed, "most": shapes.MOST,
        "rows": [(zone, notes.get(zone.key)) for zone in zones.values()], "others": _others(thing, zones),
        "name": typed.name or (standing.name if standing else ""),
        "replaces": typed.replaces if typed.replaces is not None else str(standing.pk) if standing else "",
        "picture": _picture(thing, chosen, here, zones, hand) if chosen else "", "own": thing.outline_set == "photograph",
    }  # fmt: skip
    status = 409 if typed.replaces is not None else 400 if typed.error else 200
    return render(request, "objects/drawn.html", context, status=status)


def _chosen(photographs: Sequence[Photograph], views: Sequence[DrawnView], photo: str | None) -> Photograph | None:
    """The photograph asked for (under any key it had), else the first."""
    key = key_in(photo)
    renamed = {old: view.photograph.pk for view in views for old in view.keys}
    named = renamed.get(key, key) if key else None
    return next((row for row in photographs if row.pk == named), None) or (photographs[0] if photographs else None)


def _hand(thing: Object, zones: dict[str, Zone], at: str | None) -> Zone | None:
    """The zone that is being drawn: one that the thing has, or any other zone there is, of one of its parts."""
    if not at:
        return None
    if at in zones:
        return zones[at]
    component, _slash, code = at.partition("/")
    name = zone_names().get(code)
    return Zone(_part(thing, component), code, name, "", ()) if name else None


def _others(thing: Object, zones: dict[str, Zone]) -> list[tuple[str, str]]:
    """Zones that the whole does not have yet; drawing one gives it to the thing."""
    main = thing.components.get(sort=Component.Sort.MAIN).pk
    return [(f"{main}/{code}", f"{code} {name}") for code, name in zone_names().items() if f"{main}/{code}" not in zones]


def _picture(thing: Object, photograph: Photograph, here: DrawnView | None, zones: dict[str, Zone], hand: Zone | None) -> SafeString:
    """The photograph: with a zone at hand its corners are set on it, else each drawn zone is a way to draw it anew."""
    drawn_here = [zone for zone in here.zones if zone.key in zones] if here else []
    own = [Shape(zone.key, zone.code, zones[zone.key].name, zone.points) for zone in drawn_here]
    page = reverse("objects:drawn", args=[thing.pk])
    svg = render_photograph(
        picture_of(photograph, own), title=_("Photograph, %(view)s") % {"view": seen_on(photograph) or photograph.happened_on},
        link=None if hand else lambda key: f"{page}?{urlencode({'photo': photograph.pk, 'zone': key})}#hand",
        state={hand.key: "seen"} if hand else None,
    )  # fmt: skip
    # Every word in it was escaped by render_photograph.
    return mark_safe(svg)


def _to(thing: Object, **query: str) -> HttpResponse:
    return redirect(f"{reverse('objects:drawn', args=[thing.pk])}?{urlencode(query)}")
