"""Closing a look that was asked for: without looking, by the curator, with the reason."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from collection.objects.models import Object
from collection.objects.views.common import acting
from conservation.checks.actions.calls import CARD, answer_call
from conservation.checks.models import Call, CallAnswer
from museum.errors import Invalid, NotFound
from museum.people.actor import Actor
from museum.people.doors import actor_of, needs


@require_http_methods(["GET", "POST"])
@needs("look.close")
def close_look(request: HttpRequest, call_id: UUID) -> HttpResponse:
    """Says why a look that was asked for is not needed."""
    call, error, reason = asked_look(actor_of(request), call_id), "", request.POST.get("reason", "")
    if request.method == "POST":
        try:
            answer = answer_call(acting(request), call.pk, reason=reason)
        except Invalid as refused:
            error = refused.sentence
        else:
            messages.success(request, _came_of(answer, reason))
            return redirect("desk:thing", call.object_id)
    context = {"call": call, "thing": call.object, "answer": getattr(call, "answer", None), "error": error, "reason": reason, "card": call.why == CARD}
    return render(request, "checks/close_look.html", context, status=400 if error else 200)


def _came_of(answer: CallAnswer, reason: str) -> str:
    """What is told to whoever closed it: where it was answered before, by what, for that stands."""
    if answer.of_check is not None:
        day = date_format(answer.of_check.happened_on, "DATE_FORMAT")
        return _("Somebody looked on %(day)s, which answered it already. Your reason was not stored.") % {"day": day}
    if answer.reason != reason.strip():
        return _("It was closed without a look already: %(reason)s. Your reason was not stored.") % {"reason": answer.reason.rstrip(".")}
    return _("Closed without a look. The reason stands in its time-line.")


def asked_look(actor: Actor, call_id: UUID) -> Call:
    """A look that was asked for and not taken back, of a thing that this person may see. Raises NotFound."""
    rows = Call.objects.filter(corrected_by=None, withdraws=False, object__in=Object.objects.visible_to(actor))
    found = rows.select_related("object__card", "answer__of_check").filter(pk=call_id).first()
    if found is None:
        raise NotFound()
    return found
