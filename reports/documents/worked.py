"""The treatment report: document, decide, plan, do, as the process of EN 16853 orders them, then what is looked at again.

Of a session by its key: with all sessions that worked on the same finding in the same zone.
"""

from collections.abc import Iterable, Sequence
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from collection.objects.models import Object
from collection.objects.queries import material_words, zones_called
from conservation.checks.models import Call, Judgement, Observation
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.rules.treatment_tables import FORBIDDEN, TreatmentRules
from conservation.treatments.bench import Air, airs_of
from conservation.treatments.models import Approval, BatchUse, FollowUp, Kept, OwnerLeave, Proposal, StandingApproval, TestSpot, Work, WorkEnd, WorkStep
from conservation.treatments.wording import told_in
from locations.places.queries import where_is, words_of
from museum.errors import NotFound
from museum.papers.models import IssuedPaper
from museum.people.actor import Actor
from museum.web.templatetags.look import ACTIVITIES, GRADES
from reports.documents import common, treating
from reports.documents.considered import considered, earlier
from reports.documents.pointed import pointed
from reports.registry import Gathered, document


@document("treatment_report", title=gettext_lazy("Treatment report"), version="1", permission="paper.see", seen_by="treatment.see")
def treatment_report(subject: UUID, actor: Actor) -> Gathered:
    """Of the work that a session belongs to, by the session's key."""
    asked = _works().filter(pk=subject).first()
    if asked is None:
        raise NotFound
    thing, rules, works = common.object_for(actor, asked.object_id), treatment_rules_in_force(), _together(asked)
    ends = {row.work_id: row for row in WorkEnd.objects.filter(work__in=works)}
    steps = list(WorkStep.objects.filter(work__in=works, corrected_by=None, withdraws=False).order_by("recorded_at", "id"))
    first, looks, leave = works[0], treating.looks_at(asked.finding), _leave(steps, asked)
    before = [one for one in looks if one.of_check.recorded_at <= first.recorded_at]
    found = Judgement.objects.filter(object=thing, recorded_at__lte=first.recorded_at).order_by("recorded_at", "id").last()
    data = {
        "object": common.heading(thing), "place": words_of(where_is(thing, first.happened_at), exact=False), "parts": common.parts_of(thing),
        "zone": _zone(asked), "state": _state(found, first), "began": first.happened_on.isoformat(), "over": all(one.pk in ends for one in works),
        "seen": treating.seen(before[-1]) if before else None, "seen_after": treating.seen(looks[-1]) if len(looks) > len(before) else None,
        "drawing": pointed(thing, asked.component_id, asked.zone, asked.finding), "dangers": common.dangers(thing),
        "begins_from": _check(thing, before, found), "decided": _decided(leave, steps, asked, thing),
        "considered": considered(asked, _proposals(leave), before or looks, rules), "plan": _plan(leave, steps, rules),
        "sessions": [_session(n, one, ends.get(one.pk), [step for step in steps if step.work_id == one.pk], rules) for n, one in enumerate(works, start=1)],
        "photographs": _pairs(works, ends), "kept": _kept(works), "again": _again(works), "seen_since": _followed(works), "stop": treating.stop_signs(),
        "people": sorted({one.person.name for one in works} | {one.beside.name for one in works if one.beside}),
        "rules": sorted({step.rules_version for step in steps}),
    }  # fmt: skip
    title = _("Treatment report, %(number)s %(name)s, %(zone)s") % {"number": thing.card.number, "name": thing.card.name, "zone": asked.zone}
    return Gathered(data, title.replace("  ", " "), reverse("treatments:work", args=[asked.pk]), [("work", first.pk), ("object", thing.pk)])


def _works() -> Any:
    return Work.objects.filter(corrected_by=None, withdraws=False).select_related("finding", "person", "beside", "component")


def _together(asked: Work) -> list[Work]:
    """The sessions on the same finding in the same zone, the first first; without a finding the session alone."""
    if asked.finding_id is None:
        return [asked]
    same = _works().filter(object=asked.object_id, component=asked.component_id, zone=asked.zone, finding=asked.finding_id)
    return list(same.order_by("recorded_at", "id"))


def _zone(asked: Work) -> dict[str, str]:
    part = "" if asked.component.sort == "main" else f"{asked.component.letter} {asked.component.name}".strip()
    return {"code": asked.zone, "words": zones_called([(asked.component_id, asked.zone)])[asked.zone_key], "part": part}


def _check(thing: Object, before: Sequence[Observation], found: Judgement | None) -> dict[str, Any] | None:
    """The check that the work begins from: the last that saw the finding, else the last that was judged; with the newest paper of it."""
    check = before[-1].of_check if before else found.of_check if found else None
    if check is None:
        return None
    papers = IssuedPaper.objects.filter(document="condition_report", subject=thing.pk, address=reverse("checks:result", args=[check.pk]))
    paper = papers.order_by("recorded_at", "id").last()
    return {
        "on": check.happened_on.isoformat(), "by": check.author.name, "sort": check.get_sort_display(), "paper": paper.number if paper else "",
        "address": settings.SITE_URL.rstrip("/") + reverse("papers:by_number", args=[paper.number]) if paper else "",
        "issued_on": paper.happened_on.isoformat() if paper else "",
    }  # fmt: skip


def _state(found: Judgement | None, first: Work) -> dict[str, Any] | None:
    """What the thing and the zone were judged when the work began."""
    if found is None:
        return None
    grade, activity = found.result.get("zones", {}).get(first.zone_key, 0), found.result.get("activities", {}).get(first.zone_key, 0)
    return {
        "grade": found.grade, "grade_words": str(GRADES[found.grade]), "zone_grade": grade, "zone_grade_words": str(GRADES[grade]),
        "zone_activity_words": str(ACTIVITIES[activity]), "on": found.happened_on.isoformat(),
    }  # fmt: skip


def _leave(steps: Sequence[WorkStep], asked: Work) -> list[Approval]:
    """All leave given for the finding in this zone, done or not, and what the steps rest on besides."""
    used = Q(pk__in={step.approval for step in steps if step.approval})
    here = Q(object=asked.object_id, component=asked.component_id, zone=asked.zone, decision__proposal__finding=asked.finding_id)
    rows = Approval.objects.filter(used | here if asked.finding_id else used, corrected_by=None, withdraws=False)
    return list(rows.select_related(*treating.LEAVE, "decision__proposal__proposed_by").order_by("recorded_at", "id"))


def _proposals(leave: Iterable[Approval]) -> list[Proposal]:
    """What the leave was given for, each once."""
    return list({row.decision.proposal_id: row.decision.proposal for row in leave}.values())


def _plan(leave: Iterable[Approval], steps: Sequence[WorkStep], rules: TreatmentRules) -> list[dict[str, Any]]:
    """What was approved and what was begun, in that order, each step of the tables once."""
    begun = {step.step for step in steps if step.step}
    codes = dict.fromkeys([row.deed for row in leave] + [step.step for step in steps])
    return [treating.step_words(rules.steps[code], rules) | {"begun": code in begun} for code in codes if code in rules.steps]


def _decided(leave: Sequence[Approval], steps: Sequence[WorkStep], asked: Work, thing: Object) -> dict[str, Any]:
    """The leave, what it was given for, and what else was decided: deposits, the owner."""
    standing = StandingApproval.objects.filter(pk__in={step.approval for step in steps if step.approval}).select_related("given_by", "person", "act")
    proposals, written = _proposals(leave), {row.decision.proposal_id: row.written for row in leave}
    letters = OwnerLeave.objects.filter(object=thing, corrected_by=None, withdraws=False).order_by(*OwnerLeave.ORDER)
    return {
        "leave": [*map(treating.given, leave), *map(treating.standing, standing.order_by("recorded_at", "id"))],
        "proposals": [{"aim": row.aim, "by": row.proposed_by.name, "written": written[row.pk], "earlier": earlier(row)} for row in proposals],
        "deposits": treating.deposits_of([asked.finding_id] if asked.finding_id else []), "owner": [row.letter for row in letters],
    }  # fmt: skip


def _session(n: int, work: Work, end: WorkEnd | None, steps: Sequence[WorkStep], rules: TreatmentRules) -> dict[str, Any]:
    spots = TestSpot.objects.filter(work=work, corrected_by=None, withdraws=False).order_by("recorded_at", "id")
    minutes = [step.minutes for step in steps if step.minutes]
    return {
        "n": n, "on": work.happened_on.isoformat(), "at": work.happened_at.replace(microsecond=0).isoformat() if work.happened_at else "",
        "by": work.person.name, "beside": work.beside.name if work.beside else "", "minutes": sum(minutes),
        "ended": end.happened_on.isoformat() if end else "", "note": end.note if end else "",
        "spots": [{"step": one.deed, "surface": _material(one.surface), "unchanged": one.unchanged, "note": one.note} for one in spots],
        "steps": [_step(k, one, air, rules) for k, (one, air) in enumerate(zip(steps, airs_of(work.object, steps), strict=True), start=1)],
    }  # fmt: skip


def _step(k: int, row: WorkStep, air: Air | None, rules: TreatmentRules) -> dict[str, Any]:
    step, read = rules.steps.get(row.step), _concerning(row, rules)
    uses = BatchUse.objects.filter(work_step=row, corrected_by=None, withdraws=False).select_related("batch").order_by("batch__supply", "batch__number")
    return {
        "k": k, "code": row.step, "name": _(step.problem) if step else "", "tools": told_in(step.tools) if step else "", "surface": _material(row.surface),
        "added": treating.agents_in_words(row.agents, rules), "stopped": row.result == WorkStep.Result.STOPPED, "words": row.get_result_display(),
        "amounts": row.amounts, "others": row.batches, "minutes": row.minutes, "climate": row.climate, "note": row.note,
        "air": str(air or ""),
        "batches": [{"name": treating.supply_name(one.batch.supply), "number": one.batch.number, "warned": treating.ticked(one.warned, rules)} for one in uses],
        "ticked": treating.ticked(read, rules), "ticked_more": len(set(row.acknowledged) - set(read)), "pictures": treating.pictures(row.photographs, f"S{k}-"),
    }  # fmt: skip


def _concerning(row: WorkStep, rules: TreatmentRules) -> list[str]:
    """Of the cautions that were ticked those that speak of this step: a program may tick more than it was asked."""
    step = rules.steps.get(row.step)
    brought = {*row.agents, *(step.agents if step else ())}
    others = {one.code for one in rules.prohibitions if one.severity == FORBIDDEN or not one.agents & brought}
    return [code for code in row.acknowledged if code not in others and (code not in rules.steps or code == row.step)]


def _material(code: str) -> str:
    return ", ".join(material_words([code])) or code


def _pairs(works: Sequence[Work], ends: dict[UUID, WorkEnd]) -> dict[str, list[dict[str, Any]]]:
    """Photographs from before beside those from after, view by view; what has no fellow stands alone.

    Of several sessions the first picture of a view is from before, its fellow the last that was taken after that one began. What was taken
    between the two is `between`, in the order of the sessions.
    """
    shown = _pictures(works, ends)
    before: dict[str, dict[str, Any]] = {}
    after: dict[str, dict[str, Any]] = {}
    for one in shown:
        if one["when"] == "before":
            before.setdefault(one["view"] or one["ref"], one)
    for one in shown:
        view = one["view"] or one["ref"]
        if one["when"] == "after" and one["session"] >= (before[view]["session"] if view in before else 0):
            after[view] = one
    pairs = [{"before": one, "after": after.get(view)} for view, one in before.items()]
    pairs += [{"before": None, "after": one} for view, one in after.items() if view not in before]
    used = {one["sha256"] for pair in pairs for one in pair.values() if one}
    return {"pairs": pairs, "between": [one for one in shown if one["sha256"] not in used]}


def _pictures(works: Sequence[Work], ends: dict[UUID, WorkEnd]) -> list[dict[str, Any]]:
    """All from before and after, session by session, each once: a picture from after one session may be the one from before the next."""
    found: dict[str, dict[str, Any]] = {}
    for n, work in enumerate(works, start=1):
        end = ends.get(work.pk)
        for when, keys in (("before", work.before), ("after", end.after if end else [])):
            letter = when[0].upper() + (f"{n}-" if len(works) > 1 else "")
            for one in treating.pictures(keys, letter):
                found.setdefault(one["sha256"], one | {"when": when, "session": n})
    return list(found.values())


def _kept(works: Sequence[Work]) -> list[dict[str, Any]]:
    rows = Kept.objects.filter(work__in=works, corrected_by=None, withdraws=False).select_related("component", "work__person").order_by("recorded_at", "id")
    return [
        {
            "letter": row.component.letter, "name": row.component.name, "on": row.happened_on.isoformat(), "by": row.work.person.name, "because": row.because,
            "bag": row.bag, "from": row.work.zone,
        }
        for row in rows
    ]  # fmt: skip


def _again(works: Sequence[Work]) -> list[dict[str, Any]]:
    """The looks that follow, with what became of each."""
    rows = Call.objects.filter(source__in=[one.pk for one in works], why="follow_up", corrected_by=None, withdraws=False)
    return [
        {
            "on": row.due_on.isoformat(), "sort": row.get_sort_display(), "why": _(row.reason),
            "answered": answer.of_check.happened_on.isoformat() if (answer := getattr(row, "answer", None)) and answer.of_check else "",
            "instead": answer.reason if answer else "",
        }
        for row in rows.select_related("answer__of_check").order_by("due_on", "id")
    ]  # fmt: skip


def _followed(works: Sequence[Work]) -> list[dict[str, Any]]:
    rows = FollowUp.objects.filter(work__in=works, corrected_by=None, withdraws=False).select_related("by").order_by("recorded_at", "id")
    return [
        {"on": row.happened_on.isoformat(), "words": row.get_reading_display(), "note": row.note, "by": row.by.name, "reopens": row.reopens} for row in rows
    ]
