"""What is planned with a thing: seen by those who care for it, booked by curator and registrar."""

from datetime import date
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_http_methods

from collection.objects.actions import bookings as acts
from collection.objects.bookings import beside, planned_for
from collection.objects.models import Booking, Component, Object
from collection.objects.views.common import acting, chosen, key_in, number_in, thing_for
from museum import clock
from museum.errors import DomainError, Invalid, NotFound, VersionConflict
from museum.ids import uuid7
from museum.people.doors import actor_of, needs

FORMER = 10


@require_GET
@needs("catalogue.see_all")
def planned(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """What is to come, and what was planned before."""
    thing, today = thing_for(request, object_id), clock.today()
    coming = list(planned_for(object_id, today))
    context = {
        "thing": thing, "card": thing.card, "plans": [{"row": row, "beside": list(beside(row))} for row in coming],
        "former": thing.bookings.exclude(pk__in=[row.pk for row in coming]).select_related("component").order_by("-from_on", "-pk")[:FORMER],
        "books": actor_of(request).may("booking.make"), "edits": actor_of(request).may("catalogue.edit"),
    }  # fmt: skip
    return render(request, "objects/planned.html", context)


@require_http_methods(["GET", "POST"])
@needs("booking.make")
def plan(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """A new booking."""
    thing, typed = thing_for(request, object_id), request.POST
    if request.method == "GET":
        return _form(request, thing, {"kind": Booking.Kind.DISPLAY, "standing": Booking.Standing.ASKED})
    try:
        wish = _read(request)
        acts.book(acting(request), object_id, booking_id=key_in(typed.get("booking")) or uuid7(), component_id=key_in(typed.get("component")), **wish)
    except NotFound:
        raise
    except DomainError as refused:
        return _form(request, thing, typed, error=refused.sentence)
    messages.success(request, _("Planned. What stands open on it is judged again with this in mind."))
    return redirect("objects:planned", object_id)


@require_http_methods(["GET", "POST"])
@needs("booking.make")
def booking(request: HttpRequest, object_id: UUID, booking_id: UUID) -> HttpResponse:
    """One booking: changed or cancelled, with the reason."""
    thing, typed = thing_for(request, object_id), request.POST
    row = Booking.objects.filter(pk=booking_id, object=thing).first()
    if row is None:
        raise NotFound
    if request.method == "GET":
        return _form(request, thing, {name: getattr(row, name) for name in acts.PLANS}, row=row)
    version, reason = number_in(typed.get("version"), 0), typed.get("reason", "")
    actor = acting(request)
    deeds = {
        "change": lambda: acts.change_booking(actor, booking_id, version=version, changes=_read(request), reason=reason),
        "cancel": lambda: acts.cancel_booking(actor, booking_id, version=version, reason=reason),
    }
    deed = chosen(request, deeds)
    try:
        deed()
    except NotFound:
        raise
    except VersionConflict as conflict:
        return render(request, "web/conflict.html", {"conflict": conflict, "again": request.path, "typed": typed}, status=409)
    except DomainError as refused:
        return _form(request, thing, typed, row=row, error=refused.sentence)
    messages.success(request, _("Stored."))
    return redirect("objects:planned", object_id)


def _form(request: HttpRequest, thing: Object, typed: Any, *, row: Booking | None = None, error: str = "") -> HttpResponse:
    days = {name: str(typed.get(name) or "") for name in ("from_on", "until_on")}
    context = {
        "thing": thing, "card": thing.card, "typed": typed, "days": days, "row": row, "error": error, "key": uuid7(),
        "kinds": Booking.Kind.choices, "standings": Booking.Standing.choices[:2], "edits": True,
        "parts": Component.objects.filter(object=thing).exclude(sort=Component.Sort.MAIN).order_by("position", "pk"),
    }  # fmt: skip
    return render(request, "objects/booking.html", context, status=400 if error else 200)


def _read(request: HttpRequest) -> dict[str, Any]:
    typed = request.POST
    days = {name: day_in(typed.get(name, ""), name) for name in ("from_on", "until_on")}
    return {name: typed.get(name, "") for name in ("kind", "standing", "purpose")} | days


def day_in(text: str, field: str) -> date:
    """A day as the browser sends it. Raises Invalid."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise Invalid(_("Give both days: the first and the last on which it is needed."), field=field) from None
