"""The start page and the page of one thing: what the parts below know, on one leaf."""

from typing import Any, cast
from uuid import UUID

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from collection.objects.found import waiting
from collection.objects.models import Card, Object, Photograph
from collection.objects.queries import photographs_of, visible_thing
from collection.objects.record import record_of
from collection.objects.screens import outdated_by
from conservation.checks.models import ConditionCheck, Due, Incident, Judgement
from conservation.checks.queries import checks_in_force, open_findings, unjudged
from conservation.checks.reminders import unsettled
from conservation.checks.todo import todo_of
from conservation.checks.vocabulary import term_words
from conservation.rules.tables import hazards
from conservation.treatments.today import asked_of, needs_of, to_count
from locations.climate.alarm_lines import open_alarms, open_lines
from locations.climate.attention import waiting as climate_waiting
from locations.places.actions import may_set_up
from locations.places.placing import urgent
from locations.places.queries import place_words
from museum import clock
from museum.counting import counted
from museum.desk import timeline
from museum.desk.feeds import token_of
from museum.errors import NotFound
from museum.jobs.models import Job
from museum.people.actor import Actor
from museum.people.doors import actor_of, needs, signed_in
from museum.people.models import Person
from museum.prepared import ANY_KEY, Prepared

SHOWN_PHOTOGRAPHS = 12
_PHOTOGRAPHS = Prepared(lambda key: photographs_of("object", key)[:SHOWN_PHOTOGRAPHS], ANY_KEY)
_DUE = Prepared(lambda key: Due.objects.filter(object_id=key).select_related("call").order_by("on"), ANY_KEY)
_JUDGEMENTS = Prepared(
    lambda key: Judgement.objects.filter(object_id=key).order_by("recorded_at", "id").values_list("happened_on", "grade", "urgency"), ANY_KEY
)


@require_safe
@signed_in
def today(request: HttpRequest) -> HttpResponse:
    """What needs this person today."""
    actor = actor_of(request)
    person = cast(Person, request.user)
    cares, lately = actor.may("round.walk"), timeline.lately(actor)
    rows = _rows_of_today(actor, cares=cares)
    counts = counted(rows)
    context: dict[str, Any] = {
        "now": clock.now(), "todo": todo_of(actor) if cares else None, "cares": cares, "person": person,
        "mail": unsettled(person) if cares else [], "plans": actor.may("round.make"), "unknown": counts["unknown"],
        "jobs": rows["jobs"] if counts["jobs"] else [], "unjudged": rows["unjudged"] if counts["unjudged"] else [],
        "lately": lately, "nothing_yet": actor.may("catalogue.edit") and not lately and not Object.objects.exists(),
        "climate": climate_waiting() if cares else {}, "administers": actor.may("people.manage"), "erases": actor.may("personal.erase"),
        "sets_up": actor.may("people.manage") and may_set_up(actor),
        "feed": token_of(person) if cares and not actor.tablet else "", "reads": actor.may("catalogue.see"),
    }  # fmt: skip
    if not cares and context["reads"]:
        context |= {"open_to_see": Card.objects.visible_to(actor).count(), "invited": asked_of(actor)}
    if cares:
        context |= {
            "care": needs_of(actor, counts),
            "alarms": open_lines() if counts["alarms"] else [],
            "incidents": rows["incidents"] if counts["incidents"] else [],
            "wrong": counts["wrong"],
        }
    return render(request, "desk/today.html", context)


def _rows_of_today(actor: Actor, *, cares: bool) -> dict[str, QuerySet[Any, Any]]:
    """What may be there for this person, most of which on most days is not."""
    hears = actor.may("round.make") or actor.may("people.manage")
    rows: dict[str, QuerySet[Any, Any]] = {
        "unknown": waiting(actor), "unjudged": unjudged() if hears else Card.objects.none(),
        "jobs": Job.objects.owned_by(actor).filter(state__in=("waiting", "running", "failed")).order_by("-created_at")[:5],
    }  # fmt: skip
    if cares:
        incidents = Incident.objects.filter(closed_on=None).select_related("place").order_by("opened_on")
        rows |= {"wrong": urgent(actor), "incidents": incidents, "alarms": open_alarms(), **to_count(actor)}
    return rows


@require_safe
@needs("catalogue.see")
def thing(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """One thing: picture, number, place and state first, then the record, then all that ever happened to it."""
    actor = actor_of(request)
    found = visible_thing(actor, object_id)
    if found is None:
        raise NotFound()
    cares = actor.may("catalogue.see_all")
    context: dict[str, Any] = {
        "thing": found, "card": found.card, "record": record_of(found, actor), "cares": cares, "edits": actor.may("catalogue.edit"),
        "place": place_words(actor, found), "photographs": _photographs(found), "subject_kind": "object", "subject_id": found.pk,
        "issues": actor.may("paper.issue"), "hazards": hazards(), "invited": found.pk in actor.invited,
    }  # fmt: skip
    if cares:
        kind, checks = request.GET.get("show", ""), checks_in_force(found.pk)
        context |= {
            "due": _DUE(found.pk), "closes_looks": actor.may("look.close"), "opened": outdated_by(found.pk),
            "findings": [(row, term_words(row.term)) for row in open_findings(checks)], "grades": _grades(found),
            "timeline": timeline.of_object(found.pk, kind, exact=actor.may("place.see_exact")), "show": kind, "shows": timeline.SHOWS,
            "last_check": next((check for check in reversed(checks) if check.sort == ConditionCheck.Sort.FULL), None),
        }  # fmt: skip
    return render(request, "desk/thing.html", context)


def _photographs(found: Object) -> list[Photograph]:
    return _PHOTOGRAPHS(found.pk)


def _grades(found: Object) -> list[dict[str, Any]]:
    """The history of the grade as points of a small chart, oldest first: x in parts of 300, y by grade."""
    rows = _JUDGEMENTS(found.pk)
    if not rows:
        return []
    first, last = rows[0][0], rows[-1][0]
    span = max(1, (last - first).days)
    return [
        {"day": day, "grade": grade, "urgency": urgency, "x": 20 + round(260 * (day - first).days / span), "y": 90 - 25 * grade, "words": _("grade")}
        for day, grade, urgency in rows
    ]
