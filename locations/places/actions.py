"""Places and movements. What has happened is always stored; what breaks a rule comes back as a warning."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils.translation import gettext_lazy as _

from collection.objects.models import Component, Object
from conservation.rules.placing import REFUSE, Objection
from locations.places import derived, placing
from locations.places.deciding import put_decision
from locations.places.models import Misplaced, Movement, Place, Stay
from locations.places.queries import objects_below, path_of, places_below
from museum import clock
from museum.errors import DomainError, Invalid, NotFound
from museum.history.record import lock
from museum.people.action import Act, action, claim_version
from museum.people.actor import Actor

#: which level may stand in which
WITHIN = {"room": ("building",), "unit": ("room",), "shelf": ("unit", "room"), "box": ("shelf", "unit", "room")}

#: objects named by one entry at the most
MOST_TOLD = 900
#: warnings after the move of one box at the most
MOST_WARNED = 10
#: of the walk among its siblings
LAST_TURN = 32_767
HIGHEST_CM = 1_000
About = Place | Object | tuple[str, UUID]


class CodeTaken(DomainError):
    """Two open places would have one code."""

    code = "code_taken"
    template = _("Another place has the code %(code)s. Give this one its own, since it stands on the label.")


def may_set_up(actor: Actor) -> bool:
    """Whether this person may make places today; who may only set up, as long as nothing is placed."""
    return actor.may("place.edit") or (actor.may("place.set_up") and not Movement.objects.exists())


def demand_set_up(actor: Actor) -> None:
    """Raises Forbidden for whoever may set up places, and no more, once something is placed: from then on places tell where things are."""
    if not may_set_up(actor):
        actor.demand("place.edit")


@action("places.make_place", may="place.set_up")
def make_place(
    act: Act, *, place_id: UUID, level: str, code: str, name: str, parent_id: UUID | None = None, use: str = "", mobile: bool = False,
    closed_container: bool = False, walk: int = 0,
) -> Place:  # fmt: skip
    """Adds a place. A mobile one (box, crate, trolley) has no parent: it is moved to where it stands.

    The administrator may do so while nothing is placed yet. Raises Invalid, CodeTaken, NotFound, Forbidden.
    """
    demand_set_up(act.actor)
    parent = _parent(parent_id, level, mobile)
    if level not in Place.Level.values:
        raise Invalid(_("Choose what kind of place it is."), field="level")
    _demand_names(code, name, use, walk)
    place = Place(
        id=place_id, parent=parent, level=level, code=code.strip(), name=name.strip(), use=use, mobile=mobile,
        closed_container=closed_container, walk=walk,
    )  # fmt: skip
    try:
        with transaction.atomic():
            place.save(force_insert=True)
    except IntegrityError:
        raise CodeTaken(code=code.strip()) from None
    act.wrote("place.made", place, after={"level": level, "code": place.code, "name": place.name, "use": use}, about=[place])
    if not mobile:
        derived.order_tree()
    return place


def _demand_names(code: str, name: str, use: str, walk: int) -> None:
    if use not in ("", *Place.Use.values):
        raise Invalid(_("Choose what the place is for."), field="use")
    if not code.strip() or not name.strip():
        raise Invalid(_("A place needs a code, as on its label, and a name."), field="code")
    if not 0 <= walk <= LAST_TURN:
        raise Invalid(_("Its turn in the walk is a whole number from 0 to %(last)s."), field="walk", last=LAST_TURN)


def _parent(parent_id: UUID | None, level: str, mobile: bool) -> Place | None:
    if mobile or level == Place.Level.BUILDING:
        if parent_id is not None:
            raise Invalid(_("A building stands by itself; a box is put somewhere by moving it."), field="parent")
        return None
    parent = Place.objects.filter(pk=parent_id, closed_on=None).first() if parent_id else None
    if parent is None or parent.level not in WITHIN.get(level, ()):
        raise Invalid(_("Choose in which place it is: a room in a building, a unit in a room, a shelf in a unit."), field="parent")
    return parent


def _changed(place_id: UUID, version: int, mine: dict[str, Any]) -> tuple[Place, dict[str, Any]]:
    """An open place with new values, not saved yet, and what stood before. Raises NotFound, VersionConflict."""
    if not Place.objects.filter(pk=place_id).exists():
        raise NotFound()
    place = claim_version(Place.objects.filter(closed_on=None), place_id, version, mine)
    before = {field: getattr(place, field) for field in mine}
    for field, value in mine.items():
        setattr(place, field, value)
    place.version += 1
    return place, before


@action("places.change_place", may="place.edit")
def change_place(act: Act, place_id: UUID, *, version: int, code: str, name: str, use: str, walk: int) -> Place:
    """Renames a place, changes its use or its turn in the walk. It never changes its parent: close it and make another."""
    _demand_names(code, name, use, walk)
    mine = {"code": code.strip(), "name": name.strip(), "use": use, "walk": walk}
    place, before = _changed(place_id, version, mine)
    try:
        with transaction.atomic():
            place.save(update_fields=[*mine, "version"])
    except IntegrityError:
        raise CodeTaken(code=code) from None
    inside = objects_below(place.pk)
    act.wrote("place.changed", place, before=before, after=mine, about=[place, *_told_of(inside)])
    derived.order_tree()
    derived.tell_cards(inside)
    return place


@action("places.describe_place", may="place.edit")
def describe_place(
    act: Act, place_id: UUID, *, version: int, spot: str = "", sun: bool = False, off_floor_cm: int | None = None, closed_container: bool = False
) -> Place:  # fmt: skip
    """Says what a place is like: where in the house, sun, height off the floor, closed. What stands there is judged anew."""
    if spot not in ("", *Place.Spot.values):
        raise Invalid(_("Choose where in the house it is."), field="spot")
    if off_floor_cm is not None and not 0 <= off_floor_cm <= HIGHEST_CM:
        raise Invalid(_("Its height off the floor is a whole number of centimetres, at most %(most)s."), field="off_floor_cm", most=HIGHEST_CM)
    mine = {"spot": spot, "sun": sun, "off_floor_cm": off_floor_cm, "closed_container": closed_container}
    place, before = _changed(place_id, version, mine)
    place.save(update_fields=[*mine, "version"])
    inside = objects_below(place.pk)
    act.wrote("place.changed", place, before=before, after=mine, about=[place, *_told_of(inside)])
    placing.restate(inside)
    return place


@action("places.close_place", may="place.edit")
def close_place(act: Act, place_id: UUID, *, reason: str) -> Place:
    """Closes an empty place; it takes nothing any more. Raises Invalid while something stands there."""
    lock(f"place:{place_id}")
    place = Place.objects.select_for_update().filter(pk=place_id, closed_on=None).first()
    if place is None:
        raise NotFound()
    if (inside := len(objects_below(place_id))) or len(places_below(place_id)) > 1:
        raise Invalid(_("%(n)s things or places are in it. Move or close them first."), field="place", n=inside or _("some"))
    place.closed_on, place.version = clock.day_of(act.now), place.version + 1
    place.save(update_fields=["closed_on", "version"])
    act.wrote("place.closed", place, reason=reason, about=[place])
    return place


@dataclass(frozen=True, slots=True)
class _Going:
    """Where something went, when, and why."""

    to: str
    place: Place | None
    on: date
    at: datetime | None
    reason: str
    return_by: date | None
    warnings: list[str]
    resting: str = Movement.Resting.SUPPORT

    @property
    def instant(self) -> datetime:
        """A day without an hour counts from its first instant."""
        return self.at or clock.start_of(self.on)


@action("places.move_object", may="movement.record")
def move_object(
    act: Act, object_id: UUID, *, to: str = Movement.To.PLACE, place_id: UUID | None = None, parts: Sequence[UUID] = (), reason: str = "",
    happened_on: date | None = None, happened_at: datetime | None = None, return_by: date | None = None,
    resting: str = Movement.Resting.SUPPORT, planned: bool = False, accepts: str = "",
) -> list[str]:  # fmt: skip
    """Records that an object went somewhere: with `parts` only those components, else the whole and all that stood with it.

    A part whose place was never told goes with the whole. Answers warnings; a move that has happened is stored whatever they
    say, and what the rules say against it is kept until it is put right. With `planned` it is not there yet: the rules may
    refuse it. `accepts` says who decided on humidities that do not meet there, and why: it is kept for this thing and place.
    Raises Invalid, NotFound, PlacingRefused.
    """
    thing = Object.objects.visible_to(act.actor).filter(pk=object_id).first()
    if thing is None:
        raise NotFound()
    if resting not in Movement.Resting.values:
        raise Invalid(_("Say how it rests."), field="resting")
    going = replace(_going(act, to, place_id, happened_on, happened_at, reason, return_by), resting=resting)
    _lock({f"object:{object_id}": object_id} | ({f"place:{place_id}": place_id} if place_id else {}))
    rows = Component.objects.filter(object=thing, sort__in=Component.PLACED).order_by("pk")
    moving = list(rows.filter(pk__in=list(parts))) if parts else _that_stood_together(list(rows), going.instant)
    if not moving or len(moving) < len(set(parts)):
        raise Invalid(_("Choose at least one part that stands by itself."), field="parts")
    spot = _spot(going) if any(component.sort == Component.Sort.MAIN for component in moving) else None
    against = placing.judged({object_id: spot}, happened=not planned)[object_id] if spot else []
    if planned:
        placing.demand(against, reason, accepts)
    if spot and accepts.strip() and placing.of_humidity(against):
        put_decision(act, object_id, spot, against, accepts)
    company = placing.company([object_id])
    for component in moving:
        _record(act, going, component=component, about=[thing, *([going.place] if going.place else [])], against=against)
    derived.recut(components=[component.pk for component in moving])
    derived.tell_cards([object_id])
    placing.restate({object_id} | company | placing.company([object_id]))
    return [*going.warnings, *(placing.sentence(one) for one in against)]


def _spot(going: _Going) -> placing.Spot | None:
    """Where and how it stands then; None where it is in no place."""
    return placing.Spot(path=path_of(going.place.pk, going.instant), resting=going.resting) if going.place else None


def _that_stood_together(components: list[Component], instant: datetime) -> list[Component]:
    """The main component, those that were where it was, and those whose place was never told."""
    spots = {key: (to, place) for key, to, place in _spots(components, instant)}
    main = next(component for component in components if component.sort == Component.Sort.MAIN)
    spot = spots.get(main.pk)
    return [one for one in components if one.pk == main.pk or one.pk not in spots or spots[one.pk] == spot]


def _spots(components: Iterable[Component], instant: datetime) -> Iterable[tuple[UUID, str, UUID | None]]:
    stays = Stay.objects.filter(component__in=list(components), during__contains=instant, component__isnull=False)
    return stays.values_list("component_id", "to", "place_id")


@action("places.move_box", may="movement.record")
def move_box(
    act: Act, box_id: UUID, *, to: str = Movement.To.PLACE, place_id: UUID | None = None, reason: str = "", happened_on: date | None = None,
    happened_at: datetime | None = None, return_by: date | None = None, planned: bool = False, accepts: str = "",
) -> list[str]:  # fmt: skip
    """Records that a box went somewhere: one movement; its contents go with it and keep their own stays.

    Answers warnings. With `planned` the rules may refuse it for what lies in it; `accepts` as of one thing. Raises Invalid, NotFound, PlacingRefused.
    """
    box = Place.objects.filter(pk=box_id, mobile=True, closed_on=None).first()
    if box is None:
        raise NotFound()
    going = _going(act, to, place_id, happened_on, happened_at, reason, return_by)
    # Two boxes put into each other at once would each see the other outside.
    lock("boxes")
    _lock({f"place:{key}": key for key in (box_id, place_id) if key})
    if place_id:
        _demand_outside(box_id, place_id, going.instant)
    contents = set(objects_below(box_id)) | set(objects_below(box_id, going.instant))
    about: list[About] = [box, *([going.place] if going.place else []), *_told_of(contents)]
    if going.place is not None and (planned or accepts.strip()):
        spots = placing.carried(box_id, contents, going.place)
        against = placing.judged(spots, happened=not planned)
        if planned:
            placing.demand([one for told in against.values() for one in told], reason, accepts)
        for key in sorted(key for key, told in against.items() if accepts.strip() and placing.of_humidity(told)):
            put_decision(act, key, spots[key], against[key], accepts)
    company = placing.company(contents)
    _record(act, going, mobile=box, about=about)
    derived.recut(mobiles=[box_id])
    derived.tell_cards(contents)
    placing.restate(contents | company | placing.company(contents))
    return [*going.warnings, *_now_wrong(contents)]


def _demand_outside(box_id: UUID, place_id: UUID, instant: datetime) -> None:
    """Neither at that instant nor now does the place lie in the box. The caller holds the lock of boxes."""
    if place_id in places_below(box_id, instant) or place_id in places_below(box_id):
        raise Invalid(_("A box cannot stand in itself."), field="place")


def _now_wrong(contents: Iterable[UUID]) -> list[str]:
    """What is refused to what lies in a box where it now stands."""
    wrong = Misplaced.objects.filter(object_id__in=list(contents), level=REFUSE).select_related("object__card").order_by("pk")[:MOST_WARNED]
    return [f"{one.object.card.number} {one.object.card.name}: {placing.sentence(placing.read_row(one))}" for one in wrong]


@action("places.correct_move", may="movement.record")
def correct_move(act: Act, movement_id: UUID, *, reason: str, place_id: UUID | None = None) -> Movement:
    """Corrects a movement told wrongly: it went elsewhere (`place_id`), or it never happened. Raises Invalid, NotFound.

    Both are kept, the wrong one and the correction.
    """
    # As in `move_box`; before the others, since it may be a box.
    lock("boxes")
    lock(f"movement:{movement_id}")
    old = Movement.objects.select_related("component").filter(pk=movement_id, corrected_by=None, withdraws=False).first()
    if old is None or (old.component and not Object.objects.visible_to(act.actor).filter(pk=old.component.object_id).exists()):
        raise NotFound()
    if not reason.strip():
        raise Invalid(_("Say what was wrong."), field="reason")
    place = _destination(Movement.To.PLACE, place_id)[0] if place_id else old.place
    if old.mobile_id and place_id:
        _demand_outside(old.mobile_id, place_id, derived.instant_of(old))
    thing = old.component.object_id if old.component else None
    _lock({f"object:{thing}": thing} if thing else {f"place:{old.mobile_id}": old.mobile_id or movement_id})
    fact = Movement.objects.create(
        act_id=act.id, component=old.component, mobile=old.mobile, to=Movement.To.PLACE if place_id else old.to, place=place,
        reason=reason.strip(), by_id=act.actor.person, happened_on=old.happened_on, happened_at=old.happened_at, corrects=old,
        withdraws=place_id is None, recorded_at=act.now, resting=old.resting,
    )  # fmt: skip
    touched = [thing] if thing else objects_below(old.mobile_id) if old.mobile_id else []
    before, after = {"place": old.place_id}, {"place": place_id}
    company = placing.company(touched)
    act.wrote("movement.corrected", fact, before=before, after=after, reason=reason.strip(), about=_told_of(touched))
    derived.recut(components=[old.component_id] if old.component_id else [], mobiles=[old.mobile_id] if old.mobile_id else [])
    derived.tell_cards(touched)
    placing.restate({*touched} | company | placing.company(touched))
    return fact


def _lock(keys: dict[str, UUID]) -> None:
    """Places and objects, in the order of their keys."""
    for name in sorted(keys, key=lambda name: keys[name]):
        lock(name)


def _told_of(objects: Iterable[UUID]) -> list[tuple[str, UUID]]:
    """The objects whose time-lines show it; a crate of more than these is told of by its own."""
    return [("object", key) for key in sorted(objects)[:MOST_TOLD]]


def _going(
    act: Act, to: str, place_id: UUID | None, on: date | None, at: datetime | None, reason: str, return_by: date | None
) -> _Going:  # fmt: skip
    """What was told of a move. Without a day it is now. Raises Invalid."""
    place, warnings = _destination(to, place_id)
    instant = at if at or on else act.now
    if (instant and instant > act.now) or (on and on > clock.day_of(act.now)):
        raise Invalid(_("This lies in the future. Record a move when it has happened."), field="happened_on")
    return _Going(to, place, on or clock.day_of(instant or act.now), instant, reason.strip(), return_by, warnings)


def _destination(to: str, place_id: UUID | None) -> tuple[Place | None, list[str]]:
    if to not in Movement.To.values:
        raise Invalid(_("Say where it went."), field="to")
    if to != Movement.To.PLACE:
        return None, []
    place = Place.objects.filter(pk=place_id).first() if place_id else None
    if place is None:
        raise Invalid(_("Choose the place from the list; a place is never made from what is typed here."), field="place")
    warnings = []
    if place.closed_on:
        said = _("%(place)s was closed on %(day)s. The move is stored: please give it another place today.")
        warnings.append(str(said) % {"place": place, "day": place.closed_on})
    return place, warnings


def _record(
    act: Act, going: _Going, *, component: Component | None = None, mobile: Place | None = None, about: Sequence[About] = (),
    against: Sequence[Objection] = (),
) -> Movement:  # fmt: skip
    move = Movement.objects.create(
        act_id=act.id, component=component, mobile=mobile, to=going.to, place=going.place, reason=going.reason, by_id=act.actor.person,
        happened_on=going.on, happened_at=going.at, return_by=going.return_by, recorded_at=act.now, resting=going.resting,
        objections=[placing.row(one) for one in against],
    )  # fmt: skip
    after = {"to": going.to, "place": going.place.code if going.place else None, "on": going.on}
    act.wrote("movement.recorded", move, after=after, reason=going.reason, about=about)
    return move
