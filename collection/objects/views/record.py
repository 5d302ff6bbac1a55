"""The record of a thing, field by field: each is stored by itself, so that two people can write at once."""

from typing import Any
from uuid import UUID, uuid5

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from collection.objects import fields
from collection.objects.actions import statements
from collection.objects.models import Field, Statement
from collection.objects.queries import everything_said, text_of
from collection.objects.record import record_of
from collection.objects.views.common import acting, done, key_in, sent_key, thing_for
from museum.errors import Invalid, VersionConflict
from museum.ids import uuid7
from museum.people.doors import actor_of, needs

A_PAGE = 100


@require_safe
@needs("catalogue.propose")
def edit(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Every field with what stands in it, and a form for each."""
    actor, thing = actor_of(request), thing_for(request, object_id)
    context = {
        "thing": thing, "card": thing.card, "record": record_of(thing, actor), "edits": actor.may("catalogue.edit"),
        "certainties": Statement.Certainty.choices,
    }  # fmt: skip
    return render(request, "objects/edit.html", context)


@require_http_methods(["GET", "POST"])
@needs("catalogue.propose")
def say_field(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Stores one field; a value that changed meanwhile is shown beside what was typed."""
    thing_for(request, object_id)
    if request.method == "GET":
        return redirect("objects:edit", object_id)
    field = statements.field_of(request.POST.get("field", ""))
    try:
        said = _say(request, field, replaces=key_in(request.POST.get("replaces")))
    except VersionConflict as conflict:
        return _both_versions(request, object_id, field, conflict)
    except Invalid as refused:
        messages.error(request, refused.sentence)
    else:
        accepted = said.value is None or actor_of(request).may("catalogue.edit")
        messages.success(request, _("Stored.") if accepted else _("Proposed. A curator or registrar decides."))
    return redirect(f"{reverse('objects:edit', args=[object_id])}#f-{field.code}")


def _say(request: HttpRequest, field: Field, *, replaces: UUID | None, kept: bool = False) -> Statement:
    typed = request.POST
    asked = {one.name for one in fields.inputs(field)}
    value: dict[str, Any] | None = {name: typed[name] for name in asked if typed.get(name, "").strip()}
    actor = acting(request)
    if kept:
        actor = actor.keyed(uuid5(actor.key or uuid7(), "kept beside"))
    return statements.say(
        actor, sent_key(request, "component"), field.code, None if typed.get("empty") == "on" else value,
        source=typed.get("source", ""), certainty=typed.get("certainty") or Statement.Certainty.SURE,
        replaces=replaces, propose=kept,
    )  # fmt: skip


def _both_versions(request: HttpRequest, object_id: UUID, field: Field, conflict: VersionConflict) -> HttpResponse:
    """What was typed is kept as a proposal, so that it outlives a closed page, and shown beside what stands now."""
    kept = _say(request, field, replaces=None, kept=True)
    context = {
        "conflict": conflict, "again": reverse("objects:accept", args=[object_id, kept.pk]), "typed": {},
        "back": reverse("objects:edit", args=[object_id]), "names": {field.code: text_of(field.texts)},
    }  # fmt: skip
    return render(request, "web/conflict.html", context, status=409)


@require_http_methods(["GET", "POST"])
@needs("catalogue.edit")
def accept(request: HttpRequest, object_id: UUID, statement_id: UUID) -> HttpResponse:
    """Makes a proposal the record's."""
    thing_for(request, object_id)
    if request.method == "GET":
        return redirect("objects:edit", object_id)
    replaces = key_in(request.POST.get("replaces"))
    try:
        statements.accept_statement(acting(request), statement_id, replaces=replaces)
    except VersionConflict as conflict:
        context = {
            "conflict": conflict, "again": request.path, "typed": {},
            "back": reverse("objects:edit", args=[object_id]),
        }  # fmt: skip
        return render(request, "web/conflict.html", context, status=409)
    except statements.Decided as decided:
        messages.error(request, decided.sentence)
    else:
        messages.success(request, _("Stored."))
    return redirect("objects:edit", object_id)


@require_POST
@needs("catalogue.edit")
def decline(request: HttpRequest, object_id: UUID, statement_id: UUID) -> HttpResponse:
    """Leaves a proposal aside, with the reason."""
    thing_for(request, object_id)
    reason = request.POST.get("reason", "")
    return done(
        request,
        lambda: statements.decline_statement(acting(request), statement_id, reason=reason),
        "objects:edit",
        object_id,
    )


@require_safe
@needs("catalogue.see_all")
def said(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """All that was ever said of a thing, newest first: by whom, from which source, and what became of it."""
    thing = thing_for(request, object_id)
    rows = [
        {"statement": row, "field": text_of(row.field.texts), "text": fields.shown(row.field, row.value, row.words)} for row in everything_said(thing)[:A_PAGE]
    ]
    context = {"thing": thing, "card": thing.card, "rows": rows, "erases": actor_of(request).may("personal.erase")}
    return render(request, "objects/said.html", context)
