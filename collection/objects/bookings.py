"""What is planned with things: the questions that pages, rules and other parts ask of bookings."""

from datetime import date, timedelta
from typing import Final
from uuid import UUID

from django.db.models import QuerySet

from collection.objects.models import Booking
from museum.prepared import ANY_DAY, ANY_KEY, Prepared

#: uses that make a finding more pressing when they come near (loan, move, display)
STRAINS: Final = (Booking.Kind.LOAN, Booking.Kind.MOVE, Booking.Kind.DISPLAY)


def planned() -> "QuerySet[Booking]":
    """What is asked for or firm, the soonest first."""
    return Booking.objects.exclude(standing=Booking.Standing.CANCELLED).order_by("from_on", "pk")


def planned_for(object_id: UUID, today: date) -> "QuerySet[Booking]":
    """What is still to come or under way for one thing."""
    return planned().filter(object_id=object_id, until_on__gte=today).select_related("component", "booked_by")


def next_use(object_id: UUID, today: date) -> Booking | None:
    """The next loan, move or display that begins today or later; what has begun is planned no more."""
    return _NEXT.first(object_id, today)


_NEXT = Prepared(lambda key, today: planned().filter(object_id=key, kind__in=STRAINS, from_on__gte=today)[:1], ANY_KEY, ANY_DAY)


def near(since: date, today: date, days: int) -> set[UUID]:
    """Things with a use that begins within so many days, or that began since a day."""
    within = planned().filter(kind__in=STRAINS, from_on__range=(since - timedelta(1), today + timedelta(days)))
    return set(within.values_list("object_id", flat=True))


def beside(booking: Booking) -> "QuerySet[Booking]":
    """What else is planned with the same part on days of this one."""
    same = planned().filter(component_id=booking.component_id, from_on__lte=booking.until_on, until_on__gte=booking.from_on)
    return same.exclude(pk=booking.pk)
