"""What the pages of things share."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from collection.objects.models import Kind, Material, Object
from collection.objects.queries import text_of
from museum.errors import DomainError, NotFound
from museum.people.actor import Actor
from museum.people.doors import actor_of


def thing_for(request: HttpRequest, object_id: UUID) -> Object:
    """The object, if this person may see it. Raises NotFound."""
    seen = Object.objects.visible_to(actor_of(request)).select_related("card", "kind")
    thing = seen.filter(pk=object_id).first()
    if thing is None:
        raise NotFound
    return thing


def acting(request: HttpRequest) -> Actor:
    """Who asks, under the key of the form: a form sent twice is carried out once."""
    return actor_of(request).keyed(key_in(request.POST.get("act")))


def done(request: HttpRequest, act: Callable[[], Any], route: str, *args: Any) -> HttpResponse:
    """Carries out, tells what came of it, goes back."""
    try:
        act()
    except NotFound:
        raise
    except DomainError as refused:
        messages.error(request, refused.sentence)
    else:
        messages.success(request, _("Stored."))
    return redirect(route, *args)


def chosen(request: HttpRequest, acts: dict[str, Callable[[], Any]]) -> Callable[[], Any]:
    """The act that the form names. Raises NotFound."""
    if (act := acts.get(request.POST.get("do", ""))) is None:
        raise NotFound
    return act


def key_in(text: Any) -> UUID | None:
    """A key that was sent, if it is one."""
    try:
        return UUID(str(text))
    except ValueError:
        return None


def sent_key(request: HttpRequest, name: str) -> UUID:
    """A key that the form must have sent. Raises NotFound."""
    if (key := key_in(request.POST.get(name))) is None:
        raise NotFound
    return key


def number_in(text: str | None, otherwise: int) -> int:
    """A whole number that was sent."""
    return int(text) if text and text.isascii() and text.isdecimal() and len(text) < 8 else otherwise


def kinds() -> list[tuple[str, str]]:
    """Kinds to choose from."""
    return [(row.code, text_of(row.texts)) for row in Kind.objects.filter(retired=False).order_by("id")]


def materials() -> list[tuple[str, str]]:
    """Materials to choose from."""
    return [(row.code, text_of(row.texts)) for row in Material.objects.filter(retired=False).order_by("id")]
