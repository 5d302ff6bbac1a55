"""Pages of incidents: open one for a room, see what is at risk, say what was done, close it with evidence."""

from decimal import Decimal, InvalidOperation
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from collection.objects.models import Object
from collection.objects.queries import material_words
from collection.objects.views.common import acting, key_in
from conservation.checks.actions import incidents
from conservation.checks.models import Incident, IncidentStep
from locations.places.models import Place
from locations.places.move_views import day_in
from museum import clock
from museum.errors import DomainError, Invalid, NotFound
from museum.ids import uuid7
from museum.jobs.models import Job
from museum.people.doors import actor_of, needs

A_PAGE = 50


@require_safe
@needs("event.report")
def incident_list(request: HttpRequest) -> HttpResponse:
    """Open incidents first, then those that are over."""
    page = Paginator(Incident.objects.select_related("place").order_by("-closed_on", "-opened_on", "id"), A_PAGE).get_page(request.GET.get("page"))
    return render(request, "checks/incidents.html", {"page": page})


@require_http_methods(["GET", "POST"])
@needs("event.report")
def new_incident(request: HttpRequest) -> HttpResponse:
    """Opens an incident for a room."""
    fields, error = request.POST, ""
    key = key_in(fields.get("id")) or uuid7()
    if request.method == "POST":
        try:
            size = number(fields.get("square_metres"))
            made = incidents.open_incident(
                actor_of(request).keyed(key), incident_id=key, kind=fields.get("kind", ""), place_id=key_in(fields.get("place")) or uuid7(),
                opened_on=day_in(fields.get("on")), note=fields.get("note", ""), square_metres=size, source=fields.get("source", ""),
            )  # fmt: skip
        except DomainError as refused:
            error = refused.sentence
        else:
            return redirect("checks:incident", made.pk)
    rooms = Place.objects.filter(closed_on=None, level=Place.Level.ROOM).order_by("path_key", "code")
    context = {"key": key, "error": error, "typed": fields or request.GET, "kinds": Incident.Kind.choices, "rooms": rooms, "today": clock.today()}
    return render(request, "checks/new_incident.html", context, status=400 if error else 200)


@require_safe
@needs("event.report")
def incident(request: HttpRequest, incident_id: UUID) -> HttpResponse:
    """One incident: protection first, then isolation, what is at risk, the rounds, what was done, and how it closes."""
    return _page(request, incident_id)


def _page(request: HttpRequest, incident_id: UUID, *, refused: str = "", of_form: str = "") -> HttpResponse:
    """The page; with `refused`, the form that was not carried out stands as it was typed."""
    found, actor = find(incident_id), actor_of(request)
    material = request.GET.get("material", "")
    things = found.at_risk.filter(object__in=Object.objects.visible_to(actor)).select_related("object__card").order_by("position")
    shown = things.filter(material=material) if material else things
    context = {
        "incident": found, "groups": by_material(found), "page": Paginator(shown, A_PAGE).get_page(request.GET.get("page")), "material": material,
        "query": f"material={material}&" if material else "", "rounds": rounds_of(found),
        "steps": found.steps.select_related("by").order_by("happened_on", "id"),
        "apart": Place.objects.filter(closed_on=None, use=Place.Use.QUARANTINE).order_by("path_key"), "kinds": IncidentStep.Kind.choices,
        "job": Job.objects.filter(pk=found.job).first() if found.job and not found.listed_at else None, "closes": actor.may("hazard.close"),
        "prints": actor.may("round.print"), "today": clock.today(), "exact": actor.may("place.see_exact_on_round"), "growth": incidents.GROWTH_RH,
        "told": _told(found) if actor.may("hazard.close") and not found.closed_on else {},
        "refused": refused, "of_form": of_form, "typed": {of_form: request.POST} if refused else {},
    }  # fmt: skip
    return render(request, "checks/incident.html", context, status=409 if refused else 200)


def _told(found: Incident) -> dict[str, Any]:
    """The record that its room's loggers and dials give, and its highest as it would be stored."""
    since = incidents.record_of(found)
    return {"over": since.over, "record": since.record, "highest": incidents.highest_of(since.record) if since.record else None}


@require_POST
@needs("event.report")
def step(request: HttpRequest, incident_id: UUID) -> HttpResponse:
    """Says what was done."""
    fields, by = request.POST, acting(request)

    try:
        incidents.add_step(by, incident_id, kind=fields.get("kind", ""), note=fields.get("note", ""), happened_on=day_in(fields.get("on")))
    except NotFound:
        raise
    except DomainError as refused:
        return _page(request, incident_id, refused=refused.sentence, of_form="step")
    messages.success(request, _("Stored."))
    return redirect("checks:incident", incident_id)


@require_POST
@needs("hazard.close")
def close(request: HttpRequest, incident_id: UUID) -> HttpResponse:
    """Closes it with the climate record or a reason."""
    fields = request.POST
    try:
        incidents.close_incident(
            acting(request), incident_id, highest_rh=number(fields.get("highest_rh")), record_from=day_in(fields.get("record_from")),
            reason=fields.get("reason", ""),
        )  # fmt: skip
    except NotFound:
        raise
    except DomainError as refused:
        return _page(request, incident_id, refused=refused.sentence, of_form="close")
    messages.success(request, _("The incident is closed."))
    return redirect("checks:incident", incident_id)


def find(incident_id: UUID) -> Incident:
    """The incident. Raises NotFound."""
    found = Incident.objects.select_related("place", "opened_by", "closed_by").filter(pk=incident_id).first()
    if found is None:
        raise NotFound()
    return found


def by_material(found: Incident) -> list[dict[str, Any]]:
    """Materials at risk in words, the most endangered first, with how many things."""
    counts = dict(found.at_risk.values_list("material").annotate(n=Count("id")).values_list("material", "n"))
    order = [code for code in incidents.endangered(found.kind) if code in counts]
    return [{"code": code, "words": (material_words([code]) or [code])[0], "n": counts[code]} for code in order]


def rounds_of(found: Incident) -> list[Any]:
    """Its rounds with what is left of each."""
    left = Count("stops", filter=Q(stops__done_by=None, stops__left_out=""))
    return list(found.rounds.annotate(all_stops=Count("stops"), left=left).order_by("due_by", "name"))


def number(text: str | None) -> Decimal | None:
    """A number that was typed, with a comma or a point; None where there is none. Raises Invalid for what is none."""
    if not text or not text.strip():
        return None
    try:
        found = Decimal(text.strip().replace(",", "."))
    except InvalidOperation:
        found = Decimal("NaN")
    if not found.is_finite():
        raise Invalid(_("“%(typed)s” is no figure. Write it as 20.5 or 20,5."), typed=text.strip()[:20])
    return found
