"""What is due, the rounds walked for it, and events that ignore the calendar."""

from datetime import date, timedelta
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from collection.objects.views.common import acting
from conservation.checks.actions.calls import CLIMATE
from conservation.checks.actions.events import report_event
from conservation.checks.actions.rounds import claim_stop, close_round, leave_out_stop, make_round
from conservation.checks.models import Due, Round, Stop
from conservation.checks.todo import rounds_of
from conservation.checks.vocabulary import in_words
from conservation.rules.tables import event_rules
from locations.places.models import Place
from museum import clock
from museum.errors import DomainError, Invalid, NotFound
from museum.people.doors import actor_of, needs
from museum.people.models import Person, Society
from museum.web.paging import page_of

A_PAGE = 50


@require_safe
@needs("round.walk")
def rounds(request: HttpRequest) -> HttpResponse:
    """The open rounds, and for those who plan them a form for one more."""
    actor = actor_of(request)
    plans = actor.may("round.make")
    context = {
        "rounds": rounds_of(actor.person, every=plans), "plans": plans, "by": clock.today() + timedelta(days=14),
        "places": Place.objects.filter(closed_on=None, level__in=("building", "room")).order_by("path_key") if plans else [],
        "people": list(Person.objects.filter(left_on=None).order_by("name")) if plans else [],
    }  # fmt: skip
    return render(request, "checks/rounds.html", context)


@require_POST
@needs("round.make")
def new_round(request: HttpRequest) -> HttpResponse:
    """Makes a round of what is due."""
    walkers = [UUID(key) for key in request.POST.getlist("walkers") if _is_uuid(key)]
    place = request.POST.get("place", "")
    try:
        by = date.fromisoformat(request.POST.get("by", ""))
        made = make_round(actor_of(request), name=request.POST.get("name", ""), due_by=by, place_id=UUID(place) if _is_uuid(place) else None, walkers=walkers)
    except ValueError:
        messages.error(request, _("Which day? Write it as 2026-11-25."))
    except Invalid as refused:
        messages.error(request, refused.sentence)
    else:
        return redirect("checks:round", made.pk)
    return redirect("checks:rounds")


@require_safe
@needs("round.walk")
def round_page(request: HttpRequest, round_id: UUID) -> HttpResponse:
    """The walking list: what is where, why it is due, who stands there, how far we are."""
    found = _round(request, round_id)
    stops = found.stops.select_related("object__card", "claimed_by", "done_by__author").order_by("position")
    rows = list(stops)
    context = {
        "round": found, "stops": rows, "done": sum(1 for row in rows if row.done_by_id or row.left_out), "now": clock.now(),
        "plans": actor_of(request).may("round.make"),
    }  # fmt: skip
    return render(request, "checks/round.html", context)


@require_POST
@needs("round.walk")
def stand_at(request: HttpRequest, stop_id: UUID) -> HttpResponse:
    """Stands at a stop and goes to its check."""
    stop = Stop.objects.filter(pk=stop_id).first()
    if stop is None:
        raise NotFound()
    _round(request, stop.round_id)
    try:
        claim_stop(actor_of(request), stop_id)
    except DomainError as refused:
        messages.warning(request, refused.sentence)
        return redirect("checks:round", stop.round_id)
    page = redirect("checks:full" if stop.sort != "quick" else "checks:quick", stop.object_id)
    page["Location"] += f"?stop={stop.pk}"
    return page


@require_POST
@needs("round.walk")
def leave_out(request: HttpRequest, stop_id: UUID) -> HttpResponse:
    """Says why a stop was not looked at."""
    try:
        stop = leave_out_stop(actor_of(request), stop_id, reason=request.POST.get("reason", ""))
    except Invalid as refused:
        messages.error(request, refused.sentence)
        return redirect("checks:rounds")
    return redirect("checks:round", stop.round_id)


@require_POST
@needs("round.make")
def end_round(request: HttpRequest, round_id: UUID) -> HttpResponse:
    """Ends a round; what was not looked at stays due."""
    close_round(actor_of(request), round_id)
    messages.success(request, _("The round is closed. What was not looked at stays due and comes into the next."))
    return redirect("checks:rounds")


@require_safe
@needs("round.make")
def due(request: HttpRequest) -> HttpResponse:
    """All looks that are due, most urgent and oldest first; or those alone that alarms of the climate asked for, by their day."""
    by, after_alarms = clock.today() + timedelta(days=30), request.GET.get("why") == CLIMATE
    rows = Due.objects.filter(on__lte=by).select_related("object__card", "call").order_by("-urgency", "on", "id")
    if after_alarms:
        rows = rows.filter(call__why=CLIMATE).order_by("on", "call__reason", "-urgency", "id")
    page = page_of(rows, request.GET.get("page"), A_PAGE)
    context = {
        "rows": page, "today": clock.today(), "by": by, "whole_house": Society.KEY, "closes": actor_of(request).may("look.close"),
        "after_alarms": after_alarms, "query": f"why={CLIMATE}&" if after_alarms else "",
    }  # fmt: skip
    return render(request, "checks/due.html", context)


@require_http_methods(["GET", "POST"])
@needs("event.report")
def event(request: HttpRequest) -> HttpResponse:
    """Tells of a leak, a fall, an insect, a damp room: it calls for looks."""
    error = ""
    if request.method == "POST":
        place = request.POST.get("place", "")
        try:
            told = report_event(
                acting(request), kind=request.POST.get("kind", ""), happened_on=date.fromisoformat(request.POST.get("on", "")),
                place_id=UUID(place) if _is_uuid(place) else None, note=request.POST.get("note", ""),
            )  # fmt: skip
        except ValueError:
            error = _("Which day? Write it as 2026-11-25.")
        except Invalid as refused:
            error = refused.sentence
        else:
            messages.success(request, _("Stored. What stands there is due for a look: %(rule)s.") % {"rule": _(event_rules()[told.kind].reason)})
            return redirect("checks:rounds")
    context = {
        "kinds": [in_words(row) for row in event_rules().values()], "places": Place.objects.filter(closed_on=None, mobile=False).order_by("path_key"),
        "today": clock.today(), "error": error, "typed": request.POST or request.GET,
    }  # fmt: skip
    return render(request, "checks/event.html", context, status=400 if error else 200)


def _round(request: HttpRequest, round_id: UUID) -> Round:
    """A round that this person walks; those who plan see all. Raises NotFound."""
    actor = actor_of(request)
    found = Round.objects.filter(pk=round_id).first()
    if found is None or not (actor.may("round.make") or found.walkers.filter(pk=actor.person).exists()):
        raise NotFound()
    return found


def _is_uuid(text: str) -> bool:
    try:
        UUID(text)
    except ValueError:
        return False
    return True
