"""Doors to labels: what is to be printed on what; and the short addresses that their codes carry."""

from typing import Any, Final
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from collection.objects.search import carrying
from collection.objects.views.common import key_in, number_in
from locations.places.models import Place
from museum.errors import Invalid
from museum.people.doors import actor_of, needs
from reports.labels.asking import ask_for_labels
from reports.labels.content import Wanted, labels_for
from reports.labels.stock import STOCKS

STOCK_WORDS: Final[dict[str, tuple[Promise, Promise]]] = {
    "plain": (gettext_lazy("plain A4, 2 by 5"), gettext_lazy("90 × 52 mm, with lines to cut along")),
    "2x4": (gettext_lazy("A4, 2 by 4"), gettext_lazy("99.1 × 67.7 mm: boxes and crates")),
    "2x7": (gettext_lazy("A4, 2 by 7"), gettext_lazy("99.1 × 38.1 mm")),
    "3x7": (gettext_lazy("A4, 3 by 7"), gettext_lazy("63.5 × 38.1 mm")),
    "3x8": (gettext_lazy("A4, 3 by 8"), gettext_lazy("70 × 37 mm")),
    "5x13": (gettext_lazy("A4, 5 by 13"), gettext_lazy("38.1 × 21.2 mm: tie-on labels")),
    "roll62": (gettext_lazy("roll, 62 mm"), gettext_lazy("40 mm long")),
    "roll29": (gettext_lazy("roll, 29 mm"), gettext_lazy("62 mm long")),
    "roll12": (gettext_lazy("roll, 12 mm"), gettext_lazy("60 mm long, the code at its smallest")),
    "roll9": (gettext_lazy("roll, 9 mm"), gettext_lazy("70 mm long, the number without a code")),
}


@require_http_methods(["GET", "POST"])
@needs("label.print")
def labels(request: HttpRequest) -> HttpResponse:
    """What is chosen (?thing=...&place=...&inside=on), with the choice of sheet or roll. POST has it set."""
    actor, typed, error = actor_of(request), request.POST if request.method == "POST" else request.GET, ""
    wanted = _wanted(typed)
    if request.method == "POST":
        try:
            job = ask_for_labels(
                actor, typed.get("stock", ""), things=wanted.things, places=wanted.places, inside=wanted.inside, parts=wanted.parts,
                start=number_in(typed.get("start"), 0),
            )  # fmt: skip
        except Invalid as refused:
            error = refused.sentence
        else:
            return redirect("jobs:job", job.pk)
    try:
        chosen = labels_for(actor, wanted)
    except Invalid as refused:
        chosen, error = [], error or refused.sentence
    context: dict[str, Any] = {
        "chosen": chosen, "wanted": wanted, "error": error, "start": typed.get("start", "1"), "stock": typed.get("stock", "plain"),
        "stocks": [(code, *words) for code, words in STOCK_WORDS.items() if code in STOCKS],
        "left_out": len(set(wanted.things)) - len({label.thing for label in chosen if label.thing in wanted.things}),
    }  # fmt: skip
    return render(request, "reports/label_choice.html", context, status=400 if error else 200)


def _wanted(typed: QueryDict) -> Wanted:
    """What a form or an address names; each once."""
    return Wanted(_keys(typed, "thing"), _keys(typed, "place"), typed.get("inside") == "on", typed.get("parts") == "on")


def _keys(typed: QueryDict, name: str) -> list[UUID]:
    keys = [key_in(text) for text in typed.getlist(name)]
    return list(dict.fromkeys(key for key in keys if key is not None))


@require_safe
@needs("catalogue.see")
def thing_by_code(request: HttpRequest, text: str) -> HttpResponse:
    """To the thing whose label was read; to the search where none is found. The code is in capitals, the number may not be."""
    actor = actor_of(request)
    keys = carrying(actor, text) or carrying(actor, text.lower())
    return redirect("desk:thing", keys[0]) if keys else redirect("objects:by_number", text)


@require_safe
@needs("place.see_exact")
def place_by_code(request: HttpRequest, text: str) -> HttpResponse:
    """To the place whose label was read."""
    open_places = Place.objects.filter(closed_on=None, code__iexact=text).order_by("code")
    found = next((place for place in open_places if place.code == text), None) or open_places.first()
    if found is not None:
        return redirect("places:place", found.pk)
    messages.error(request, _("No place has the code %(code)s; it may have been closed.") % {"code": text})
    return redirect("places:places")
