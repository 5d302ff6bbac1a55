"""The quick look: one minute, in place, nothing handled."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.formats import localize
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from conservation.checks.actions.record import record_check
from conservation.checks.entry import CheckEntry
from conservation.checks.models import ConditionCheck, Stop
from conservation.checks.queries import open_calls_of
from conservation.checks.views.walk import seen_object
from museum import clock
from museum.errors import Invalid
from museum.ids import uuid7
from museum.people.doors import actor_of, needs


@require_http_methods(["GET", "POST"])
@needs("check.record")
def quick(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Nothing new, or it needs a full check; the page carries the key that makes a second tap harmless."""
    actor = actor_of(request)
    thing = seen_object(actor, object_id)
    key, stop = _uuid(request.POST.get("id")) or uuid7(), _uuid(request.POST.get("stop") or request.GET.get("stop"))
    error = ""
    if request.method == "POST":
        entry = CheckEntry(
            id=key, object_id=object_id, sort=ConditionCheck.Sort.QUICK, happened_on=clock.today(),
            result=request.POST.get("result", ""), note=request.POST.get("note", "").strip(), stop=stop,
        )  # fmt: skip
        try:
            record_check(actor.keyed(key), entry)
        except Invalid as refused:
            error = refused.sentence
        else:
            thing.card.refresh_from_db()
            messages.success(request, _("Saved. Next quick look: %(day)s.") % {"day": localize(thing.card.quick_due)})
            return redirect(_onward(stop, object_id))
    context = {"thing": thing, "card": thing.card, "key": key, "stop": stop, "error": error, "note": request.POST.get("note", "")}
    context["asked"] = open_calls_of(object_id)
    return render(request, "checks/quick.html", context, status=400 if error else 200)


def _onward(stop: UUID | None, object_id: UUID) -> str:
    """Back to the round it belongs to, else to the thing."""
    found = Stop.objects.filter(pk=stop).values_list("round_id", flat=True).first() if stop else None
    return reverse("checks:round", args=[found]) if found else reverse("desk:thing", args=[object_id])


def _uuid(text: str | None) -> UUID | None:
    try:
        return UUID(text or "")
    except ValueError:
        return None
