"""'What may I do?': the answer finding by finding, the box for one's own words, and the way to a proposal."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments import reading as read
from conservation.treatments.actions.proposals import propose_treatment
from conservation.treatments.answering import what_may_i_do
from conservation.treatments.models import DepositDecision, Proposal, Work
from conservation.treatments.views.common import seen_object
from museum.errors import DomainError, NotFound
from museum.ids import uuid7
from museum.people.doors import actor_of, needs


@require_safe
@needs("treatment.propose")
def may(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Per open finding the steps in order, and what the gate says to 'I would use ...'."""
    return _page(request, object_id, {name: request.GET.get(name, "") for name in ("words", "zone", "surface")})


@require_POST
@needs("treatment.propose")
def propose(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Sends a proposal; what is refused is told on the same page, with all that was typed."""
    sent = request.POST.dict()
    if "|" in sent.get("spot", ""):
        sent["zone"], sent["surface"] = sent["spot"].split("|", 1)
    key = read.key_or_none(sent, "id") or uuid7()
    try:
        made = propose_treatment(
            actor_of(request).keyed(key), object_id, proposal_id=key, zone=sent.get("zone", ""), surface=sent.get("surface", ""), aim=sent.get("aim", ""),
            steps=[read.meant(sent)], finding_id=read.key_or_none(sent, "finding"), written=sent.get("written", ""),
        )  # fmt: skip
    except NotFound:
        raise
    except DomainError as refused:
        return _page(request, object_id, {"words": sent.get("words", "")}, refused=refused, typed=sent)
    return redirect("treatments:proposal", made.pk)


def _page(
    request: HttpRequest, object_id: UUID, asked: dict[str, Any], *, refused: DomainError | None = None, typed: dict[str, Any] | None = None
) -> HttpResponse:
    actor = actor_of(request)
    thing = seen_object(actor, object_id)
    if "|" in (spot := request.GET.get("spot", "")):
        asked["zone"], asked["surface"] = spot.split("|", 1)
    context = {
        "thing": thing, "card": thing.card, "answer": what_may_i_do(actor, object_id, **asked), "refused": refused, "typed": typed or {}, "key": uuid7(),
        "asked": asked, "decides": actor.may("treatment.approve"), "names": actor.may("check.record"), "files_leave": actor.may("treatment.owner_leave"),
        "kinds": treatment_rules_in_force().gate.deposit_kinds, "decisions": DepositDecision.What.choices,
        "proposals": Proposal.objects.filter(object=thing).exclude(state=Proposal.State.WITHDRAWN).select_related("proposed_by").order_by("-sent_at")[:8],
        "works": Work.objects.filter(object=thing, end=None).select_related("person"), "ours": thing.card.whose in ("", "own", "own_handling", "own_prop"),
    }  # fmt: skip
    return render(request, "treatments/may.html", context, status=409 if refused else 200)
