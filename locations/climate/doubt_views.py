"""Pages of suspicions against loggers: the figures, what to do, and what came of it."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from collection.objects.views.common import acting, key_in
from locations.climate import typed
from locations.climate.actions.doubts import settle
from locations.climate.models import Settlement, Suspicion
from locations.climate.sentences import doubted, next_steps
from museum.errors import DomainError, NotFound
from museum.people.doors import actor_of, needs


@require_safe
@needs("climate.see")
def suspicion(request: HttpRequest, suspicion_id: UUID) -> HttpResponse:
    """One suspicion."""
    return _page(request, suspicion_id)


def _page(request: HttpRequest, suspicion_id: UUID, refused: str = "") -> HttpResponse:
    """The page; with `refused`, the form stands as it was filled in."""
    found = Suspicion.objects.select_related("logger", "other", "settlement__by", "settlement__verdict__logger").filter(pk=suspicion_id).first()
    if found is None:
        raise NotFound
    context: dict[str, Any] = {
        "suspicion": found, "settlement": getattr(found, "settlement", None), "rests_on": doubted(found.kind, found.evidence),
        "steps": next_steps(found.kind), "weeks": list(enumerate(found.evidence.get("weeks", []), 1)), "says": _choices(found),
        "settles": actor_of(request).may("climate.set_up"), "error": refused, "typed": request.POST,
    }  # fmt: skip
    return render(request, "climate/suspicion.html", context, status=400 if refused else 200)


def _choices(found: Suspicion) -> list[tuple[str, str]]:
    """What may come of it; of two loggers, whose readings are not to be used."""
    holds, left_out = Settlement.Says.HOLDS, Settlement.Says.LEFT_OUT
    if found.other is None:
        return [(one.value, str(one.label)) for one in (holds, left_out)]
    of_each = [(f"{left_out}:{one.pk}", _("those of %(logger)s are not to be used") % {"logger": one.name}) for one in (found.logger, found.other)]
    return [(holds.value, _("the readings of both hold")), *of_each]


@require_POST
@needs("climate.set_up")
def settle_it(request: HttpRequest, suspicion_id: UUID) -> HttpResponse:
    """Somebody looked into it."""
    fields = request.POST
    try:
        begin, end = typed.moment(fields.get("begin")), typed.moment(fields.get("end"))
        says, _colon, of = fields.get("says", "").partition(":")
        settle(acting(request), suspicion_id, says=says, reason=fields.get("reason", ""), begin=begin, end=end, of=key_in(of))
    except NotFound:
        raise
    except DomainError as refused:
        return _page(request, suspicion_id, refused.sentence)
    messages.success(request, _("Stored."))
    return redirect("climate:suspicion", suspicion_id)
