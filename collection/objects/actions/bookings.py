"""Booking a thing for a loan, a display, a move, work or use; changing that; taking it back."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils.translation import gettext_lazy as _

from collection.objects.actions.common import visible_object
from collection.objects.bookings import beside
from collection.objects.models import Booking, Component
from museum.errors import DomainError, Invalid, NotFound
from museum.people.action import Act, action, claim_version

PLANS = ("kind", "standing", "from_on", "until_on", "purpose")


class LentAlready(DomainError):
    """Two firm loans of one part on the same day."""

    code = "lent_already"
    template = _("It is firmly lent from %(from_on)s until %(until_on)s already. Nothing was stored. Choose other days, or book it as asked for.")


@action("objects.book", may="booking.make")
def book(
    act: Act,
    object_id: UUID,
    *,
    booking_id: UUID,
    kind: str,
    from_on: date,
    until_on: date,
    standing: str = Booking.Standing.ASKED,
    purpose: str = "",
    component_id: UUID | None = None,
) -> Booking:
    """Plans a use of a thing, or of one part of it; both days included. Raises Invalid, NotFound, LentAlready."""
    thing = visible_object(act, object_id)
    parts = Component.objects.filter(object=thing)
    part = parts.filter(pk=component_id).first() if component_id else parts.get(sort=Component.Sort.MAIN)
    if part is None:
        raise NotFound
    booking = Booking(
        pk=booking_id, object=thing, component=part, kind=kind, standing=standing, from_on=from_on, until_on=until_on,
        purpose=purpose.strip(), booked_by_id=act.actor.person, booked_at=act.now,
    )  # fmt: skip
    _store(booking, new=True)
    act.wrote("booking.made", booking, after=_plan(booking), about=[("object", thing.pk)])
    return booking


@action("objects.change_booking", may="booking.make")
def change_booking(act: Act, booking_id: UUID, *, version: int, changes: Mapping[str, Any], reason: str) -> Booking:
    """Changes days, kind, standing or purpose, with the reason. Raises VersionConflict, Invalid, NotFound, LentAlready."""
    booking = _claim(act, booking_id, version, {name: value for name, value in changes.items() if name in PLANS}, reason)
    before = _plan(booking)
    for name in PLANS:
        setattr(booking, name, changes.get(name, getattr(booking, name)))
    if before == _plan(booking):
        return booking
    booking.version += 1
    _store(booking)
    act.wrote("booking.changed", booking, before=before, after=_plan(booking), reason=reason.strip(), about=[("object", booking.object_id)])
    return booking


@action("objects.cancel_booking", may="booking.make")
def cancel_booking(act: Act, booking_id: UUID, *, version: int, reason: str) -> Booking:
    """Takes a booking back, with the reason; it stays in the history."""
    booking = _claim(act, booking_id, version, {"standing": Booking.Standing.CANCELLED.value}, reason)
    before = _plan(booking)
    booking.standing = Booking.Standing.CANCELLED
    booking.version += 1
    booking.save(update_fields=["standing", "version"])
    act.wrote("booking.cancelled", booking, before=before, after=_plan(booking), reason=reason.strip(), about=[("object", booking.object_id)])
    return booking


def _claim(act: Act, booking_id: UUID, version: int, mine: Mapping[str, Any], reason: str) -> Booking:
    found = Booking.objects.filter(pk=booking_id).first()
    if found is None:
        raise NotFound
    visible_object(act, found.object_id)
    if not reason.strip():
        raise Invalid(_("Say why the plan changes."), field="reason")
    booking = claim_version(Booking.objects.all(), booking_id, version, mine)
    if booking.standing == Booking.Standing.CANCELLED:
        raise Invalid(_("This booking was cancelled before. Make a new one."), field="standing")
    return booking


def _store(booking: Booking, *, new: bool = False) -> None:
    """Writes it, if its words and days are good. The database refuses a second firm loan on a day, whoever comes second."""
    if booking.kind not in Booking.Kind.values or booking.standing not in (Booking.Standing.ASKED, Booking.Standing.FIRM):
        raise Invalid(_("Say what is planned, and whether it is asked for or firm."), field="kind")
    if booking.until_on < booking.from_on:
        raise Invalid(_("It ends before it begins: the last day is on or after the first."), field="until_on")
    try:
        with transaction.atomic():
            booking.save(force_insert=new)
    except IntegrityError as refused:
        if "lent_once_at_a_time" not in str(refused):
            raise
        other = beside(booking).filter(kind=Booking.Kind.LOAN, standing=Booking.Standing.FIRM).first()
        days = {name: getattr(other or booking, name).isoformat() for name in ("from_on", "until_on")}
        raise LentAlready(**days) from None


def _plan(booking: Booking) -> dict[str, Any]:
    return {name: str(getattr(booking, name)) for name in PLANS} | {"component": str(booking.component_id)}
