"""What the actions of the catalogue share: finding and locking what they change."""

from uuid import UUID

from collection.objects.models import Component, Object
from museum.errors import NotFound
from museum.history.record import lock
from museum.people.action import Act


def visible_object(act: Act, object_id: UUID) -> Object:
    """The object, locked; absent where the person may not see it."""
    thing = Object.objects.visible_to(act.actor).select_related("kind").filter(pk=object_id).first()
    if thing is None:
        raise NotFound
    lock(f"object:{object_id}")
    return thing


def component_of(act: Act, component_id: UUID) -> Component:
    """The component, its object locked; absent where the person may not see it."""
    component = Component.objects.select_related("object").filter(pk=component_id).first()
    if component is None:
        raise NotFound
    visible_object(act, component.object_id)
    return component
