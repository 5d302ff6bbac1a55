"""Pages on which a move is told: of a thing, of a box with all in it, of several things, and what was told wrongly."""

from collections.abc import Callable, Iterable
from datetime import date
from typing import Any
from uuid import UUID, uuid5

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from collection.objects.actions.numbers import read_number
from collection.objects.models import Component, Number, Object
from collection.objects.views.common import acting, done, key_in, thing_for
from conservation.rules.placing import Objection
from locations.places import actions, deciding, placing
from locations.places.models import HumidityDecision, Movement, Place
from locations.places.placing import PlacingRefused
from locations.places.queries import moves_of, place_words
from museum import clock
from museum.errors import DomainError, Invalid, NotFound, VersionConflict
from museum.ids import uuid7
from museum.people.doors import actor_of, needs

MOST_AT_ONCE = 200


@require_http_methods(["GET", "POST"])
@needs("movement.record")
def move_thing(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """A thing went somewhere: told when it happened. Sent twice, it is stored once."""
    actor, thing, fields = actor_of(request), thing_for(request, object_id), request.POST
    key, error = key_in(fields.get("id")) or uuid7(), ""
    asks = "ask" in fields
    against = _asked_first(request, thing) if asks else []
    if request.method == "POST" and not asks:
        try:
            warnings = actions.move_object(
                actor.keyed(key), object_id, to=fields.get("to", ""), place_id=key_in(fields.get("place")),
                parts=[part for text in fields.getlist("parts") if (part := key_in(text))], reason=fields.get("reason", ""),
                happened_on=day_in(fields.get("on")), return_by=day_in(fields.get("return_by")), resting=fields.get("resting") or Movement.Resting.SUPPORT,
                planned=_planned(request), accepts=fields.get("accepts", ""),
            )  # fmt: skip
        except (Invalid, PlacingRefused) as refused:
            error, against = refused.sentence, [placing.read(kept) for kept in refused.data.get("objections", [])]
        else:
            _warn(request, warnings)
            messages.success(request, _("Stored where it is now."))
            return redirect("desk:thing", object_id)
    wrong = [placing.read_row(one) for one in thing.misplaced.order_by("level", "id")]
    decisions = deciding.shown(thing.pk)
    context = {
        "thing": thing, "card": thing.card, "key": key, "error": error, "typed": fields or request.GET, "targets": targets(),
        "against": shown(against), "asks_humidity": bool(placing.of_humidity(against)), "asked": asks,
        "decisions": decisions, "exact": actor.may("place.see_exact"), "rests": Movement.Resting.choices,
        "wrong": shown(wrong), "open_humidity": deciding.open_still(wrong, decisions),
        "ways": Movement.To.choices, "chosen": fields.getlist("parts"), "parts": thing.components.filter(sort__in=Component.PLACED).order_by("position"),
        "now": place_words(actor, thing), "today": clock.today(), "moves": moves_of(thing) if actor.may("place.see_exact") else [],
    }  # fmt: skip
    return render(request, "places/move.html", context, status=400 if error else 200)


def shown(objections: Iterable[Objection]) -> list[dict[str, str]]:
    """Objections in words, for pages."""
    told = list(objections)
    names = placing.names_in(told)
    return [{"level": one.level, "code": one.code, "why": placing.words(one.why, names), "instead": placing.words(one.instead, names)} for one in told]


def _asked_first(request: HttpRequest, thing: Object) -> list[Objection]:
    """What speaks against the place that was chosen, before anything is stored."""
    key = key_in(request.POST.get("place"))
    place = Place.objects.filter(pk=key, closed_on=None).first() if key else None
    return placing.against(thing.pk, place, request.POST.get("resting") or Movement.Resting.SUPPORT) if place else []


def _planned(request: HttpRequest) -> bool:
    """Not yet so: nobody said that it stands there, or since when."""
    fields = request.POST
    return not fields.get("stands") and day_in(fields.get("on")) is None


@require_POST
@needs("movement.record")
def move_a_box(request: HttpRequest, place_id: UUID) -> HttpResponse:
    """A box goes somewhere, with what is in it."""
    fields, to = request.POST, request.POST.get("to") or Movement.To.PLACE

    def move() -> list[str]:
        return actions.move_box(
            acting(request), place_id, to=to, place_id=key_in(fields.get("place")), reason=fields.get("reason", ""), happened_on=day_in(fields.get("on")),
            planned=_planned(request), accepts=fields.get("accepts", ""),
        )  # fmt: skip

    return said(request, move, place_id)


@require_http_methods(["GET", "POST"])
@needs("movement.record")
def move_many(request: HttpRequest) -> HttpResponse:
    """Several things to one place, by typing or scanning their numbers. Sent twice, each is stored once."""
    told: list[tuple[str, str, bool]] = []
    key = key_in(request.POST.get("act")) or uuid7()
    if request.method == "POST":
        place = key_in(request.POST.get("place"))
        lines = dict.fromkeys(line.strip() for line in request.POST.get("numbers", "").splitlines() if line.strip())
        told = [(line, *_move_one(request, line, place, key)) for line in list(lines)[:MOST_AT_ONCE]]
        if len(lines) > MOST_AT_ONCE:
            messages.warning(request, _("The first %(n)d were taken. Send the others by themselves.") % {"n": MOST_AT_ONCE})
    left = "\n".join(line for line, _words, moved in told if not moved)
    return render(request, "places/move_many.html", {"said": told, "left": left, "targets": targets(), "typed": request.POST})


def _move_one(request: HttpRequest, text: str, place: UUID | None, key: UUID) -> tuple[str, bool]:
    """Moves what carries a number; answers what happened in words, and whether it moved."""
    try:
        canonical = str(read_number(text))
    except Invalid:
        canonical = text
    seen = Object.objects.visible_to(actor_of(request))
    number = Number.objects.filter(text=canonical, state=Number.State.CURRENT, object__in=seen).first()
    if number is None:
        return _("Nothing here carries this number. It was not moved."), False
    parts = [number.component_id] if number.component_id else []
    try:
        warnings = actions.move_object(
            actor_of(request).keyed(uuid5(key, canonical)), number.object_id, place_id=place, parts=parts, reason=request.POST.get("reason", ""),
            planned=_planned(request), accepts=request.POST.get("accepts", ""),
        )  # fmt: skip
    except DomainError as refused:
        return refused.sentence, False
    return " ".join([_("Moved."), *warnings]), True


@require_POST
@needs("movement.record")
def humidity(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Somebody decided on humidities that do not meet where a thing stands; with `decision` it is taken back."""
    thing_for(request, object_id)
    fields, by = request.POST, acting(request)
    old, why = key_in(fields.get("decision")), fields.get("reason", "")

    def act() -> HumidityDecision:
        return deciding.withdraw_humidity(by, object_id, old, reason=why) if old else deciding.decide_humidity(by, object_id, reason=why)

    return done(request, act, "places:move_thing", object_id)


@require_POST
@needs("movement.record")
def correct(request: HttpRequest, movement_id: UUID) -> HttpResponse:
    """A move told wrongly: it went elsewhere, or it never happened."""
    fields = request.POST
    move = Movement.objects.select_related("component").filter(pk=movement_id).first()
    if move is None or move.component is None:
        raise NotFound()
    place, by = key_in(fields.get("place")), acting(request)
    thing = move.component.object_id
    return done(request, lambda: actions.correct_move(by, movement_id, reason=fields.get("reason", ""), place_id=place), "places:move_thing", thing)


def said(request: HttpRequest, act: Callable[[], Any], place_id: UUID) -> HttpResponse:
    """Carries out, tells what came of it, and goes back to the place. Whether somebody else was first is the caller's to show."""
    try:
        answer = act()
    except VersionConflict:
        raise
    except DomainError as refused:
        messages.error(request, refused.sentence)
    else:
        _warn(request, answer if isinstance(answer, list) else [])
        messages.success(request, _("Stored."))
    return redirect("places:place", place_id)


def targets() -> list[Place]:
    """Open places that can take a thing, in walking order; boxes last."""
    return list(Place.objects.filter(closed_on=None).exclude(level=Place.Level.BUILDING).order_by("mobile", "path_key", "code"))


def day_in(text: str | None) -> date | None:
    """A day that was sent, if it is one."""
    try:
        return date.fromisoformat(text or "")
    except ValueError:
        return None


def _warn(request: HttpRequest, warnings: list[str]) -> None:
    for warning in warnings:
        messages.warning(request, warning)
