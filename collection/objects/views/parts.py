"""Parts, zones and materials; numbers; dangers."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from collection.objects.actions import hazards
from collection.objects.actions import numbers as number_actions
from collection.objects.actions import parts as part_actions
from collection.objects.dangers import DANGERS
from collection.objects.models import Component, MadeOf, Opening
from collection.objects.queries import in_force, text_of, zone_names
from collection.objects.record import record_of
from collection.objects.views.common import acting, chosen, done, materials, number_in, sent_key, thing_for
from museum.people.actor import Actor
from museum.people.doors import actor_of, needs

SHOWN_SCREENS = 5


@require_http_methods(["GET", "POST"])
@needs("catalogue.edit")
def parts(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Parts and what each zone is made of."""
    thing = thing_for(request, object_id)
    if request.method == "POST":
        return done(request, chosen(request, _part_acts(request, object_id)), "objects:parts", object_id)
    made_of = in_force(MadeOf.objects.filter(component__object=thing).select_related("material", "component"))
    context = {
        "thing": thing, "card": thing.card, "record": record_of(thing, actor_of(request)),
        "sorts": Component.Sort.choices[1:], "materials": materials(), "zone_names": zone_names().items(),
        "made_of": [{"fact": row, "material": text_of(row.material.texts)} for row in made_of],
        "originals": MadeOf.Original.choices,
    }  # fmt: skip
    return render(request, "objects/parts.html", context)


def _part_acts(request: HttpRequest, object_id: UUID) -> dict[str, Callable[[], Any]]:
    actor, typed = acting(request), request.POST
    return {
        "part": lambda: part_actions.add_component(
            actor, object_id, sort=typed.get("sort", ""), name=typed.get("name", ""),
            lettered=typed.get("lettered") == "on", zones=typed.getlist("zones"),
        ),
        "letter": lambda: part_actions.give_letter(actor, sent_key(request, "component")),
        "change": lambda: part_actions.change_component(
            actor, sent_key(request, "component"), version=number_in(typed.get("version"), 0),
            name=typed.get("name", ""), sort=typed.get("sort", ""), reason=typed.get("reason", ""),
        ),
        "material": lambda: _made_of(request, actor),
        "withdraw": lambda: part_actions.withdraw_material(
            actor, sent_key(request, "made_of"), reason=typed.get("reason", "")
        ),
        "zone": lambda: part_actions.note_zone(
            actor, sent_key(request, "component"), zone=typed.get("zone", ""), present=typed.get("present") == "yes",
            name=typed.get("name", ""),
        ),
    }  # fmt: skip


def _made_of(request: HttpRequest, actor: Actor) -> MadeOf:
    """The zone comes as 'component/code', or as the component alone."""
    typed = request.POST.copy()
    typed["component"], _slash, zone = typed.get("where", "").partition("/")
    request.POST = typed  # type: ignore[assignment]
    return part_actions.made_of(
        actor, sent_key(request, "component"), material=typed.get("material", ""), zone=zone,
        finish=typed.get("finish", ""), original=typed.get("original") or "unknown",
    )  # fmt: skip


@require_http_methods(["GET", "POST"])
@needs("catalogue.edit")
def numbers(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Numbers: given, replaced, voided; never given twice."""
    thing, actor = thing_for(request, object_id), actor_of(request)
    if request.method == "POST":
        return done(request, chosen(request, _number_acts(request, object_id)), "objects:numbers", object_id)
    rows = thing.numbers.exclude(state="withdrawn").select_related("component").order_by("state", "sort_key")
    context = {"thing": thing, "card": thing.card, "numbers": rows, "issues": actor.may("number.issue")}
    return render(request, "objects/numbers.html", context)


def _number_acts(request: HttpRequest, object_id: UUID) -> dict[str, Callable[[], Any]]:
    actor, typed = acting(request), request.POST
    return {
        "give": lambda: number_actions.give_number(actor, object_id, typed.get("number", ""), as_written=typed.get("as_written") == "on"),
        "renumber": lambda: number_actions.renumber(actor, object_id, typed.get("number", ""), reason=typed.get("reason", "")),
        "void": lambda: number_actions.void_number(actor, sent_key(request, "id"), reason=typed.get("reason", "")),
    }


@require_http_methods(["GET", "POST"])
@needs("hazard.report")
def dangers(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Dangers to people: told by anybody who cares for things, settled by a curator with the evidence."""
    thing, actor = thing_for(request, object_id), actor_of(request)
    if request.method == "POST":
        return done(request, chosen(request, _danger_acts(request, object_id)), "objects:dangers", object_id)
    context = {
        "thing": thing, "card": thing.card, "record": record_of(thing, actor), "dangers": DANGERS.items(),
        "history": thing.hazards.select_related("by").order_by("-recorded_at", "-id"),
        "screens": thing.screens.select_related("by").order_by("-recorded_at", "-id")[:SHOWN_SCREENS],
        "openings": thing.openings.exclude(why=Opening.Why.MATERIAL).select_related("by").order_by("-recorded_at", "-id")[:SHOWN_SCREENS],
        "settles": actor.may("hazard.close"),
    }  # fmt: skip
    return render(request, "objects/dangers.html", context)


def _danger_acts(request: HttpRequest, object_id: UUID) -> dict[str, Callable[[], Any]]:
    actor, typed = acting(request), request.POST
    level, code = number_in(typed.get("level"), -1), typed.get("code", "")
    return {
        "tell": lambda: hazards.report_hazard(actor, object_id, code=code, level=level, zone=typed.get("zone", ""), note=typed.get("note", "")),
        "settle": lambda: hazards.settle_hazard(actor, object_id, code=code, level=level, evidence=typed.get("evidence", "")),
    }
