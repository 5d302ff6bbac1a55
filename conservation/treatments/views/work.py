"""The guided work page: one step at a time, a big Stop, and the end with photographs from the same views."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from collection.objects.taking import take_photographs
from conservation.rules.guidance import shipped_guidance
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments import asking
from conservation.treatments import reading as read
from conservation.treatments.actions import ending, working
from conservation.treatments.answering import way_of
from conservation.treatments.deeds import Meant
from conservation.treatments.models import Kept, TestSpot, Work, WorkEnd, WorkStep
from conservation.treatments.views.common import carried_out, seen_object, taken_since
from museum import clock
from museum.errors import NotFound
from museum.ids import uuid7
from museum.people.actor import Actor
from museum.people.doors import actor_of, needs
from museum.people.models import Person


@require_POST
@needs("treatment.work")
def start(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Begins a session; the photographs that came with the form, and those of today, are those from before."""
    actor, sent = actor_of(request), request.POST.dict()
    thing = seen_object(actor, object_id)
    if request.FILES:
        take_photographs(request, [("object", thing.pk)], view=sent.get("view", ""))
    before = [row.pk for row in taken_since(thing.pk, clock.now() - timedelta(hours=12))]
    key = read.key_or_none(sent, "id") or uuid7()
    begun = carried_out(
        request,
        lambda: working.start_work(
            actor.keyed(key), thing.pk, work_id=key, zone=sent.get("zone", ""), surface=sent.get("surface", ""), meant=read.meant(sent), before=before,
            finding_id=read.key_or_none(sent, "finding"), beside=read.key_or_none(sent, "beside"),
        ),
        "",
    )  # fmt: skip
    if begun is None:
        return redirect("treatments:may", thing.pk)
    return _at_step(begun.pk, sent)


@require_safe
@needs("treatment.work")
def work(request: HttpRequest, work_id: UUID) -> HttpResponse:
    """One step in hand: protection, what to do, when to stop; then the next, or the end."""
    actor = actor_of(request)
    row = _seen(actor, work_id)
    facts, rules = asking.facts_of(row.object), treatment_rules_in_force()
    code, surface = request.GET.get("step", ""), request.GET.get("surface", "")
    step = rules.steps.get(code)
    surfaces = facts.surfaces(row.zone_key) if row.zone_key in facts.zones else []
    if surface not in surfaces:
        surface = surfaces[0] if surfaces else ""
    steps = working.open_steps(row)
    spots = list(TestSpot.objects.filter(work=row, deed=code, surface=surface).order_by("recorded_at"))
    context = {
        "work": row, "thing": row.object, "card": row.object.card, "step": step, "surface": surface, "surfaces": surfaces, "steps": steps, "spots": spots,
        "way": way_of(facts, asking.asker_of(actor), row.zone_key, surface, step, rules) if step and surfaces else None,
        "guided": shipped_guidance().of(code) if code else None, "stop_signs": shipped_guidance().stop_signs, "gives_way": shipped_guidance().gives_way,
        "stopped": any(one.result == WorkStep.Result.STOPPED for one in steps), "end": WorkEnd.objects.filter(work=row).first(), "key": uuid7(),
        "mine": row.person_id == actor.person, "kept": Kept.objects.filter(work=row).select_related("component"), "open_steps": _fitting(surface),
        "others": Work.objects.filter(object=row.object, end=None).exclude(pk=row.pk).select_related("person"), "spot_key": uuid7(), "stop_key": uuid7(),
        "wants_spot": bool(step and step.touches and (found := shipped_guidance().of(code)) and found.test_spot), "end_key": uuid7(),
        "people": [person for person in Person.objects.order_by("name") if person.is_active],
    }  # fmt: skip
    return render(request, "treatments/work.html", context)


@require_POST
@needs("treatment.work")
def do(request: HttpRequest, work_id: UUID) -> HttpResponse:
    """Test spot, step, stop, kept part or end: what the button says. Pictures that come with it are kept first."""
    actor, sent = actor_of(request), request.POST.dict()
    row = _seen(actor, work_id)
    now = clock.now()
    if request.FILES:
        take_photographs(request, [("object", row.object_id)], view=sent.get("view", ""))
    _perform(request, actor, row, sent.get("do", ""), now)
    return _at_step(work_id, sent)


def _at_step(work_id: UUID, sent: Mapping[str, str]) -> HttpResponse:
    """The page of the work, with the step in hand."""
    return redirect(reverse("treatments:work", args=[work_id], query={name: sent.get(name, "") for name in ("step", "surface")}))


def _perform(request: HttpRequest, actor: Actor, row: Work, what: str, now: datetime) -> None:
    sent = {**request.POST.dict(), "acknowledged": request.POST.getlist("acknowledged")}
    key = read.key_or_none(sent, "id") or uuid7()
    by = actor.keyed(key)
    done = working.Done(
        id=key, meant=Meant(step=str(sent.get("step", ""))), surface=str(sent.get("surface", "")), acknowledged=request.POST.getlist("acknowledged"),
        amounts=read.text(sent, "amounts"), batches=read.text(sent, "batches"), minutes=read.number_or_none(sent, "minutes"),
        climate=read.text(sent, "climate"), note=read.text(sent, "note"), photographs=[one.pk for one in taken_since(row.object_id, now)],
    )  # fmt: skip
    match what:
        case "spot":
            unchanged = sent.get("unchanged") == "yes"
            carried_out(
                request,
                lambda: working.record_spot(
                    by, row.pk, spot_id=key, step=done.meant.step, surface=done.surface, unchanged=unchanged, note=done.note,
                ),
                _("Test spot written down."),
            )  # fmt: skip
        case "step":
            carried_out(request, lambda: working.record_step(by, row.pk, done), _("Written down. Next step, or the end."))
        case "stop":
            carried_out(request, lambda: working.stop_step(by, row.pk, done), _("Stopped, and written down. Ask before anybody goes on."))
        case "keep":
            carried_out(
                request,
                lambda: ending.keep_part(by, row.pk, name=read.text(sent, "name"), because=read.text(sent, "because"), bag=read.text(sent, "bag")),
                _("Kept as a part of its own. Write its letter on the bag."),
            )
        case _:
            after = [one.pk for one in taken_since(row.object_id, row.recorded_at)]
            carried_out(request, lambda: ending.end_work(by, row.pk, end_id=key, after=after, note=done.note), _("Ended. The looks that follow are planned."))


def _seen(actor: Actor, work_id: UUID) -> Work:
    row = Work.objects.filter(pk=work_id, corrected_by=None, withdraws=False).select_related("object__card", "object__kind", "person", "beside").first()
    if row is None:
        raise NotFound
    seen_object(actor, row.object_id)
    return row


def _fitting(surface: str) -> list[tuple[str, str]]:
    """Steps that may touch this layer, for whoever goes on with another one; the gate has the last word."""
    return [(step.code, f"{step.code} {step.problem}") for step in treatment_rules_in_force().steps.values() if step.fits(surface) and not step.any_term]
