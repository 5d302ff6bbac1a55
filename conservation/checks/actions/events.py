"""Events that ignore the calendar, entered by a person until a sensor tells them."""

from datetime import date, timedelta
from uuid import UUID

from django.utils.translation import gettext as _

from collection.objects.models import Object
from collection.objects.queries import materials_of
from conservation.checks import derived
from conservation.checks.actions.calls import call_for
from conservation.checks.models import Event
from conservation.rules.ruleset import rules_in_force
from conservation.rules.tables import EventRule, event_rules
from locations.climate.days import PEOPLE, demand_not_before
from locations.places.queries import neighbours, objects_below, room_mates
from museum import clock
from museum.errors import Invalid, NotFound
from museum.people.action import Act, action


@action("checks.report_event", may="event.report")
def report_event(act: Act, *, kind: str, happened_on: date, place_id: UUID | None = None, object_id: UUID | None = None, note: str = "") -> Event:
    """Stores that something happened to a place or a thing, and calls for the looks that follow from it.

    Repeatable by the act's key. Raises Invalid for an unknown kind or without a place or thing.
    """
    rule = event_rules().get(kind)
    if rule is None:
        raise Invalid(_("This kind of event is not in the table."), field="kind")
    if happened_on > clock.day_of(act.now):
        raise Invalid(_("This day is still to come. Tell of it when it has happened; what is planned stands with each thing."), field="on")
    demand_not_before(PEOPLE, happened_on, "on")
    if (place_id is None) == (object_id is None):
        raise Invalid(_("Say where it happened: one place, or one thing."), field="place")
    if object_id is not None and not Object.objects.visible_to(act.actor).filter(pk=object_id).exists():
        raise NotFound()
    event = Event.objects.create(
        act_id=act.id, kind=kind, place_id=place_id, object_id=object_id, note=note, happened_on=happened_on,
        recorded_at=act.now, author_id=act.actor.person,
    )  # fmt: skip
    called = _call(act, event, rule)
    about: list[tuple[str, UUID]] = [("place", place_id)] if place_id else [("object", object_id)] if object_id else []
    act.wrote("event.reported", event, after={"kind": kind, "on": happened_on, "note": note, "looks": len(called)}, about=about)
    derived.refresh(called)
    return event


def _call(act: Act, event: Event, rule: EventRule) -> set[UUID]:
    """Looks at what is near at once, at the rest of the room within the days the table says."""
    near, room = (_meant(keys, rule) for keys in _at_risk(event))
    due = event.happened_on + timedelta(days=rule.days)
    call_for(act, near, why="event", sort=rule.sort, due_on=due, reason=rule.reason, source=event.pk)
    later: set[UUID] = set()
    if rule.room_days is not None:
        later = room - near
        room_due = event.happened_on + timedelta(days=rule.room_days)
        call_for(act, later, why="event", sort=rule.sort, due_on=room_due, reason=rule.reason, source=event.pk)
    return near | later


def _meant(keys: set[UUID], rule: EventRule) -> set[UUID]:
    """Damp concerns only what holds material on which mould grows."""
    if not rule.damp_only:
        return keys
    damp = rules_in_force().damp_materials
    return {key for key, materials in materials_of(keys).items() if materials & damp}


def _at_risk(event: Event) -> tuple[set[UUID], set[UUID]]:
    """What is near the event, and everything in its room."""
    if event.object_id is not None:
        return {event.object_id, *neighbours(event.object_id)}, set(room_mates(event.object_id))
    below = set(objects_below(event.place_id)) if event.place_id else set()
    return below, below
