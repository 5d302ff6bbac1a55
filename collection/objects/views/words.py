"""The society's own words: kinds and their zones, materials, fields."""

from collections.abc import Callable, Mapping
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from collection.objects.actions import words as word_actions
from collection.objects.models import Kind
from collection.objects.outlines import sets
from collection.objects.queries import text_of, zone_names
from collection.objects.views.common import acting, chosen, number_in
from museum.errors import Invalid, NotFound, VersionConflict
from museum.people.doors import needs


@require_http_methods(["GET", "POST"])
@needs("words.edit")
def words(request: HttpRequest) -> HttpResponse:
    """Every list with what the society calls its words."""
    if request.method == "POST":
        acts = {"rename": lambda: _rename(request), "kind": lambda: _add_kind(request)}
        return _done(request, chosen(request, acts), "objects:words")
    lists = {
        name: [{"row": row, "text": text_of(row.texts), "shipped": text_of(row.shipped)} for row in _rows(model)] for name, model in word_actions.LISTS.items()
    }
    context = {"lists": lists, "zones": zone_names().items(), "sets": sorted(sets())}
    return render(request, "objects/words.html", context)


@require_http_methods(["GET", "POST"])
@needs("words.edit")
def zones(request: HttpRequest, code: str) -> HttpResponse:
    """Which zones a kind has, and what they are called there."""
    kind = Kind.objects.filter(code=code).first()
    if kind is None:
        raise NotFound
    if request.method == "POST":
        return _done(request, lambda: _name_zones(request, kind), "objects:zones", code)
    rows = [{"code": zone, "general": general, "here": zone in kind.zones, "text": text_of(kind.zones.get(zone, {}))} for zone, general in zone_names().items()]
    return render(request, "objects/zones.html", {"kind": kind, "name": text_of(kind.texts), "rows": rows})


def _rows(model: Any) -> Any:
    return model.objects.filter(retired=False).order_by("id")


def _language() -> str:
    return (get_language() or "en")[:2]


def _rename(request: HttpRequest) -> int:
    typed = request.POST
    return word_actions.rename_word(
        acting(request), typed.get("of", ""), typed.get("code", ""), version=number_in(typed.get("version"), 0),
        texts={_language(): typed.get("text", "")}, reason=typed.get("reason", ""),
    )  # fmt: skip


def _add_kind(request: HttpRequest) -> Kind:
    typed = request.POST
    return word_actions.add_kind(
        acting(request), code=typed.get("code", ""), name=typed.get("text", ""), language=_language(),
        outline_set=typed.get("outline_set", ""), zones=typed.getlist("zones"),
    )  # fmt: skip


def _name_zones(request: HttpRequest, kind: Kind) -> int:
    typed, language = request.POST, _language()
    names: Mapping[str, Mapping[str, str]] = {code: {language: typed.get(f"name-{code}", "")} for code in typed.getlist("zones")}
    return word_actions.name_zones(
        acting(request), kind.code, version=number_in(typed.get("version"), 0), names=names,
        reason=typed.get("reason", ""),
    )  # fmt: skip


def _done(request: HttpRequest, act: Callable[[], Any], route: str, *args: str) -> HttpResponse:
    """Carries out; where somebody else was first, both versions are shown."""
    try:
        act()
    except VersionConflict as conflict:
        context = {"conflict": conflict, "again": request.path, "typed": request.POST}
        return render(request, "web/conflict.html", context, status=409)
    except Invalid as refused:
        messages.error(request, refused.sentence)
    else:
        messages.success(request, _("Stored."))
    return redirect(route, *args)
