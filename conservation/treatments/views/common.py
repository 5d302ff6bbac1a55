"""What the pages of treatment share: the thing, its photographs of today, a refusal told on the next page."""

from collections.abc import Callable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest

from collection.objects.models import Object, Photograph
from collection.objects.queries import photographs_of
from museum.errors import DomainError, NotFound
from museum.people.actor import Actor


def seen_object(actor: Actor, object_id: UUID) -> Object:
    """The object, if this person may see it. Raises NotFound."""
    thing = Object.objects.visible_to(actor).select_related("card", "kind").filter(pk=object_id).first()
    if thing is None:
        raise NotFound
    return thing


def taken_since(object_id: UUID, instant: datetime) -> list[Photograph]:
    """The photographs of a thing that were kept since then."""
    return list(photographs_of("object", object_id).filter(recorded_at__gte=instant))


def carried_out(request: HttpRequest, perform: Callable[[], Any], said: str) -> Any:
    """What an action answers, or nothing where it was refused; either is told on the next page."""
    try:
        row = perform()
    except NotFound:
        raise
    except DomainError as refused:
        messages.error(request, refused.sentence)
        return None
    if said:
        messages.success(request, said)
    return row
