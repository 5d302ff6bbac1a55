"""One person's unfinished check, saved at every touch.

Not acts: a draft is no record of the collection, nobody else sees it, and it is cleared when the check
is recorded.
"""

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.db import transaction

from collection.objects.models import Object
from conservation.checks import drafting
from conservation.checks.models import ConditionCheck, Draft
from museum import clock
from museum.errors import Invalid, NotFound
from museum.ids import uuid7
from museum.people.actor import Actor

#: a draft with more than this is no check of one object
MOST_SEEN = 300
OPENED_KEPT = timedelta(days=2)


def draft_of(actor: Actor, object_id: UUID, *, sort: str, stop: UUID | None = None) -> Draft:
    """The person's draft for this object, begun now if there is none. Raises NotFound, Forbidden."""
    actor.demand("check.record")
    if sort not in ConditionCheck.Sort.values:
        raise Invalid(field="sort")
    if not Object.objects.visible_to(actor).filter(pk=object_id).exists():
        raise NotFound()
    content = drafting.begin(str(uuid7()), clock.now().isoformat())
    draft, _made = Draft.objects.get_or_create(person_id=actor.someone, object_id=object_id, defaults={"sort": sort, "content": content, "round_stop_id": stop})
    if draft.sort != sort:
        Draft.objects.filter(pk=draft.pk).update(sort=sort)
        draft.sort = sort
    return draft


def touch(actor: Actor, object_id: UUID, change: Callable[[dict[str, Any]], dict[str, Any]]) -> Draft:
    """Applies one operation of `drafting` to the draft, under its lock. Raises NotFound when there is none."""
    actor.demand("check.record")
    with transaction.atomic():
        draft = Draft.objects.select_for_update().filter(person_id=actor.someone, object_id=object_id).first()
        if draft is None:
            raise NotFound()
        draft.content = change(draft.content)
        if len(draft.content["seen"]) > MOST_SEEN:
            raise Invalid(field="seen")
        draft.version += 1
        draft.saved_at = clock.now()
        draft.save(update_fields=["content", "version", "saved_at"])
    return draft


def drop_draft(actor: Actor, object_id: UUID) -> None:
    """Throws a draft away on the person's word."""
    actor.demand("check.record")
    Draft.objects.filter(person_id=actor.someone, object_id=object_id).delete()


def clear_opened() -> int:
    """Removes the drafts that were opened and never touched, some days old; answers how many."""
    return Draft.objects.filter(version=1, saved_at__lt=clock.now() - OPENED_KEPT).delete()[0]
