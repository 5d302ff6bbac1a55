"""Things found: entered where they were found, and later known for what they are, with their place."""

from uuid import UUID

from collection.objects.actions import found
from collection.objects.models import Component, Object
from locations.places.actions import move_object
from locations.places.models import Movement, Stay
from museum.people.action import Act, action


@action("places.found", may="things.found")
def enter_where_found(act: Act, *, object_id: UUID, name: str, note: str = "", where: str = "", place_id: UUID | None = None) -> Object:
    """Enters a thing that is in no record, under a temporary number, at the place where it stands. Repeatable by key.

    Raises Invalid.
    """
    thing = found.enter_found(act, object_id=object_id, name=name, note=note, where=where)
    if place_id is not None:
        move_object(act, object_id, place_id=place_id)
    return thing


@action("places.identify", may="catalogue.edit")
def identify(act: Act, object_id: UUID, *, target: UUID, reason: str = "") -> Object:
    """Says that a found thing is one that has a record; that one is from now on where the found thing stands.

    Raises StandsAlone, Invalid, NotFound.
    """
    known = found.merge_found(act, object_id, target=target, reason=reason)
    main = Component.objects.get(object=object_id, sort=Component.Sort.MAIN)
    stay = Stay.objects.filter(component=main, during__contains=act.now, to=Movement.To.PLACE).first()
    if stay is not None:
        move_object(act, target, place_id=stay.place_id, reason=reason)
    return known
