"""The guided work page: one step at a time, a big Stop, and the end with photographs from the same views."""

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_POST, require_safe

from collection.objects.actions.screens import TOLD
from collection.objects.models import Object, Opening
from collection.objects.queries import words_of_materials
from collection.objects.taking import take_photographs
from conservation.checks.queries import open_calls
from conservation.rules.guidance import shipped_guidance
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.rules.treatment_tables import Step
from conservation.treatments import asking, bench
from conservation.treatments import reading as read
from conservation.treatments.actions import ending, following, working
from conservation.treatments.actions.common import pictures_of
from conservation.treatments.answering import way_of
from conservation.treatments.models import REOPENING, FollowUp, Kept, TestSpot, Work, WorkEnd, WorkStep
from conservation.treatments.reopened import reopened
from conservation.treatments.views import may
from conservation.treatments.views.common import Again, refusal_in, seen_object, taken_since
from conservation.treatments.views.proposing import named
from conservation.treatments.wording import zones_in
from museum import clock
from museum.errors import NotFound
from museum.ids import uuid7
from museum.people.actor import Actor
from museum.people.doors import actor_of, needs

#: what one button of the page does: (actor under the key of the form, session, what was sent, since when its pictures count)
Perform = Callable[[Actor, Work, QueryDict, datetime], Any]
#: photographs of the last hours count as those from before
FRESH: Final = timedelta(hours=12)
#: so many open sessions are listed
SHOWN: Final = 50


@require_POST
@needs("treatment.work")
def start(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Begins a session; the photographs that came with the form, and those of today, are those from before."""
    actor, sent = actor_of(request), request.POST
    thing = seen_object(actor, object_id)
    if request.FILES:
        take_photographs(request, [("object", thing.pk)], view=sent.get("view", ""))
    before = [row.pk for row in taken_since(thing.pk, clock.now() - FRESH)]
    key = read.key_or_none(sent, "id") or uuid7()
    refused = refusal_in(
        request,
        lambda: working.start_work(
            actor.keyed(key), thing.pk, work_id=key, zone=sent.get("zone", ""), surface=sent.get("surface", ""), meant=read.meant(sent), before=before,
            finding_id=read.key_or_none(sent, "finding"), beside=read.key_or_none(sent, "beside"),
        ),
    )  # fmt: skip
    if refused is not None:
        return may.page(request, object_id, again=Again("start", sent, refused))
    return _at_step(key, sent)


@require_safe
@needs("treatment.work")
def sessions(request: HttpRequest) -> HttpResponse:
    """Sessions that nobody has ended, the oldest first: one's own, and for whoever decides everybody's."""
    actor = actor_of(request)
    rows = Work.objects.filter(end=None, corrected_by=None, withdraws=False, object__in=Object.objects.visible_to(actor))
    if not actor.may("treatment.approve"):
        rows = rows.filter(person=actor.person)
    rows = rows.select_related("object__card", "person", "beside").order_by("recorded_at")[:SHOWN]
    again_open = reopened().filter(work__object__in=Object.objects.visible_to(actor))[:SHOWN]
    context = {"rows": rows, "reopened": again_open, "zones": zones_in([*rows, *(row.work for row in again_open)])}
    return render(request, "treatments/sessions.html", context)


@require_safe
@needs("treatment.work")
def work(request: HttpRequest, work_id: UUID) -> HttpResponse:
    """One step in hand: protection, what to do, when to stop; then the next, or the end."""
    return _page(request, _seen(actor_of(request), work_id), request.GET)


@require_POST
@needs("treatment.work")
def do(request: HttpRequest, work_id: UUID) -> HttpResponse:
    """Test spot, step, stop, kept part, wait or end: what the button says. Pictures that come with it are kept first."""
    actor, sent, now = actor_of(request), request.POST, clock.now()
    row, what = _seen(actor, work_id), sent.get("do", "")
    if what not in ACTS:
        raise Http404
    if request.FILES:
        take_photographs(request, [("object", row.object_id)], view=sent.get("view", ""))
    perform, said = ACTS[what]
    key = read.key_or_none(sent, "id") or uuid7()
    refused = refusal_in(request, lambda: perform(actor.keyed(key), row, sent, _since(sent, row, now)), str(said))
    if refused is not None:
        return _page(request, row, sent, again=Again(what, sent, refused), since=_since(sent, row, now))
    return _at_step(work_id, sent)


def _page(request: HttpRequest, row: Work, asked: Mapping[str, str], *, again: Again | None = None, since: datetime | None = None) -> HttpResponse:
    """The session with the step that is asked about."""
    actor, rules = actor_of(request), treatment_rules_in_force()
    facts = asking.facts_of(row.object)
    surfaces = facts.surfaces(row.zone_key) if row.zone_key in facts.zones else []
    surface = asked.get("surface", "")
    if surface not in surfaces:
        surface = surfaces[0] if surfaces else ""
    step, steps, names = rules.steps.get(asked.get("step", "")), working.open_steps(row), words_of_materials([*surfaces, surface])
    others = Work.objects.filter(object=row.object, end=None).exclude(pk=row.pk).select_related("person")
    context: dict[str, Any] = {
        "work": row, "thing": row.object, "card": row.object.card, "surface": surface, "surface_words": names.get(surface, surface), "since": since,
        "surfaces": [(code, names.get(code, code)) for code in surfaces],
        "steps": [(one, names.get(one.surface, one.surface), air) for one, air in zip(steps, bench.airs_of(row.object, steps), strict=True)],
        "stopped": any(one.result == WorkStep.Result.STOPPED for one in steps), "end": WorkEnd.objects.filter(work=row).first(),
        "mine": row.person_id == actor.person, "records": actor.may("check.record"), "prints": actor.may("paper.see"),
        "kept": Kept.objects.filter(work=row).select_related("component"), "open_steps": _fitting(surface),
        "others": others, "keys": [uuid7() for _n in range(7)],
        "opens": [(value, Opening.Why(value).label) for value in TOLD], "zones": zones_in([row, *others]),
    }  # fmt: skip
    if step and surfaces:
        context |= _in_hand(request, row, facts, step, surface)
    if context["end"]:
        context |= _looked_again(row, context["end"])
    if again is not None:
        ticked = {*again.typed.getlist("acknowledged"), *again.typed.getlist("batch_ids"), *(f"read {key}" for key in again.typed.getlist("batch_read"))}
        context |= again.context | {"ticked": ticked}
    return render(request, "treatments/work.html", context, status=409 if again else 200)


def _in_hand(request: HttpRequest, row: Work, facts: asking.ObjectFacts, step: Step, surface: str) -> dict[str, Any]:
    """What is shown of the step in hand: what leads it, whether the gate lets it pass, what is at hand for it, until when it waits."""
    guidance = shipped_guidance()
    guided = guidance.of(step.code)
    beside = asking.beside_of(row.beside, step.code) if row.beside else None
    spots = TestSpot.objects.filter(work=row, deed=step.code, surface=surface, corrected_by=None, withdraws=False).order_by("recorded_at")
    fitting, other = bench.batches(step)
    return {
        "step": step, "step_name": named(step.code), "guided": guided, "stop_signs": guidance.stop_signs, "gives_way": guidance.gives_way, "spots": list(spots),
        "way": way_of(facts, asking.asker_of(actor_of(request)), row.zone_key, surface, step, treatment_rules_in_force(), beside=beside),
        "wants_spot": bool(step.touches and guided and guided.test_spot), "fitting": fitting, "other": other, "now": clock.now(),
        "wait_until": bench.waits_until(row, step.code) if guided and guided.wait_minutes else None, "air": bench.air_at(row.object),
    }  # fmt: skip


def _looked_again(row: Work, end: WorkEnd) -> dict[str, Any]:
    """What was seen of it since, beside its photographs from before and after."""
    keys = [UUID(key) for key in (*row.before, *end.after)]
    shown = {picture.pk: picture for picture in pictures_of(row.object_id, keys)}
    follows = FollowUp.objects.filter(work=row, corrected_by=None, withdraws=False).select_related("by").order_by("recorded_at")
    return {
        "before": [shown[UUID(key)] for key in row.before], "after": [shown[UUID(key)] for key in end.after], "follows": follows,
        "readings": [(value, words) for value, words in FollowUp.Reading.choices if row.finding_id or value not in REOPENING],
        "looks": open_calls([row.object_id]).filter(source=row.pk).order_by("due_on"),
    }  # fmt: skip


def _at_step(work_id: UUID, sent: Mapping[str, str]) -> HttpResponse:
    """The page of the work, with the step in hand."""
    return redirect(reverse("treatments:work", args=[work_id], query={name: sent.get(name, "") for name in ("step", "surface")}))


def _since(sent: Mapping[str, str], row: Work, now: datetime) -> datetime:
    """Since when pictures belong to this button: where it was refused before, since then."""
    try:
        return max(row.recorded_at, datetime.fromisoformat(sent.get("since", "")))
    except (ValueError, TypeError):
        return now


def _done(row: Work, sent: QueryDict, since: datetime) -> working.Done:
    chosen = [key for key in (read.key_or_none({"batch": value}, "batch") for value in sent.getlist("batch_ids")) if key]
    return working.Done(
        id=read.key_or_none(sent, "id") or uuid7(), meant=read.meant(sent), surface=read.text(sent, "surface"),
        acknowledged=[*sent.getlist("acknowledged"), *bench.read_warnings(chosen, sent.getlist("batch_read"), read.text(sent, "step"))],
        amounts=read.text(sent, "amounts"), batches=read.text(sent, "batches"), batch_ids=chosen, minutes=read.number_or_none(sent, "minutes"),
        climate=read.text(sent, "climate"), note=read.text(sent, "note"), photographs=[one.pk for one in taken_since(row.object_id, since)],
    )  # fmt: skip


def _spot(by: Actor, row: Work, sent: QueryDict, _since: datetime) -> None:
    working.record_spot(
        by, row.pk, spot_id=by.key or uuid7(), step=read.text(sent, "step"), surface=read.text(sent, "surface"), unchanged=sent.get("unchanged") == "yes",
        note=read.text(sent, "note"),
    )  # fmt: skip


def _follow(by: Actor, row: Work, sent: QueryDict, _since: datetime) -> None:
    following.look_again(by, row.pk, follow_id=by.key or uuid7(), reading=read.text(sent, "reading"), note=read.text(sent, "note"))


def _keep(by: Actor, row: Work, sent: QueryDict, _since: datetime) -> None:
    ending.keep_part(
        by, row.pk, name=read.text(sent, "name"), because=read.text(sent, "because"), bag=read.text(sent, "bag"),
        opened=sent.get("opened") == "yes",
    )  # fmt: skip


def _opened(by: Actor, row: Work, sent: QueryDict, _since: datetime) -> None:
    working.tell_opened(by, row.pk, why=read.text(sent, "why"), note=read.text(sent, "note"))


def _end(by: Actor, row: Work, sent: QueryDict, _since: datetime) -> None:
    after = [one.pk for one in taken_since(row.object_id, row.recorded_at)]
    ending.end_work(by, row.pk, end_id=by.key or uuid7(), after=after, note=read.text(sent, "note"))


ACTS: Final[Mapping[str, tuple[Perform, Promise | str]]] = {
    "wait": (
        lambda by, row, sent, _since: working.begin_wait(by, row.pk, wait_id=by.key or uuid7(), step=read.text(sent, "step")),
        "",
    ),
    "spot": (_spot, _("Test spot written down.")),
    "step": (lambda by, row, sent, since: working.record_step(by, row.pk, _done(row, sent, since)), _("Written down. Next step, or the end.")),
    "stop": (
        lambda by, row, sent, since: working.stop_step(by, row.pk, _done(row, sent, since)),
        _("Stopped, and written down. Ask before anybody goes on."),
    ),
    "follow": (_follow, _("Stored. What it opens or closes is on the page of the thing.")),
    "keep": (_keep, _("Kept as a part of its own. Write its number on the bag, as it stands under ‘Kept’.")),
    "opened": (_opened, _("Told. The ten questions come before the next step.")),
    "end": (_end, _("Ended. The looks that follow are planned.")),
}


def _seen(actor: Actor, work_id: UUID) -> Work:
    row = Work.objects.filter(pk=work_id, corrected_by=None, withdraws=False).select_related("object__card", "object__kind", "person", "beside").first()
    if row is None:
        raise NotFound
    seen_object(actor, row.object_id)
    return row


def _fitting(surface: str) -> list[tuple[str, str]]:
    """Steps that may touch this layer, for whoever goes on with another one; the gate has the last word."""
    return [(step.code, f"{step.code} {_(step.problem)}") for step in treatment_rules_in_force().steps.values() if step.fits(surface) and not step.any_term]
