"""The curator's desk: what waits, decided right on the list; the page of one proposal; the second signature."""

from collections.abc import Callable
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from collection.objects.models import Object, Photograph
from collection.objects.queries import photographs_of, words_of_materials
from conservation.checks.models import Observation
from conservation.checks.vocabulary import term_words
from conservation.rules.gate import HOLD_LEVEL
from conservation.rules.leave import same_day_later
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments import advice, asking
from conservation.treatments import reading as read
from conservation.treatments.actions import deciding, proposals
from conservation.treatments.answering import what_may_i_do
from conservation.treatments.models import Approval, Proposal, Work
from conservation.treatments.views.common import Again, carried_out, paper_of, refusal_in, seen_proposals
from conservation.treatments.views.proposing import choices, lines, rows_in, steps_in
from conservation.treatments.wording import zones_in
from museum import clock
from museum.errors import NotFound
from museum.people import competence
from museum.people.actor import Actor
from museum.people.doors import actor_of, needs, safe_next

#: so many at once are read on a phone
SHOWN = 30
PICTURES = 3
#: buttons by which somebody else than the proposer answers
DECIDED = ("approve", "return", "agree", "ask")


@require_safe
@needs("treatment.see")
def desk(request: HttpRequest) -> HttpResponse:
    """What waits: the most urgent first, of those the oldest, with photographs; and what waits for a second signature."""
    return _desk(request)


@require_safe
@needs("treatment.see")
def proposal(request: HttpRequest, proposal_id: UUID) -> HttpResponse:
    """One proposal: what was found, what is meant, what was decided."""
    return _proposal(request, proposal_id)


@require_POST
@needs("treatment.propose")
def decide(request: HttpRequest, proposal_id: UUID) -> HttpResponse:
    """Approve, return, withdraw or send again: what the button says. Refused, the page stands again with what was typed."""
    actor, sent = actor_of(request), request.POST
    do = sent.get("do", "")
    if do == "more":
        return _proposal(request, proposal_id, again=Again("again", sent, None), more=1)
    if do not in (acts := _acts(actor, proposal_id, request)):
        raise Http404
    perform, said = acts[do]
    refused = refusal_in(request, perform, said)
    goes_to = safe_next(request, f"/proposals/{proposal_id}/")
    if refused is None:
        return redirect(goes_to)
    if do in DECIDED and goes_to == "/proposals/":
        return _desk(request, again=Again(str(proposal_id), sent, refused))
    return _proposal(request, proposal_id, again=Again("decide" if do in DECIDED else "again", sent, refused))


def _acts(actor: Actor, proposal_id: UUID, request: HttpRequest) -> dict[str, tuple[Callable[[], Any], str]]:
    """Each button: what it does, and what is told when it is done."""
    sent = request.POST
    reason = sent.get("reason", "")

    def version() -> int:
        return read.number_or_none(sent, "version") or 0

    return {
        "approve": (
            lambda: deciding.approve(
                actor, proposal_id, version=version(), until=read.day_or_none(sent, "until"), reason=reason, second_later=sent.get("second_later") == "yes"
            ),
            _("Approved. It can be begun today."),
        ),
        "agree": (
            lambda: proposals.advise(actor, proposal_id, version=version(), agrees=True, words=reason),
            _("Stored as your written proposal. The curator decides."),
        ),
        "ask": (lambda: proposals.advise(actor, proposal_id, version=version(), agrees=False, words=reason), _("Returned with your remark.")),
        "return": (lambda: proposals.return_proposal(actor, proposal_id, version=version(), remark=reason), _("Returned with your remark.")),
        "withdraw": (lambda: proposals.withdraw_proposal(actor, proposal_id, version=version(), reason=reason), _("Taken back.")),
        "again": (
            lambda: proposals.resubmit(
                actor, proposal_id, version=version(), surface=sent.get("surface", ""), aim=sent.get("aim", ""), steps=steps_in(sent),
                written=sent.get("written", ""),
            ),
            _("Sent again."),
        ),
    }  # fmt: skip


@require_POST
@needs("treatment.second")
def approval(request: HttpRequest, approval_id: UUID) -> HttpResponse:
    """The second signature, or taking it back."""
    actor, reason = actor_of(request), request.POST.get("reason", "")
    if request.POST.get("do") == "take_back":
        carried_out(request, lambda: deciding.take_back(actor, approval_id, reason=reason), _("Taken back. It is no leave from now on."))
    else:
        carried_out(request, lambda: deciding.countersign(actor, approval_id), _("Signed as the second person."))
    return redirect(safe_next(request, "/proposals/"))


def _desk(request: HttpRequest, *, again: Again | None = None) -> HttpResponse:
    actor = actor_of(request)
    waiting = seen_proposals(actor).filter(state=Proposal.State.WAITING).order_by("-object__card__urgency", "sent_at")
    shown, returned = list(waiting[:SHOWN]), list(seen_proposals(actor).filter(state=Proposal.State.RETURNED, proposed_by=actor.person))
    rows = [_shown(row) | ({"typed": again.typed} if again and again.form == str(row.pk) else {}) for row in shown]
    signs = bool(asking.signs_as(actor))
    seconds = list(_waiting_seconds(actor, signs=signs))
    context = {
        "rows": rows, "decides": actor.may("treatment.approve"), "until": _a_year(), "seconds": seconds, "zones": zones_in([*shown, *returned, *seconds]),
        "signs": signs, "practice": [] if actor.invited else [row for row in competence.unsigned() if row.second_later],
        "returned": returned, "me": actor.person, "count": waiting.count(),
        "invites": actor.may("invitation.make"), "stands": actor.may("standing.see"), "keeps": actor.may("check.record"),
        "alone": asking.house_of().curators == 1, "refused": again.refused if again else None, "again": again.form if again else "",
    }  # fmt: skip
    return render(request, "treatments/desk.html", context, status=409 if again else 200)


def _proposal(request: HttpRequest, proposal_id: UUID, *, again: Again | None = None, more: int = 0) -> HttpResponse:
    actor = actor_of(request)
    row = seen_proposals(actor).filter(pk=proposal_id).first()
    if row is None:
        raise NotFound
    approvals = Approval.objects.filter(decision__proposal=row).select_related("lapse", "countersign__by", "approved_by")
    mine = row.proposed_by_id == actor.person
    context = _shown(row) | {
        "decides": actor.may("treatment.approve"), "until": _a_year(), "mine": mine, "me": actor.person,
        "decisions": row.decisions.select_related("by").order_by("recorded_at"), "approvals": approvals, "thing": row.object, "card": row.object.card,
        "alone": asking.house_of().curators == 1, "today": clock.today(), "prints": actor.may("paper.see"),
        "works": Work.objects.filter(steps__approval__in=approvals.values("pk")).distinct().select_related("person", "end").order_by("recorded_at"),
        "zones": zones_in([row]), "paper": paper_of(row), "invites": actor.may("invitation.make"), "advised": _advises(actor) and not mine,
    }  # fmt: skip
    if again is not None:
        context |= again.context | {"typed": again.typed}
    if mine and row.state == Proposal.State.RETURNED:
        rows = rows_in(again.typed) if again else row.steps
        context |= {"rows": lines(rows, more), "choices": choices(what_may_i_do(actor, row.object_id), str(row.finding_id or ""))}
    return render(request, "treatments/proposal.html", context, status=409 if again and again.refused else 200)


def _waiting_seconds(actor: Actor, *, signs: bool) -> "QuerySet[Approval]":
    """All of them for who signs, also for things that are not shown; for others those of things they may see."""
    rows = asking.waits_for_a_second()
    return rows if signs else rows.filter(object__in=Object.objects.visible_to(actor))


def _shown(row: Proposal) -> dict[str, object]:
    """A proposal with what a person needs to decide: what was seen, the pictures from before, each step in words."""
    rules = treatment_rules_in_force()
    asks = advice.asks_conservator(row)
    seen = Observation.objects.filter(finding=row.finding_id).order_by("-of_check__happened_on", "-id").first() if row.finding_id else None
    steps = [(said, rules.steps.get(said["step"])) for said in row.steps]
    return {
        "proposal": row, "seen": seen, "seen_words": term_words(seen.term) if seen else "", "steps": steps, "photographs": _pictures(row, seen),
        "held": row.object.card.hazard_level >= HOLD_LEVEL, "surface": words_of_materials([row.surface]).get(row.surface, row.surface),
        "divided": any(step and step.disputed for _said, step in steps), "unknown": any(said["unknown"] for said, _step in steps),
        "asks_conservator": asks, "word": advice.word_on(row) if asks else None,
    }  # fmt: skip


def _advises(actor: Actor) -> bool:
    """Whether this person speaks as a conservator."""
    return competence.qualified(actor.someone, competence.CONSERVATOR, clock.today())


def _pictures(row: Proposal, seen: Observation | None) -> list[Photograph]:
    """Those of the finding first, then those of the thing."""
    of_finding = list(photographs_of("finding", seen.finding_id)[:PICTURES]) if seen else []
    return list(dict.fromkeys([*of_finding, *photographs_of("object", row.object_id)[:PICTURES]]))[:PICTURES]


def _a_year() -> date:
    return same_day_later(clock.today(), months=treatment_rules_in_force().gate.approval_months)
