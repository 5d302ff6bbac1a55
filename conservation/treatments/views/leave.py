"""Proposals and what is decided on them: the page of one, the curator's desk, standing leave, deposits, the owner's leave."""

from datetime import date
from uuid import UUID

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from collection.objects.queries import photographs_of
from conservation.checks.models import Finding, Observation
from conservation.checks.vocabulary import term_words
from conservation.rules.gate import HOLD_LEVEL
from conservation.rules.leave import same_day_later
from conservation.rules.tables import materials
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments import asking
from conservation.treatments import reading as read
from conservation.treatments.actions import deciding, proposals
from conservation.treatments.actions import standing as standing_leave
from conservation.treatments.deeds import Meant
from conservation.treatments.models import Approval, Proposal, StandingApproval
from conservation.treatments.views.common import carried_out, seen_object
from museum import clock
from museum.errors import NotFound
from museum.people.actor import Actor
from museum.people.doors import actor_of, needs, safe_next
from museum.people.models import Person

#: so many at once are read on a phone
SHOWN = 30


@require_safe
@needs("treatment.see")
def desk(request: HttpRequest) -> HttpResponse:
    """What waits: the most urgent first, of those the oldest, with photographs; and what waits for a second signature."""
    actor = actor_of(request)
    waiting = _seen_by(actor).filter(state=Proposal.State.WAITING).order_by("-object__card__urgency", "sent_at")
    rows = [_shown(row) for row in waiting[:SHOWN]]
    context = {
        "rows": rows, "decides": actor.may("treatment.approve"), "until": _a_year(), "seconds": asking.waits_for_a_second(),
        "signs": actor.may("treatment.second"),
        "returned": _seen_by(actor).filter(state=Proposal.State.RETURNED, proposed_by=actor.person), "me": actor.person, "count": waiting.count(),
        "alone": asking.house_of().curators == 1,
    }  # fmt: skip
    return render(request, "treatments/desk.html", context)


@require_safe
@needs("treatment.see")
def proposal(request: HttpRequest, proposal_id: UUID) -> HttpResponse:
    """One proposal: what was found, what is meant, what was decided."""
    actor = actor_of(request)
    row = _seen_by(actor).filter(pk=proposal_id).first()
    if row is None:
        raise NotFound
    approvals = Approval.objects.filter(decision__proposal=row).select_related("lapse", "countersign__by", "approved_by")
    context = _shown(row) | {
        "decides": actor.may("treatment.approve"), "until": _a_year(), "mine": row.proposed_by_id == actor.person, "me": actor.person,
        "decisions": row.decisions.select_related("by").order_by("recorded_at"), "approvals": approvals, "thing": row.object, "card": row.object.card,
        "alone": asking.house_of().curators == 1, "today": clock.today(),
    }  # fmt: skip
    return render(request, "treatments/proposal.html", context)


@require_POST
@needs("treatment.propose")
def decide(request: HttpRequest, proposal_id: UUID) -> HttpResponse:
    """Approve, return, withdraw or send again: what the button says."""
    actor, sent = actor_of(request), request.POST.dict()
    version = read.number_or_none(sent, "version") or 0
    match sent.get("do"):
        case "approve":
            carried_out(
                request,
                lambda: deciding.approve(
                    actor, proposal_id, version=version, until=read.day_or_none(sent, "until"), reason=read.text(sent, "reason"),
                    second_later=sent.get("second_later") == "yes",
                ),
                _("Approved. It can be begun today."),
            )  # fmt: skip
        case "return":
            carried_out(
                request,
                lambda: proposals.return_proposal(actor, proposal_id, version=version, remark=read.text(sent, "reason")),
                _("Returned with your remark."),
            )
        case "withdraw":
            carried_out(request, lambda: proposals.withdraw_proposal(actor, proposal_id, version=version, reason=read.text(sent, "reason")), _("Taken back."))
        case _:
            _send_again(request, actor, proposal_id, version)
    return redirect(safe_next(request, f"/proposals/{proposal_id}/"))


def _send_again(request: HttpRequest, actor: Actor, proposal_id: UUID, version: int) -> None:
    sent = request.POST
    names = zip(sent.getlist("step"), sent.getlist("words"), sent.getlist("earlier"), strict=False)
    steps = [Meant(step=step, words=words, earlier=earlier) for step, words, earlier in names]
    carried_out(
        request,
        lambda: proposals.resubmit(
            actor, proposal_id, version=version, surface=sent.get("surface", ""), aim=sent.get("aim", ""), steps=steps, written=sent.get("written", "")
        ),
        _("Sent again."),
    )


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


@require_http_methods(["GET", "POST"])
@needs("treatment.see")
def standing(request: HttpRequest) -> HttpResponse:
    """Who may do which gentle step on which material without asking each time; POST gives such leave."""
    actor, sent = actor_of(request), request.POST.dict()
    if request.method == "POST":
        carried_out(
            request,
            lambda: standing_leave.give_standing(
                actor, read.key(sent, "person"), step=read.text(sent, "step"), material=read.text(sent, "material"), until=read.day_or_none(sent, "until"),
                reason=read.text(sent, "reason"),
            ),
            _("Given. It is taken back here at any time."),
        )  # fmt: skip
        return redirect("treatments:standing")
    rules = treatment_rules_in_force()
    rows = StandingApproval.objects.filter(end=None, until__gte=clock.today()).select_related("person", "given_by").order_by("until")
    gentle = [step for step in rules.steps.values() if step.gentle and step.disputed is None]
    context = {
        "rows": [(row, rules.steps.get(row.step)) for row in rows], "gives": actor.may("treatment.second"), "gentle": gentle, "until": _a_year(),
        "people": [person for person in Person.objects.order_by("name") if person.is_active and person.pk != actor.person], "materials": materials(),
    }  # fmt: skip
    return render(request, "treatments/standing.html", context)


@require_POST
@needs("treatment.second")
def end_standing(request: HttpRequest, standing_id: UUID) -> HttpResponse:
    """Takes standing leave back."""
    carried_out(request, lambda: standing_leave.end_standing(actor_of(request), standing_id, reason=request.POST.get("reason", "")), _("Taken back."))
    return redirect("treatments:standing")


@require_POST
@needs("check.record")
def deposit(request: HttpRequest, finding_id: UUID) -> HttpResponse:
    """What a deposit is; from a curator, what becomes of it."""
    actor, kind, decision = actor_of(request), request.POST.get("kind", ""), request.POST.get("decision", "")
    if decision:
        reason = request.POST.get("reason", "")
        carried_out(request, lambda: standing_leave.decide_deposit(actor, finding_id, kind=kind, decision=decision, reason=reason), _("Decided."))
    else:
        carried_out(request, lambda: standing_leave.name_deposit(actor, finding_id, kind=kind), _("Noted. A curator decides what becomes of it."))
    found = Finding.objects.filter(pk=finding_id).values_list("object_id", flat=True).first()
    return redirect("treatments:may", found) if found else redirect("desk:today")


@require_POST
@needs("treatment.owner_leave")
def owner_leave(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """The owner's leave in writing."""
    sent = request.POST.dict()
    carried_out(
        request,
        lambda: deciding.record_owner_leave(actor_of(request), object_id, letter=read.text(sent, "letter"), until=read.day_or_none(sent, "until")),
        _("On file. The thing may be treated as far as the other gates let it."),
    )
    return redirect("treatments:may", seen_object(actor_of(request), object_id).pk)


def _seen_by(actor: Actor) -> QuerySet[Proposal]:
    from_object = Proposal.objects.filter(object__withdrawn="").select_related("object__card", "object__kind", "proposed_by", "finding")
    return from_object if actor.may("catalogue.see_all") else from_object.filter(object__public=True)


def _shown(row: Proposal) -> dict[str, object]:
    """A proposal with what a person needs to decide: what was seen, the pictures, each step in words."""
    rules = treatment_rules_in_force()
    seen = Observation.objects.filter(finding=row.finding_id).order_by("-of_check__happened_on", "-id").first() if row.finding_id else None
    steps = [(said, rules.steps.get(said["step"])) for said in row.steps]
    return {
        "proposal": row, "seen": seen, "seen_words": term_words(seen.term) if seen else "", "steps": steps,
        "photographs": list(photographs_of("object", row.object_id)[:3]), "held": row.object.card.hazard_level >= HOLD_LEVEL,
    }  # fmt: skip


def _a_year() -> date:
    return same_day_later(clock.today(), months=treatment_rules_in_force().gate.approval_months)
