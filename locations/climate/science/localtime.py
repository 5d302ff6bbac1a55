"""Clock times of a place as instants: summer time both ways. Zones by their IANA name; rules as the time-zone data of the machine."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from locations.climate.science.values import NoValue


def zone(name: str) -> ZoneInfo:
    """The zone of a name such as Europe/London. Raises NoValue `unknown_zone`."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise NoValue("unknown_zone", given=name) from error


def utc_of(local: datetime, place: ZoneInfo) -> datetime:
    """The instant of a clock time without zone; where the hour comes twice `fold` 0 is the first pass, 1 the second.

    Raises NoValue `no_such_time` for a time that the change to summer time skips.
    """
    instant = local.replace(tzinfo=place).astimezone(UTC)
    if instant.astimezone(place).replace(tzinfo=None, fold=0) != local.replace(fold=0):
        raise NoValue("no_such_time", given=local.isoformat(), zone=place.key)
    return instant


def comes_twice(local: datetime, place: ZoneInfo) -> bool:
    """Whether a clock time (without zone) comes twice, as in the autumn."""
    first, second = (local.replace(tzinfo=place, fold=fold) for fold in (0, 1))
    return (first.utcoffset() or timedelta()) > (second.utcoffset() or timedelta())


def hours_in_day(day: date, place: ZoneInfo) -> float:
    """Hours of a local day: 24, or 23 and 25 where the clock changes."""
    first, last = (datetime.combine(one, time(), place).astimezone(UTC) for one in (day, day + timedelta(days=1)))
    return (last - first) / timedelta(hours=1)


def clock_changes(year: int, place: ZoneInfo) -> list[datetime]:
    """The instants of a year, to the minute, at which the clock changes."""
    changes, last = [], datetime(year, 1, 1, tzinfo=UTC)
    while (last := last + timedelta(days=1)).year == year:
        begin = last - timedelta(days=1)
        if _offset(begin, place) != _offset(last, place):
            changes.append(_change_between(begin, last, place))
    return changes


def _offset(instant: datetime, place: ZoneInfo) -> timedelta | None:
    return instant.astimezone(place).utcoffset()


def _change_between(begin: datetime, end: datetime, place: ZoneInfo) -> datetime:
    while end - begin > timedelta(minutes=1):
        middle = begin + ((end - begin) // timedelta(minutes=2)) * timedelta(minutes=1)
        begin, end = (middle, end) if _offset(middle, place) == _offset(begin, place) else (begin, middle)
    return end
