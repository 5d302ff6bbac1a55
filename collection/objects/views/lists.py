"""The list of things, with one box that finds by number, name or any word."""

from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from collection.objects.models import Ownership
from collection.objects.search import FILTERS, Found, carrying, things_found
from collection.objects.views.common import kinds
from museum.people.doors import actor_of, needs

WALK = ("after", "id", "dir", "from")


@require_safe
@needs("catalogue.see")
def things(request: HttpRequest) -> HttpResponse:
    """What this person may see, fifty to a page; the walk between pages costs the same on every page."""
    actor, asked = actor_of(request), request.GET
    words = asked.get("q", "")
    filters = {name: asked.get(name, "") for name in FILTERS}
    found = things_found(actor, words, at={name: asked[name] for name in WALK if name in asked}, **filters)
    context = {
        "found": found, "words": words, "filters": filters, "narrowed": any(filters.values()), "kinds": kinds(),
        "whose": Ownership.Whose.choices, "exact": actor.may("place.see_exact"), "adds": actor.may("catalogue.edit"), "imports": actor.may("import.run"),
        "cares": actor.may("catalogue.see_all"), **_ways(found, {"q": words, **filters}),
    }  # fmt: skip
    return render(request, "objects/things.html", context)


def _ways(found: Found, asked: dict[str, str]) -> dict[str, Any]:
    """The addresses of the pages before and after."""
    kept = {name: value for name, value in asked.items() if value}
    return {
        "back": f"?{urlencode(kept | found.back)}" if found.back else "",
        "on": f"?{urlencode(kept | found.on)}" if found.on else "",
    }


@require_safe
@needs("catalogue.see")
def by_number(request: HttpRequest, text: str) -> HttpResponse:
    """To the thing that carries a number, now or formerly; to the search where none does."""
    if keys := carrying(actor_of(request), text):
        return redirect("desk:thing", keys[0])
    return redirect(f"{reverse('objects:things')}?{urlencode({'q': text})}")
