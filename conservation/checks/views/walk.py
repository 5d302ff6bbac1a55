"""The full check: a walk round the object, zone by zone. Works without scripts; with them each touch is quicker."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any, Final
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from collection.objects.models import Object
from collection.objects.queries import zones_of
from collection.objects.screens import standing_of
from collection.objects.taking import take_photographs
from collection.objects.views.common import key_in
from conservation.checks import drafting, reading
from conservation.checks.actions import drafts
from conservation.checks.drawing import Drawings, point_in
from conservation.checks.entry import check_seen
from conservation.checks.models import Observation
from conservation.checks.queries import standing_observations
from conservation.checks.vocabulary import ACTIVITIES, CHANGES, PERCENTS, SEVERITIES, SIDES
from conservation.checks.walking import ZoneRow, fields_of, offer_for, walk_of
from museum.errors import Invalid, NotFound
from museum.ids import uuid7
from museum.people.actor import Actor
from museum.people.doors import actor_of, needs

Content = dict[str, Any]
#: the standard view of a photograph of one finding
DETAIL: Final = "V13"


def seen_object(actor: Actor, object_id: UUID) -> Object:
    """The object, if this person may see it. Raises NotFound."""
    thing = Object.objects.visible_to(actor).select_related("card", "kind").filter(pk=object_id).first()
    if thing is None:
        raise NotFound()
    return thing


@require_safe
@needs("check.record")
def walk(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """The drawing, the list of zones and the zone at hand. The hazard screen comes before the first walk, and before the first after an opening."""
    actor = actor_of(request)
    thing = seen_object(actor, object_id)
    draft = drafts.draft_of(actor, object_id)
    if draft.content["screen"] is None and not standing_of(object_id).passes:
        return redirect("checks:screen", object_id)
    steps = walk_of(thing, draft, request.GET.get("zone"))
    drawings = Drawings(thing, steps)
    view = drawings.named(request.GET.get("view"))
    typing = draft.content["typing"].get(steps.at.key, {})
    edit = _pointed(_editing(steps.at, request.GET.get("edit"), typing), request, view)
    context = {
        "thing": thing, "card": thing.card, "draft": draft, "walk": steps, "at": steps.at, "offer": offer_for(steps.at), "view": view,
        "views": drawings.views, "drawing": drawings.svg(view, point_in(edit, view)), "edit": edit, "draws": actor.may("catalogue.edit"),
        "percents": PERCENTS, "severities": SEVERITIES, "activities": ACTIVITIES, "sides": SIDES, "changes": CHANGES, "hours": range(1, 13),
        "new_seen": uuid7(), "new_finding": uuid7(), "error": request.GET.get("error", ""), "begun": draft.version > 0,
    }  # fmt: skip
    return render(request, "checks/walk.html", context)


@require_POST
@needs("check.record")
def touch(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """One touch of a form: kept in the draft, then on to the next zone. What cannot be taken is kept as typed."""
    actor, fields = actor_of(request), request.POST.dict()
    zone, do, view = str(fields.get("zone", "")), str(fields.get("do", "")), str(fields.get("view", ""))
    seen_object(actor, object_id)
    # What a picture shows may come after it: the finding is in the draft, or still to be completed.
    if do in ("save", "save_more") and (finding := key_in(fields.get("finding"))):
        take_photographs(request, [("finding", finding), ("object", object_id)], view=DETAIL)
    check = key_in(fields.get("check")) or uuid7()
    try:
        drafts.touch(actor, object_id, operation(do, object_id, zone, fields), check=check)
    except drafts.StoredAlready as stored:
        messages.warning(request, stored.sentence)
        return redirect("checks:result", check)
    except Invalid as error:
        drafts.touch(actor, object_id, lambda content: drafting.keep_typing(content, zone, fields), check=check)
        return _to(object_id, zone=zone, view=view, error=error.sentence)
    onward = fields.get("go") == "next" and do != "save_more"
    return _to(object_id, zone="" if onward else zone, view=view)


@require_POST
@needs("check.record")
def drop(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Throws the unfinished check away."""
    seen_object(actor_of(request), object_id)
    drafts.drop_draft(actor_of(request), object_id)
    messages.success(request, _("The unfinished check is thrown away."))
    return redirect("desk:thing", object_id)


def operation(do: str, object_id: UUID, zone: str, fields: Mapping[str, Any]) -> Callable[[Content], Content]:
    """The operation of `drafting` that a button names. Raises Invalid for fields that cannot be recorded, Http404 for no such button."""
    match do:
        case "as_last":
            stood = _standing(object_id, zone)
            return lambda content: drafting.as_last_time(content, zone, stood)
        case "rest_as_last":
            whole = _all_standing(object_id)
            return lambda content: drafting.rest_as_last_time(content, whole)
        case "nothing":
            stood = _standing(object_id, zone)
            return lambda content: drafting.nothing_seen(content, zone, stood)
        case "not_visible" | "not_checked":
            return lambda content: drafting.answer_zone(content, zone, do)
        case "save" | "save_more":
            cleaned = _cleaned(fields)
            return lambda content: drafting.put_seen(content, str(cleaned["id"]), cleaned)
        case "drop":
            return lambda content: drafting.drop_seen(content, str(fields.get("id", "")))
        case "typing":
            return lambda content: drafting.keep_typing(content, zone, fields)
        case "facts":
            return lambda content: drafting.put_facts(content, fields)
    raise Http404


def _cleaned(fields: Mapping[str, Any]) -> dict[str, Any]:
    """The fields of an observation, refused here if the check would refuse them later."""
    typed = str(fields.get("percent_typed", "")).strip()
    cleaned = {**fields, "percent": typed or fields.get("percent", "")}
    if not cleaned.get("change"):
        cleaned["change"] = "new"
    seen = reading.seen_of(cleaned.get("id"), cleaned)
    check_seen(seen)
    return cleaned


def _standing(object_id: UUID, zone: str) -> dict[str, dict[str, Any]]:
    return _carried(standing_observations(object_id).get(zone, []))


def _all_standing(object_id: UUID) -> dict[str, dict[str, dict[str, Any]]]:
    """Of each zone of the object what stands there."""
    stood = standing_observations(object_id)
    thing = Object.objects.filter(pk=object_id).first()
    if thing is None:
        raise NotFound()
    return {zone.key: _carried(stood.get(zone.key, [])) for zone in zones_of(thing)}


def _carried(rows: Iterable[Observation]) -> dict[str, dict[str, Any]]:
    """Each under the key of a new observation."""
    return {str(uuid7()): fields_of(row) for row in rows}


def _editing(row: ZoneRow, key: str | None, typing: Mapping[str, Any]) -> dict[str, Any]:
    """What the form of a finding is filled with: the one being changed, else what was being typed."""
    found = next((seen for seen in row.seen if seen["id"] == key), typing)
    percent = str(found.get("percent", ""))
    picture = percent if percent in PERCENTS else ""
    numbers = {name: int(found[name]) for name in ("severity", "activity", "hour") if str(found.get(name, "")).isdigit()}
    return {**found, **numbers, "percent_picture": picture, "percent_typed": "" if picture else percent}


def _pointed(edit: dict[str, Any], request: HttpRequest, view: str) -> dict[str, Any]:
    """With the point that was touched; a point in another view is none in this one."""
    here = edit if "x" not in request.GET else {**edit, "view": view, "x": request.GET["x"], "y": request.GET.get("y", "")}
    x, y = point_in(here, view) or ("", "")
    return {**edit, "view": view, "x": x, "y": y}


def _to(object_id: UUID, **query: str) -> HttpResponse:
    """Back to the walk."""
    asked = urlencode({name: value for name, value in query.items() if value})
    return redirect(f"{reverse('checks:full', args=[object_id])}?{asked}#hand")
