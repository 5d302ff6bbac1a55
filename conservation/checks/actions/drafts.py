"""One person's unfinished check, saved at every change."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from collection.objects.models import Object
from conservation.checks.models import ConditionCheck, Draft
from museum import clock
from museum.errors import Invalid, NotFound, VersionConflict
from museum.people.actor import Actor

#: a draft larger than this is no check
MOST_BYTES = 400_000


def save_draft(actor: Actor, object_id: UUID, *, sort: str, content: Mapping[str, Any], version: int) -> Draft:
    """Keeps what a person has entered so far; nobody else sees it and no fact comes of it.

    Not an act: a draft is no record of the collection and is cleared when the check is recorded.
    `version` is that of the draft the device last saw (0 for none); where another device of the same
    person saved since, VersionConflict carries both, and the device merges zone by zone.
    """
    actor.demand("check.record")
    if sort not in ConditionCheck.Sort.values:
        raise Invalid(field="sort")
    if not Object.objects.visible_to(actor).filter(pk=object_id).exists():
        raise NotFound()
    fresh, made = Draft.objects.get_or_create(
        person_id=actor.person, object_id=object_id, defaults={"sort": sort, "content": dict(content)}
    )
    if made:
        return fresh
    moved = Draft.objects.filter(pk=fresh.pk, version=version).update(
        sort=sort, content=dict(content), version=version + 1, saved_at=clock.now()
    )
    if not moved:
        raise VersionConflict(who=actor.name, theirs=fresh.content, mine=dict(content), version=fresh.version)
    fresh.refresh_from_db()
    return fresh


def drop_draft(actor: Actor, object_id: UUID) -> None:
    """Throws a draft away on the person's word."""
    actor.demand("check.record")
    Draft.objects.filter(person_id=actor.person, object_id=object_id).delete()
