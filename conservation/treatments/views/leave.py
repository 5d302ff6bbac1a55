"""Leave that is not of one proposal: standing leave, what becomes of deposits, the owner's leave."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from collection.objects.queries import in_force, words_of_materials
from collection.objects.views.common import acting
from conservation.checks.models import Finding
from conservation.rules.leave import same_day_later
from conservation.rules.tables import materials
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments import asking, wording
from conservation.treatments import reading as read
from conservation.treatments.actions import deciding
from conservation.treatments.actions import standing as standing_leave
from conservation.treatments.models import DepositDecision, DepositDefault, StandingApproval
from conservation.treatments.views import may
from conservation.treatments.views.common import Again, carried_out, refusal_in, seen_object
from conservation.treatments.views.proposing import named
from museum import clock
from museum.errors import NotFound
from museum.people.doors import actor_of, needs
from museum.people.models import Person


@require_http_methods(["GET", "POST"])
@needs("standing.see")
def standing(request: HttpRequest) -> HttpResponse:
    """Who may do which gentle step on which material without asking each time; POST gives such leave."""
    if request.method != "POST":
        return _standing(request)
    actor, sent = acting(request), request.POST
    refused = refusal_in(
        request,
        lambda: standing_leave.give_standing(
            actor, read.key(sent, "person"), step=read.text(sent, "step"), material=read.text(sent, "material"), until=read.day_or_none(sent, "until"),
            reason=read.text(sent, "reason"),
        ),
        _("Given. It is taken back here at any time."),
    )  # fmt: skip
    return _standing(request, again=Again("standing", sent, refused)) if refused else redirect("treatments:standing")


def _standing(request: HttpRequest, *, again: Again | None = None) -> HttpResponse:
    actor, rules, names = actor_of(request), treatment_rules_in_force(), words_of_materials(materials())
    rows = StandingApproval.objects.filter(end=None, until__gte=clock.today()).select_related("person", "given_by").order_by("until")
    gentle = [step.code for step in rules.steps.values() if step.gentle and step.disputed is None]
    context = {
        "rows": [(row, named(row.step), names.get(row.material, row.material)) for row in rows], "gives": bool(asking.signs_as(actor)),
        "gentle": [(code, named(code)) for code in gentle], "materials": sorted(names.items(), key=lambda pair: pair[1].casefold()),
        "until": same_day_later(clock.today(), months=rules.gate.approval_months),
        "people": [person for person in Person.objects.order_by("name") if person.is_active and person.pk != actor.person],
    }  # fmt: skip
    if again is not None:
        context |= again.context | {"typed": again.typed}
    return render(request, "treatments/standing.html", context, status=409 if again else 200)


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
    actor, sent = acting(request), request.POST
    found = Finding.objects.filter(pk=finding_id).first()
    if found is None:
        raise NotFound
    kind, decision = sent.get("kind", ""), sent.get("decision", "")
    if decision:
        refused = refusal_in(
            request,
            lambda: standing_leave.decide_deposit(actor, finding_id, kind=kind, decision=decision, reason=sent.get("reason", "")),
            _("Decided."),
        )
    else:
        refused = refusal_in(
            request, lambda: standing_leave.name_deposit(actor, finding_id, kind=kind), _("Noted. A curator decides what becomes of it.")
        )  # fmt: skip
    if refused is not None:
        return may.page(request, found.object_id, again=Again("deposit", sent, refused))
    return redirect("treatments:may", found.object_id)


@require_http_methods(["GET", "POST"])
@needs("check.record")
def deposit_defaults(request: HttpRequest) -> HttpResponse:
    """What becomes of each kind of deposit where nobody decided on the thing, and all that was ever said of it; a curator says otherwise."""
    if request.method != "POST":
        return _defaults(request)
    actor, sent = acting(request), request.POST
    refused = refusal_in(
        request,
        lambda: standing_leave.set_deposit_default(
            actor, kind=read.text(sent, "kind"), decision=read.text(sent, "decision"), reason=read.text(sent, "reason")
        ),
        _("Stored. It holds for every deposit of this kind on which nobody decided."),
    )  # fmt: skip
    return _defaults(request, again=Again("default", sent, refused)) if refused else redirect("treatments:deposit_defaults")


def _defaults(request: HttpRequest, *, again: Again | None = None) -> HttpResponse:
    said = list(in_force(DepositDefault.objects.select_related("by")).reverse())
    kinds = wording.deposit_kinds()
    stands = {row.kind: row for row in reversed(said)}
    context = {
        "kinds": [(code, words, stands.get(code)) for code, words in kinds], "said": [(row, dict(kinds).get(row.kind, row.kind)) for row in said],
        "decisions": DepositDecision.What.choices, "decides": actor_of(request).may("treatment.approve"),
        "never": [wording.deposit_words(code) for code in sorted(treatment_rules_in_force().gate.never_a_deposit)],
    }  # fmt: skip
    if again is not None:
        context |= again.context
    return render(request, "treatments/deposit_defaults.html", context, status=409 if again else 200)


@require_POST
@needs("treatment.owner_leave")
def owner_leave(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """The owner's leave in writing."""
    actor, sent = acting(request), request.POST
    thing = seen_object(actor, object_id)
    refused = refusal_in(
        request,
        lambda: deciding.record_owner_leave(actor, thing.pk, letter=read.text(sent, "letter"), until=read.day_or_none(sent, "until")),
        _("On file. The thing may be treated as far as the other gates let it."),
    )
    return may.page(request, thing.pk, again=Again("owner", sent, refused)) if refused else redirect("treatments:may", thing.pk)
