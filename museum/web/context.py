"""What every page shows: the society, who is signed in, the ways through the house."""

from dataclasses import dataclass
from typing import Any, Final

from django.http import HttpRequest
from django.urls import reverse
from django.utils.functional import SimpleLazyObject
from django.utils.translation import gettext_lazy as _

from museum.people.models import Society
from museum.people.permissions import ROLE_WORDS

THEMES: Final = ("light", "dark")


@dataclass(frozen=True, slots=True)
class Way:
    """One entry of the main navigation; shown to those who hold the permission. `also`: pages elsewhere that are reached from it."""

    name: Any
    icon: str
    route: str
    permission: str
    also: str = ""


WAYS: Final = (
    Way(_("Today"), "today", "desk:today", "account.own"),
    Way(_("Things"), "things", "objects:things", "catalogue.see"),
    Way(_("Places"), "places", "places:places", "place.see_building", also="/climate/"),
    Way(_("Rounds"), "rounds", "checks:rounds", "round.walk"),
    Way(_("Papers"), "papers", "papers:papers", "paper.see"),
)


def page(request: HttpRequest) -> dict[str, Any]:
    """The context of the base page; nothing is asked of the database before it is shown."""
    actor = getattr(request, "actor", None)
    theme = request.COOKIES.get("theme")
    return {
        "society": SimpleLazyObject(Society.load),
        "actor": actor,
        "role_words": ", ".join(str(ROLE_WORDS[role]) for role in sorted(actor.roles)) if actor else "",
        "main_ways": [_shown(way, request.path) for way in WAYS if actor and actor.person and actor.may(way.permission)],
        "theme": theme if theme in THEMES else "",
    }


def _shown(way: Way, path: str) -> dict[str, Any]:
    address = reverse(way.route)
    here = path == address if address == "/" else path.startswith((address, way.also or address))
    return {"name": way.name, "icon": way.icon, "address": address, "here": here}
