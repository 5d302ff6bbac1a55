"""How to tell the troubles apart, and whether they are still going on."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from conservation.checks.vocabulary import offer_terms
from museum.people.doors import needs


@require_safe
@needs("catalogue.see_all")
def terms(request: HttpRequest) -> HttpResponse:
    """The terms of the zone's materials first: how to recognise each, the active-or-stable cue, what to do first."""
    wanted = [code for code in request.GET.get("materials", "").split(",") if code]
    return render(request, "checks/terms.html", {"offer": offer_terms(wanted), "materials": wanted})
