"""One person's unfinished check, saved at every touch.

Not acts: a draft is no record of the collection, nobody else sees it, and it is cleared when the check
is recorded.
"""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils.translation import gettext_lazy as _

from collection.objects.models import Object
from conservation.checks import drafting
from conservation.checks.models import ConditionCheck, Draft, Stop
from museum import clock
from museum.errors import DomainError, Invalid, NotFound
from museum.ids import uuid7
from museum.people.actor import Actor

#: a draft with more than this is no check of one object
MOST_SEEN = 300


class StoredAlready(DomainError):
    """Something is said in a check that was finished meanwhile, on another page or device."""

    code = "check_stored"
    template = _("This check was stored meanwhile. What you said just now is not in it; open the check anew to add it.")


def draft_of(actor: Actor, object_id: UUID) -> Draft:
    """The person's draft for an object they may see; where there is none, one that nothing was said in yet and nobody keeps. Raises Forbidden."""
    actor.demand("check.record")
    return Draft.objects.filter(person_id=actor.someone, object_id=object_id).first() or _new(actor, object_id, uuid7())


def touch(actor: Actor, object_id: UUID, change: Callable[[dict[str, Any]], dict[str, Any]], *, check: UUID | None) -> Draft:
    """Applies one operation of `drafting` to the draft, under its lock. The first one begins it, as the check of this key.

    Raises NotFound where there is none and no key, StoredAlready where the check of this key is finished.
    """
    actor.demand("check.record")
    with transaction.atomic():
        draft = _locked(actor, object_id) or _begun(actor, object_id, check)
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


def _locked(actor: Actor, object_id: UUID) -> Draft | None:
    return Draft.objects.select_for_update().filter(person_id=actor.someone, object_id=object_id).first()


def _begun(actor: Actor, object_id: UUID, check: UUID | None) -> Draft:
    """The draft kept from now on; of two first touches at once the later finds that of the earlier."""
    if check is None or not Object.objects.visible_to(actor).filter(pk=object_id).exists():
        raise NotFound()
    if ConditionCheck.objects.filter(pk=check).exists():
        raise StoredAlready
    new = _new(actor, object_id, check)
    stop = Stop.objects.filter(object=object_id, claimed_by=actor.person, done_by=None, left_out="", round__closed_at=None).order_by("-claimed_until").first()
    begun = {"sort": new.sort, "content": new.content, "version": new.version, "round_stop": stop}
    Draft.objects.get_or_create(person_id=actor.someone, object_id=object_id, defaults=begun)
    if (draft := _locked(actor, object_id)) is None:
        raise StoredAlready
    return draft


def _new(actor: Actor, object_id: UUID, check: UUID) -> Draft:
    content = drafting.begin(str(check), clock.now().isoformat())
    return Draft(person_id=actor.someone, object_id=object_id, sort=ConditionCheck.Sort.FULL, content=content, version=0)
