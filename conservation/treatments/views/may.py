"""'What may I do?': the answer finding by finding, and the box for one's own words."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from conservation.rules.guidance import shipped_lessons
from conservation.treatments import wording
from conservation.treatments.answering import what_may_i_do
from conservation.treatments.models import DepositDecision, Proposal, Work
from conservation.treatments.reopened import reopened
from conservation.treatments.views.common import Again, seen_object
from conservation.treatments.wording import zones_in
from museum.ids import uuid7
from museum.people.doors import actor_of, needs

#: proposals shown beside the answer; the others stand on the time-line
SHOWN = 8


@require_safe
@needs("treatment.propose")
def may(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Per open finding the steps in order, and what the gate says to 'I would use ...'."""
    return page(request, object_id)


def page(request: HttpRequest, object_id: UUID, *, again: Again | None = None) -> HttpResponse:
    """The page; with `again`, one of its forms as it was sent and why it was not carried out."""
    actor = actor_of(request)
    thing = seen_object(actor, object_id)
    asked = _asked(request)
    works = list(Work.objects.filter(object=thing, end=None).select_related("person"))
    again_open = list(reopened().filter(work__object=thing))
    context: dict[str, Any] = {
        "thing": thing, "card": thing.card, "answer": what_may_i_do(actor, object_id, **asked), "key": uuid7(), "asked": asked,
        "decides": actor.may("treatment.approve"), "names": actor.may("check.record"), "files_leave": actor.may("treatment.owner_leave"),
        "kinds": wording.deposit_kinds(), "decisions": DepositDecision.What.choices, "severities": wording.SEVERITIES,
        "lessons": {lesson.step for lesson in shipped_lessons()},
        "proposals": Proposal.objects.filter(object=thing).exclude(state=Proposal.State.WITHDRAWN).select_related("proposed_by").order_by("-sent_at")[:SHOWN],
        "works": works, "ours": thing.card.whose in ("", "own", "own_handling", "own_prop"), "reopened": again_open,
        "zones": zones_in([*works, *(row.work for row in again_open)]),
    }  # fmt: skip
    if again is not None:
        context |= again.context | {"refused_at": _anchor(again)}
    return render(request, "treatments/may.html", context, status=409 if again else 200)


def _anchor(again: Again) -> str:
    """The form that was sent, by its id on the page."""
    typed = again.typed
    return "-".join(filter(None, [again.form, typed.get("finding", ""), typed.get("step", "")]))


def _asked(request: HttpRequest) -> dict[str, str]:
    """The own words that were asked about, and where."""
    asked = {name: request.GET.get(name, "") for name in ("words", "zone", "surface")}
    if "|" in (spot := request.GET.get("spot", "")):
        asked["zone"], asked["surface"] = spot.split("|", 1)
    return asked
