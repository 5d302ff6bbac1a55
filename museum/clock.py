"""The one place that says what time it is, so that tests and restored copies can say otherwise."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

from django.conf import settings

_fixed: ContextVar[datetime | None] = ContextVar("fixed_now", default=None)


def now() -> datetime:
    """This instant, in UTC."""
    return _fixed.get() or datetime.now(UTC)


def zone() -> ZoneInfo:
    """The society's time zone: its days begin and end there."""
    return ZoneInfo(settings.TIME_ZONE)


def today() -> date:
    """The society's day of this instant."""
    return day_of(now())


def start_of(day: date) -> datetime:
    """The first instant of a day of the society."""
    return datetime.combine(day, time.min, zone())


def day_of(instant: datetime) -> date:
    """The society's day on which an instant falls."""
    return instant.astimezone(zone()).date()


@contextmanager
def at(instant: datetime) -> Iterator[None]:
    """Within the block, `now()` answers this instant."""
    token = _fixed.set(instant.astimezone(UTC))
    try:
        yield
    finally:
        _fixed.reset(token)
