"""Things that tests take off the shelf: made through the actions, like everything else."""

from collections.abc import Sequence
from uuid import UUID

from collection.objects.actions.objects import create_object
from collection.objects.models import Object
from collection.objects.queries import zones_of
from conservation.checks.entry import CheckEntry, Seen, ZoneKey
from locations.places.actions import make_place
from locations.places.models import Place
from museum import clock
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor

NO_TO_ALL = {str(n): "no" for n in range(1, 11)}


def helmet(
    number: str = "1974.12.3",
    *,
    kind: str = "civil_defence",
    name: str = "civil-defence helmet",
    materials: Sequence[str] = ("steel", "paint", "leather"),
    by: Actor = PROGRAM,
) -> Object:
    """A helmet with its number."""
    return create_object(by, object_id=uuid7(), kind=kind, number=number, said={"name": name}, materials=list(materials), whose="own")


def shelf() -> tuple[Place, Place, Place]:
    """A building, a room in it, a shelf in that."""
    hall = make_place(PROGRAM, place_id=uuid7(), level="building", code="H", name="Hose hall")
    store = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-S", name="Cold store", parent_id=hall.pk, use="store")
    return hall, store, make_place(PROGRAM, place_id=uuid7(), level="shelf", code="H-S-1", name="Shelf 1", parent_id=store.pk)


def zone(thing: Object, code: str) -> ZoneKey:
    """A zone of the main component."""
    found = next(z for z in zones_of(thing) if z.code == code)
    return ZoneKey(found.component_id, found.code)


def seen(
    thing: Object,
    code: str,
    term: str,
    percent: str = "2",
    *,
    severity: int = 2,
    activity: int | None = 1,
    change: str = "new",
    finding: UUID | None = None,
    material: str = "steel",
) -> Seen:
    """One observation."""
    from decimal import Decimal

    return Seen(uuid7(), finding or uuid7(), zone(thing, code), term, change, material, Decimal(percent), severity, activity)


def full_check(thing: Object, *observations: Seen, key: UUID | None = None, screen: dict[str, str] | None = None, **more: object) -> CheckEntry:
    """A full check that answers every zone: findings where something is seen, else nothing."""
    found = {str(one.zone) for one in observations}
    looks = {z.key: "findings" if z.key in found else "nothing" for z in zones_of(thing)}
    return CheckEntry(
        id=key or uuid7(), object_id=thing.pk, sort="full", happened_on=clock.today(), happened_at=clock.now(), looks=looks, seen=observations,
        screen=NO_TO_ALL if screen is None else screen or None, **more,  # type: ignore[arg-type]
    )  # fmt: skip
