"""The ten questions by themselves: for one thing, for a lot; what was opened."""

from datetime import date
from functools import partial
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from collection.objects.actions.screens import TOLD, tell_opening
from collection.objects.models import LotScreen, Opening
from collection.objects.queries import text_of, words_of_materials
from collection.objects.screens import FULL, Standing, lots_for, lots_seen, standing_of
from collection.objects.views.common import acting, done, key_in, kinds
from conservation.checks.actions import screening
from conservation.checks.views.walk import seen_object
from conservation.rules.tables import ScreenQuestion
from conservation.rules.tables import screen as screen_questions
from museum import clock
from museum.errors import Invalid, NotFound
from museum.ids import uuid7
from museum.people.doors import actor_of, needs, safe_next

NO = "no"


def asked() -> list[ScreenQuestion]:
    """The ten, each followed by its closer one where there is one."""
    return [row for question in screen_questions() for row in (question, question.closer) if row is not None]


def answers_in(sent: Any) -> dict[str, str]:
    """What a form says to them."""
    numbers = {question.number for question in asked()}
    return {name: value for name, value in sent.items() if name in numbers and value in ("yes", NO, "unsure")}


def questions(given: Any) -> list[dict[str, Any]]:
    """The ten as the form shows them, with what was answered."""
    closers = {question.closer.number for question in screen_questions() if question.closer}
    return [{"number": one.number, "question": _(one.question), "answer": given.get(one.number, ""), "closer": one.number in closers} for one in asked()]


@require_http_methods(["GET", "POST"])
@needs("hazard.report")
def thing_screen(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """How the ten questions stand for a thing, what shut the answers, its lots to confirm, and the ten; POST answers them."""
    actor = actor_of(request)
    thing = seen_object(actor, object_id)
    given = answers_in(request.POST)
    refused = None
    if request.method == "POST":
        try:
            screening.answer_ten(acting(request), object_id, answers=given)
        except Invalid as error:
            refused = error
        else:
            return redirect(safe_next(request, f"/things/{object_id}/"))
    context = screen_context(standing_of(thing.pk), lots_for(thing)) | {
        "thing": thing, "card": thing.card, "questions": questions(given), "refused": refused, "next": safe_next(request, f"/things/{object_id}/"),
        "told": [(value, Opening.Why(value).label) for value in TOLD], "today": clock.today(),
    }  # fmt: skip
    return render(request, "checks/thing_screen.html", context, status=400 if refused else 200)


def screen_context(stands: Standing, lots: Any) -> dict[str, Any]:
    """What every page shows that asks the ten: how they stand and, where that still helps, the lots."""
    opening = stands.opening
    material = words_of_materials([opening.note]).get(opening.note, "") if opening and opening.why == Opening.Why.MATERIAL else ""
    offered = [] if opening or stands.state == FULL else [(lot, not_no(lot)) for lot in lots]
    return {"stands": stands, "opened": opening, "opened_note": material or (opening.note if opening else ""), "lots": offered}


def not_no(lot: LotScreen) -> list[tuple[str, str, str]]:
    """The questions of a lot that were not answered with 'no': number, question, answer."""
    words = {"yes": _("Yes"), "unsure": _("Unsure")}
    return [(one.number, _(one.question), words[lot.answers[one.number]]) for one in asked() if lot.answers.get(one.number) in words]


@require_POST
@needs("hazard.report")
def confirm(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """One tap with the lot's answers in hand: the same, differs, unsure. What is not the same is asked whole."""
    seen_object(actor_of(request), object_id)
    sent, by = request.POST, acting(request)
    lot_id, looked = key_in(sent.get("lot")), sent.get("looked", "")
    if lot_id is None:
        raise NotFound
    look = partial(screening.confirm_from_lot, by, object_id, lot_id=lot_id, looked=looked, note=sent.get("note", ""))
    answer = done(request, look, "checks:thing_screen", object_id)
    same = looked == screening.SAME and standing_of(object_id).passes
    return redirect(safe_next(request, f"/things/{object_id}/")) if same else answer


@require_POST
@needs("hazard.report")
def opened(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Something was opened or showed: the ten questions are asked again."""
    seen_object(actor_of(request), object_id)
    sent, by = request.POST, acting(request)
    return done(
        request, lambda: tell_opening(by, object_id, why=sent.get("why", ""), note=sent.get("note", ""), happened_on=_day(sent.get("happened_on", ""))),
        "checks:thing_screen", object_id,
    )  # fmt: skip


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise Invalid(_("This is not a day: write it as 2026-11-25."), field="happened_on") from None


@require_safe
@needs("hazard.report")
def lots(request: HttpRequest) -> HttpResponse:
    """The lots of which the ten questions were answered once, the things confirmed by each, and those to confirm again."""
    rows = [
        {"lot": lot.screen, "kind": text_of(lot.screen.kind.texts) if lot.screen.kind else "", "said": not_no(lot.screen),
         "confirmed": lot.confirmed, "to_confirm": lot.to_confirm}
        for lot in lots_seen(actor_of(request))
    ]  # fmt: skip
    return render(request, "checks/lots.html", {"rows": rows})


@require_http_methods(["GET", "POST"])
@needs("hazard.report")
def lot(request: HttpRequest, lot_id: UUID | None = None) -> HttpResponse:
    """A lot answered for the first time, or anew."""
    before = LotScreen.objects.filter(pk=lot_id, corrected_by=None, withdraws=False).select_related("kind").first() if lot_id else None
    if lot_id and before is None:
        raise NotFound
    sent, refused = request.POST, None
    if request.method == "POST":
        try:
            by = acting(request)
            screening.answer_ten_of_lot(by, by.key or uuid7(), name=sent.get("name", ""), answers=answers_in(sent), kind=sent.get("kind", ""), corrects=lot_id)
        except Invalid as error:
            refused = error
        else:
            return redirect("checks:lots")
    typed = {"name": sent.get("name", ""), "kind": sent.get("kind", "")} if request.method == "POST" else _typed(before)
    given = answers_in(sent) if request.method == "POST" else (before.answers if before else {})
    context = {"lot": before, "typed": typed, "kinds": kinds(), "questions": questions(given), "refused": refused}
    return render(request, "checks/lot.html", context, status=400 if refused else 200)


def _typed(before: LotScreen | None) -> dict[str, str]:
    return {"name": before.name, "kind": before.kind.code if before.kind else ""} if before else {"name": "", "kind": ""}
