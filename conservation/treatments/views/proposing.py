"""The form of a proposal: one finding, several steps in their order, each with what is used and why the lesser ones are not enough."""

from itertools import zip_longest
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from collection.objects.models import Object
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments import learning
from conservation.treatments import reading as read
from conservation.treatments.actions.proposals import propose_treatment
from conservation.treatments.answering import Matter, MayI, what_may_i_do
from conservation.treatments.deeds import Meant
from conservation.treatments.views.common import Again, refusal_in, seen_object
from museum.ids import uuid7
from museum.people.doors import actor_of, needs


@require_http_methods(["GET", "HEAD", "POST"])
@needs("treatment.propose")
def propose(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """The empty form, or with `finding` and `step` its first line; sent, it goes to the curator. What is refused stands on the same page."""
    actor, sent = actor_of(request), request.POST
    thing = seen_object(actor, object_id)
    if request.method != "POST":
        return _page(request, thing, request.GET)
    if sent.get("do") == "more":
        return _page(request, thing, sent, more=1)
    key = read.key_or_none(sent, "id") or uuid7()
    zone, surface = where_in(sent)
    refused = refusal_in(
        request,
        lambda: propose_treatment(
            actor.keyed(key), object_id, proposal_id=key, zone=zone, surface=surface, aim=sent.get("aim", ""), steps=steps_in(sent),
            finding_id=read.key_or_none(sent, "finding"), written=sent.get("written", ""),
        ),
    )  # fmt: skip
    if refused is not None:
        return _page(request, thing, sent, again=Again("proposal", sent, refused))
    return redirect("treatments:proposal", key)


def rows_in(sent: QueryDict) -> list[dict[str, str]]:
    """The lines of the form as they were typed, empty ones left out."""
    typed = zip_longest(*(sent.getlist(name) for name in ("step", "words", "earlier")), fillvalue="")
    return [{"step": step, "words": words, "earlier": earlier} for step, words, earlier in typed if step or words.strip() or earlier.strip()]


def steps_in(sent: QueryDict) -> list[Meant]:
    """The steps that are meant, in their order."""
    return [Meant(**row) for row in rows_in(sent)]


def where_in(sent: QueryDict) -> tuple[str, str]:
    """Zone and layer, sent apart or as one choice."""
    zone, parted, surface = sent.get("spot", "").partition("|")
    return (zone, surface) if parted else (sent.get("zone", ""), sent.get("surface", ""))


def lines(rows: list[dict[str, str]], more: int = 0) -> list[dict[str, str]]:
    """The lines to be shown: at least one, and those asked for besides."""
    return [*rows, *({} for _n in range(max(more, 0 if rows else 1)))]


def choices(said: MayI, finding: str) -> list[tuple[str, str]]:
    """The steps to choose from, in the order of intervention: those that answer the finding and are not ruled out, else all of the tables."""
    rules = treatment_rules_in_force()
    matter = _matter(said, finding)
    codes = [way.code for way in (*matter.ways, *matter.general) if not way.ruled_out] if matter else sorted(rules.steps)
    return [(code, named(code)) for code in dict.fromkeys(codes)]


def named(code: str) -> str:
    """A step by its code and what it is about."""
    lesson, step = learning.lesson_of(code), treatment_rules_in_force().steps.get(code)
    return f"{code} {_(lesson.title) if lesson else _(step.problem) if step else ''}".strip()


def _matter(said: MayI, finding: str) -> Matter | None:
    return next((matter for matter in said.matters if matter.finding == finding), None)


def _page(request: HttpRequest, thing: Object, typed: QueryDict, *, more: int = 0, again: Again | None = None) -> HttpResponse:
    said = what_may_i_do(actor_of(request), thing.pk)
    matter = _matter(said, typed.get("finding", ""))
    context: dict[str, Any] = {
        "thing": thing, "card": thing.card, "matter": matter, "spots": said.spots, "spot": typed.get("spot", ""), "values": typed, "key": uuid7(),
        "rows": lines(rows_in(typed), more), "choices": choices(said, typed.get("finding", "")), "shut": said.shut,
        "wants_written": any(way.who == "conservator" for way in matter.ways) if matter else True,
    }  # fmt: skip
    if again is not None:
        context |= again.context
    return render(request, "treatments/propose.html", context, status=409 if again else 200)
