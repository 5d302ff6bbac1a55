"""Pages of the catalogue: list and search, a new thing, its record, parts, numbers, dangers."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.functional import cached_property
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from collection.objects.actions import hazards, numbers as number_actions, objects, statements
from collection.objects.models import Card, Component, Kind, MadeOf, Material, Number, Object, Ownership
from collection.objects.queries import in_force, text_of
from collection.objects.record import record_of
from collection.objects.search import FILTERS, cards_for
from museum.errors import DomainError, Forbidden, Invalid, NotFound, VersionConflict
from museum.ids import uuid7
from museum.people.doors import actor_of, needs

A_PAGE = 50
#: beyond this a count costs more than it tells
MOST_COUNTED = 5_000


class BoundedPaginator(Paginator):  # type: ignore[type-arg]
    """Counts no further than it must, so that a page of a large collection costs what one of a small does."""

    @cached_property
    def count(self) -> int:
        return len(self.object_list.order_by().values_list("pk")[:MOST_COUNTED])  # type: ignore[union-attr]


@require_safe
@needs("catalogue.see")
def things(request: HttpRequest) -> HttpResponse:
    """The list of things; one box finds by number, name or any word."""
    actor, words = actor_of(request), request.GET.get("q", "")
    filters = {name: request.GET.get(name, "") for name in FILTERS}
    filters = {name: value for name, value in filters.items() if name not in ("grade", "urgency") or value in "0123"}
    page = BoundedPaginator(cards_for(actor, words, **filters), A_PAGE).get_page(request.GET.get("page"))
    query = urlencode({name: value for name, value in {"q": words, **filters}.items() if value})
    context = {
        "page": page, "words": words, "filters": filters, "query": f"{query}&" if query else "", "kinds": _kinds(),
        "whose": Ownership.Whose.choices, "exact": actor.may("place.see_exact"), "may_add": actor.may("catalogue.edit"),
        "bounded": page.paginator.count >= MOST_COUNTED,
    }  # fmt: skip
    return render(request, "objects/things.html", context)


@require_http_methods(["GET", "POST"])
@needs("catalogue.edit")
def new_thing(request: HttpRequest) -> HttpResponse:
    """A new thing: what it is, its number, what it is made of."""
    actor, typed, error, wrong = actor_of(request), request.POST, "", ""
    key = _uuid(typed.get("id")) or uuid7()
    if request.method == "POST":
        try:
            thing = objects.create_object(
                actor.keyed(key), object_id=key, kind=typed.get("kind", ""), number=typed.get("number", "").strip(),
                as_written=typed.get("as_written") == "on", next_in="" if typed.get("number", "").strip() else typed.get("series", ""),
                said={name: typed[name].strip() for name in ("name", "description", "date_made") if typed.get(name, "").strip()},
                materials=typed.getlist("materials"), whose=typed.get("whose", ""),
            )  # fmt: skip
        except (Invalid, Forbidden, number_actions.NumberTaken) as refused:
            error, wrong = refused.sentence, refused.field or ""
        else:
            messages.success(request, _("It is in the catalogue. A photograph and its place come next."))
            return redirect("desk:thing", thing.pk)
    context = {
        "typed": typed, "key": key, "error": error, "wrong": wrong, "kinds": _kinds(), "whose": Ownership.Whose.choices,
        "materials": [(row.code, text_of(row.texts)) for row in Material.objects.order_by("id")], "chosen": typed.getlist("materials"),
        "registrar": actor.may("number.issue"),
    }  # fmt: skip
    return render(request, "objects/new.html", context, status=400 if error else 200)


@require_safe
@needs("catalogue.propose")
def edit(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """The record, field by field; each is stored by itself, so that two people can write at once."""
    actor, thing = actor_of(request), _thing(request, object_id)
    main = thing.components.get(sort=Component.Sort.MAIN)
    context = {
        "thing": thing, "card": thing.card, "record": record_of(thing, actor), "main": main, "edits": actor.may("catalogue.edit"),
        "kinds": _kinds(),
    }  # fmt: skip
    return render(request, "objects/edit.html", context)


@require_POST
@needs("catalogue.propose")
def say_field(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Stores one field; a value that changed meanwhile is shown beside what was typed."""
    _thing(request, object_id)
    fields, component = request.POST, _uuid(request.POST.get("component"))
    if component is None:
        raise NotFound()
    value: dict[str, str] | None = {
        name: fields[name] for name in ("text", "broader", "kind", "place", "earliest", "latest", "edtf") if fields.get(name)
    }
    if fields.get("empty") == "on":
        value = None
    try:
        statements.say(
            actor_of(request), component, fields.get("field", ""), value, source=fields.get("source", ""), replaces=_uuid(fields.get("replaces")),
        )  # fmt: skip
    except VersionConflict as conflict:
        return render(request, "web/conflict.html", {"conflict": conflict, "again": request.path, "typed": fields}, status=409)
    except Invalid as refused:
        messages.error(request, refused.sentence)
    else:
        messages.success(request, _("Stored.") if actor_of(request).may("catalogue.edit") else _("Proposed. A curator or registrar decides."))
    return redirect(f"{request.path.removesuffix('say/')}edit/#f-{fields.get('field', '')}")


@require_POST
@needs("catalogue.edit")
def accept(request: HttpRequest, object_id: UUID, statement_id: UUID) -> HttpResponse:
    """Makes a volunteer's proposal the record's."""
    return _done(request, lambda: statements.accept_statement(actor_of(request), statement_id, replaces=_uuid(request.POST.get("replaces"))), "objects:edit", object_id)


@require_http_methods(["GET", "POST"])
@needs("catalogue.edit")
def parts(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Parts and what each zone is made of."""
    thing, actor, fields = _thing(request, object_id), actor_of(request), request.POST
    if request.method == "POST":
        component = _uuid(fields.get("component"))
        acts: dict[str, Callable[[], Any]] = {
            "part": lambda: objects.add_component(
                actor, object_id, sort=fields.get("sort", ""), name=fields.get("name", ""), lettered=fields.get("lettered") == "on",
                zones=fields.getlist("zones"),
            ),
            "material": lambda: objects.made_of(
                actor, component or uuid7(), material=fields.get("material", ""), zone=fields.get("zone", ""), finish=fields.get("finish", "")
            ),
            "withdraw": lambda: objects.withdraw_material(actor, _uuid(fields.get("made_of")) or uuid7(), reason=fields.get("reason", "")),
            "zone": lambda: objects.note_zone(
                actor, component or uuid7(), zone=fields.get("zone", ""), present=fields.get("present") == "on", name=fields.get("name", "")
            ),
        }  # fmt: skip
        if (act := acts.get(fields.get("do", ""))) is None:
            raise NotFound()
        return _done(request, act, "objects:parts", object_id)
    context = {
        "thing": thing, "card": thing.card, "record": record_of(thing, actor), "sorts": Component.Sort.choices[1:],
        "materials": [(row.code, text_of(row.texts)) for row in Material.objects.order_by("id")],
        "made_of": in_force(MadeOf.objects.filter(component__object=thing).select_related("material", "component")),
    }  # fmt: skip
    return render(request, "objects/parts.html", context)


@require_http_methods(["GET", "POST"])
@needs("number.issue")
def numbers(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Numbers: issued, replaced, voided; never given twice."""
    thing, actor, fields = _thing(request, object_id), actor_of(request), request.POST
    if request.method == "POST":
        acts: dict[str, Callable[[], Any]] = {
            "renumber": lambda: number_actions.renumber(actor, object_id, fields.get("number", ""), reason=fields.get("reason", "")),
            "void": lambda: number_actions.void_number(actor, _uuid(fields.get("id")) or uuid7(), reason=fields.get("reason", "")),
        }
        if (act := acts.get(fields.get("do", ""))) is None:
            raise NotFound()
        return _done(request, act, "objects:numbers", object_id)
    rows = thing.numbers.exclude(state="withdrawn").select_related("component").order_by("state", "sort_key")
    return render(request, "objects/numbers.html", {"thing": thing, "card": thing.card, "numbers": rows})


@require_http_methods(["GET", "POST"])
@needs("hazard.report")
def dangers(request: HttpRequest, object_id: UUID) -> HttpResponse:
    """Dangers to people: told by anybody, settled by a curator with the evidence."""
    thing, actor, fields = _thing(request, object_id), actor_of(request), request.POST
    if request.method == "POST":
        level = int(fields["level"]) if fields.get("level", "").isdigit() else -1
        acts: dict[str, Callable[[], Any]] = {
            "tell": lambda: hazards.report_hazard(actor, object_id, code=fields.get("code", ""), level=level, note=fields.get("note", "")),
            "settle": lambda: hazards.settle_hazard(actor, object_id, code=fields.get("code", ""), level=level, evidence=fields.get("evidence", "")),
        }
        if (act := acts.get(fields.get("do", ""))) is None:
            raise NotFound()
        return _done(request, act, "objects:dangers", object_id)
    context = {
        "thing": thing, "card": thing.card, "record": record_of(thing, actor), "history": thing.hazards.select_related("by").order_by("-recorded_at"),
        "screens": thing.screens.select_related("by").order_by("-recorded_at")[:5], "settles": actor.may("hazard.close"),
    }  # fmt: skip
    return render(request, "objects/dangers.html", context)


@require_safe
@needs("catalogue.see")
def by_number(request: HttpRequest, text: str) -> HttpResponse:
    """To the thing that carries a number, now or formerly."""
    found = Number.objects.filter(text=text.strip(), object__in=Object.objects.visible_to(actor_of(request))).exclude(state="withdrawn").first()
    if found is None:
        return redirect(f"/things/?{urlencode({'q': text})}")
    return redirect("desk:thing", found.object_id)


def _thing(request: HttpRequest, object_id: UUID) -> Object:
    """The object, if this person may see it. Raises NotFound."""
    thing = Object.objects.visible_to(actor_of(request)).select_related("card", "kind").filter(pk=object_id).first()
    if thing is None:
        raise NotFound()
    return thing


def _done(request: HttpRequest, act: Callable[[], Any], route: str, object_id: UUID) -> HttpResponse:
    """Carries out, tells what came of it, goes back."""
    try:
        act()
    except DomainError as refused:
        messages.error(request, refused.sentence)
    else:
        messages.success(request, _("Stored."))
    return redirect(route, object_id)


def _kinds() -> list[tuple[str, str]]:
    return [(kind.code, text_of(kind.texts)) for kind in Kind.objects.filter(retired=False).order_by("id")]


def _uuid(text: Any) -> UUID | None:
    try:
        return UUID(str(text))
    except ValueError:
        return None
