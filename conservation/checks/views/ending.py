"""Before and after the walk: the hazard screen, the end of a check, what it came to, and the stop."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from collection.objects.actions.hazards import report_hazard
from collection.objects.models import Object, Photograph, Shows
from collection.objects.screens import lots_for, standing_of
from collection.objects.views.common import key_in
from conservation.checks import drafting
from conservation.checks.actions import drafts
from conservation.checks.actions.overrule import overrule
from conservation.checks.actions.record import record_check
from conservation.checks.actions.screening import demand_as_recorded, demand_whole
from conservation.checks.judging import sentences
from conservation.checks.models import ConditionCheck, Judgement, Overrule, State
from conservation.checks.reading import entry_of_draft
from conservation.checks.views import screening
from conservation.checks.views.walk import seen_object
from conservation.checks.vocabulary import depth_words, in_words, term_words
from conservation.checks.walking import walk_of
from conservation.rules.tables import hazards
from museum import clock
from museum.errors import DomainError, Invalid, NotFound, SameKeyOtherContent
from museum.ids import uuid7
from museum.people.actor import Actor
from museum.people.doors import actor_of, needs


@require_http_methods(["GET", "POST"])
@needs("hazard.report")
def screen(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """The ten questions, kept in the draft and stored with the check."""
    actor = actor_of(request)
    thing = seen_object(actor, object_id)
    draft = drafts.draft_of(actor, object_id)
    refused = None
    if request.method == "POST":
        answers = screening.answers_in(request.POST)
        draft = drafts.touch(actor, object_id, lambda content: drafting.put_screen(content, answers), check=key_in(request.POST.get("check")) or uuid7())
        try:
            demand_whole(draft.content["screen"])
            demand_as_recorded(object_id, draft.content["screen"])
        except Invalid as error:
            refused = error
        else:
            return redirect("checks:full", object_id)
    context = screening.screen_context(standing_of(object_id), lots_for(thing)) | {
        "thing": thing, "card": thing.card, "questions": screening.questions(draft.content["screen"] or {}), "refused": refused,
        "next": reverse("checks:full", args=[object_id]), "draft": draft,
    }  # fmt: skip
    return render(request, "checks/screen.html", context, status=400 if refused else 200)


@require_http_methods(["GET", "POST"])
@needs("check.record")
def finish(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """The end of a check: what is still unanswered, the questions on the whole, and storing it."""
    actor = actor_of(request)
    thing = seen_object(actor, object_id)
    draft, error, key = drafts.draft_of(actor, object_id), "", key_in(request.POST.get("check") or request.GET.get("check"))
    if draft.version == 0 and (stored := _stored(actor, object_id, key)):
        return redirect("checks:result", stored)
    if request.method == "POST":
        facts = {name: request.POST.get(name, "") for name in drafting.FACT_FIELDS if name not in ("purpose", "result")}
        try:
            draft = drafts.touch(actor, object_id, lambda content: drafting.put_facts(content, facts), check=key or uuid7())
            now = clock.now()
            entry = entry_of_draft(draft.content, object_id, sort=draft.sort, now=now, today=clock.day_of(now), stop=draft.round_stop_id)
            check = record_check(actor.keyed(entry.id), entry)
        except (drafts.StoredAlready, SameKeyOtherContent):
            # A second tap, while the first was at work: it waited for that one, and says another instant.
            return redirect("checks:result", key)
        except Invalid as refused:
            error = refused.sentence
        else:
            return redirect("checks:result", check.pk)
    steps = walk_of(thing, draft, None)
    silent = [row for row in steps.rows if not row.answer]
    context = {"thing": thing, "card": thing.card, "walk": steps, "silent": silent, "facts": draft.content["facts"], "error": error, "draft": draft}
    return render(request, "checks/finish.html", context, status=400 if error else 200)


def _stored(actor: Actor, object_id: UUID, key: UUID | None) -> UUID | None:
    """The check that a second tap, or another device, stored: that of the key; without one this person's last."""
    mine = ConditionCheck.objects.filter(object_id=object_id, author_id=actor.person)
    rows = mine.filter(pk=key) if key else mine.order_by("-recorded_at")
    return rows.values_list("pk", flat=True).first()


@require_safe
@needs("catalogue.see_all")
def result(request: HttpRequest, check_id: UUID) -> HttpResponse:
    """What a check saw and what it came to, with every reason; who else looked meanwhile."""
    check = ConditionCheck.objects.select_related("author", "object").filter(pk=check_id).first()
    if check is None:
        raise NotFound()
    thing = seen_object(actor_of(request), check.object_id)
    judgement = Judgement.objects.filter(of_check=check).order_by("-recorded_at").first()
    shown = _photographs_at(check)
    rows = check.observations.select_related("finding").order_by("position")
    seen = [(row, term_words(row.term), depth_words(row.severity), shown.get(row.finding_id, [])) for row in rows]
    context = {
        "check": check, "thing": thing, "card": thing.card, "judgement": judgement, "seen": seen,
        "reasons": sentences(judgement) if judgement else [], "state": State.objects.filter(object=thing).first(),
        "overrules": Overrule.objects.filter(judgement=judgement).select_related("author") if judgement else [],
        "others": _meanwhile(check), "due": thing.due.order_by("on"), "issues": actor_of(request).may("paper.issue"),
    }  # fmt: skip
    return render(request, "checks/result.html", context)


def _photographs_at(check: ConditionCheck) -> dict[UUID, list[Photograph]]:
    """Of each finding of a check the photographs that were taken of it up to that day."""
    findings = [row.finding_id for row in check.seen]
    shows = list(Shows.objects.filter(kind="finding", subject__in=findings))
    taken = Photograph.objects.filter(pk__in=[row.photograph for row in shows], happened_on__lte=check.happened_on)
    pictures = {row.pk: row for row in taken.filter(corrected_by=None, withdraws=False)}
    shown: dict[UUID, list[Photograph]] = {}
    for row in sorted(shows, key=lambda row: row.photograph):
        if row.photograph in pictures:
            shown.setdefault(row.subject, []).append(pictures[row.photograph])
    return shown


def _meanwhile(check: ConditionCheck) -> list[ConditionCheck]:
    """Checks of the same object by others on the same day: both stand, both are told."""
    rows = ConditionCheck.objects.filter(object=check.object_id, happened_on=check.happened_on).exclude(pk=check.pk)
    return list(rows.exclude(author=check.author_id).select_related("author").order_by("recorded_at"))


@require_POST
@needs("check.overrule")
def disagree(request: HttpRequest, check_id: UUID) -> HttpResponse:
    """A person's own grade or urgency beside the computed one."""
    judgement = Judgement.objects.filter(of_check_id=check_id).order_by("-recorded_at").first()
    if judgement is None:
        raise NotFound()
    value = request.POST.get("value", "")
    try:
        overrule(
            actor_of(request), judgement.object_id, judgement_id=judgement.pk, what=request.POST.get("what", ""),
            value=int(value) if value.isdigit() else -1, reason=request.POST.get("reason", ""),
        )  # fmt: skip
    except DomainError as refused:
        messages.error(request, refused.sentence)
    else:
        messages.success(request, _("Stored beside the computed value; it holds until the next graded check."))
    return redirect("checks:result", check_id)


@require_http_methods(["GET", "POST"])
@needs("hazard.report")
def stop(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Something is wrong: what not to touch, whom to call; the object is held."""
    actor = actor_of(request)
    thing: Object = seen_object(actor, object_id)
    if request.method == "POST" and request.POST.get("code") in hazards():
        report_hazard(actor, object_id, code=request.POST["code"], level=3, note=request.POST.get("note", ""))
        messages.warning(request, _("Held. Nobody works on this until a qualified person has spoken. Your draft is kept."))
        return redirect("desk:thing", object_id)
    return render(request, "checks/stop.html", {"thing": thing, "card": thing.card, "hazards": [in_words(row) for row in hazards().values()]})
