"""The page of a dehumidifier: what was emptied when, what is usual, and the field for today's litres."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from collection.objects.views.common import acting, key_in
from locations.climate import typed
from locations.climate.actions.spots import SpotEntry, read_by_hand
from locations.climate.machines import log_of
from locations.climate.whatif.figures import place_for
from museum.errors import DomainError, Invalid
from museum.ids import uuid7
from museum.people.doors import actor_of, needs

SHOWN = 60


@require_http_methods(["GET", "POST"])
@needs("climate.record")
def machine(request: HttpRequest, place_id: UUID) -> HttpResponse:
    """The litres of a place's machine."""
    place, error = place_for(place_id), ""
    if request.method == "POST":
        try:
            read_by_hand(acting(request), [_entry(request, place_id)], at=typed.moment(request.POST.get("at")))
        except DomainError as refused:
            error = refused.sentence
        else:
            messages.success(request, _("Stored."))
            return redirect("climate:machine", place_id)
    log = log_of(place)
    key = key_in(request.POST.get("entry")) or uuid7()
    days = list(reversed(log.days))[:SHOWN]
    context = {"place": place, "log": log, "days": days, "noted": any(one.notes for one in days), "error": error, "typed": request.POST, "key": key}
    context["sees"] = actor_of(request).may("climate.see")
    return render(request, "climate/machine.html", context, status=400 if error else 200)


def _entry(request: HttpRequest, place_id: UUID) -> SpotEntry:
    litres = typed.figure(request.POST.get("litres"), "litres")
    if litres is None:
        raise Invalid(_("How many litres were in the tank? Write 0 if it was empty."), field="litres")
    return SpotEntry(id=key_in(request.POST.get("entry")) or uuid7(), place_id=place_id, litres=litres, note=request.POST.get("note", ""))
