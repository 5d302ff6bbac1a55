"""The full check: a walk round the object, zone by zone. Works without scripts; with them each touch is quicker."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_POST, require_safe

from collection.objects.models import Object
from collection.objects.outlines import VIEWS
from conservation.checks import drafting
from conservation.checks.actions import drafts
from conservation.checks.drawing import drawing_of
from conservation.checks.models import ConditionCheck, Draft
from conservation.checks.queries import standing_observations
from conservation.checks.vocabulary import PERCENTS
from conservation.checks.walking import fields_of, offer_for, walk_of
from museum.errors import DomainError, NotFound
from museum.ids import uuid7
from museum.people.actor import Actor
from museum.people.doors import actor_of, needs

Content = dict[str, Any]


def seen_object(actor: Actor, object_id: UUID) -> Object:
    """The object, if this person may see it. Raises NotFound."""
    thing = Object.objects.visible_to(actor).select_related("card", "kind").filter(pk=object_id).first()
    if thing is None:
        raise NotFound()
    return thing


@require_safe
@needs("check.record")
def walk(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """The drawing, the list of zones and the zone at hand. The hazard screen comes before the first walk."""
    actor = actor_of(request)
    thing = seen_object(actor, object_id)
    draft = drafts.draft_of(actor, object_id, sort=ConditionCheck.Sort.FULL, stop=_stop(request))
    if draft.content["screen"] is None and not thing.screens.exists():
        return redirect("checks:screen", object_id)
    steps = walk_of(thing, draft, request.GET.get("zone"))
    view = request.GET.get("view") if request.GET.get("view") in VIEWS else "front"
    context = {
        "thing": thing, "card": thing.card, "draft": draft, "walk": steps, "at": steps.at, "offer": offer_for(steps.at),
        "percents": PERCENTS, "view": view, "views": VIEWS, "drawing": drawing_of(thing, steps, view),
        "new_seen": uuid7(), "new_finding": uuid7(), "editing": _editing(request, steps.at.seen),
        "typing": draft.content["typing"].get(steps.at.key, {}), "error": request.GET.get("error", ""),
    }  # fmt: skip
    return render(request, "checks/walk.html", context)


@require_POST
@needs("check.record")
def touch(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """One touch of a form: kept in the draft, then on to the next zone."""
    actor = actor_of(request)
    zone, do = request.POST.get("zone", ""), request.POST.get("do", "")
    try:
        drafts.touch(actor, object_id, _operation(do, object_id, zone, request.POST.dict()))
    except DomainError as error:
        if isinstance(error, NotFound):
            raise
        drafts.touch(actor, object_id, lambda content: drafting.keep_typing(content, zone, request.POST.dict()))
        return _to(object_id, zone=zone, view=request.POST.get("view", ""), error=error.sentence)
    return _to(object_id, zone="" if request.POST.get("go") == "next" else zone, view=request.POST.get("view", ""))


def _operation(do: str, object_id: UUID, zone: str, fields: dict[str, str]) -> Callable[[Content], Content]:
    """The operation of `drafting` that a button names."""
    match do:
        case "as_last":
            return lambda content: drafting.as_last_time(content, zone, _standing(object_id, zone))
        case "nothing":
            return lambda content: drafting.nothing_seen(content, zone, _standing(object_id, zone))
        case "not_visible" | "not_checked":
            return lambda content: drafting.answer_zone(content, zone, do)
        case "save":
            return lambda content: drafting.put_seen(content, fields["id"], seen_fields(fields))
        case "drop":
            return lambda content: drafting.drop_seen(content, fields["id"])
        case "typing":
            return lambda content: drafting.keep_typing(content, zone, fields)
    raise Http404


def seen_fields(fields: dict[str, str]) -> dict[str, Any]:
    """The fields of an observation as a form sends them, checked so that only what can be recorded is kept."""
    from_picture, typed = fields.get("percent", ""), fields.get("percent_typed", "").strip()
    cleaned = fields | {"percent": typed or from_picture}
    reading_check(cleaned)
    return cleaned


def _standing(object_id: UUID, zone: str) -> dict[str, dict[str, Any]]:
    return {str(uuid7()): fields_of(row) for row in standing_observations(object_id).get(zone, [])}


def _editing(request: HttpRequest, seen: Any) -> dict[str, Any] | None:
    key = request.GET.get("edit")
    return next(({"id": name, **fields} for name, fields in seen if name == key), None)


def _stop(request: HttpRequest) -> UUID | None:
    try:
        return UUID(request.GET["stop"])
    except (KeyError, ValueError):
        return None


def _to(object_id: UUID, **query: str) -> HttpResponse:
    """Back to the walk."""
    asked = urlencode({name: value for name, value in query.items() if value})
    return redirect(f"{reverse('checks:full', args=[object_id])}?{asked}#hand")


__all__ = ["Draft", "seen_object", "touch", "walk"]
