"""Marks along a time: hours, days, weeks, months or years of the place's own clock, as many as can be read."""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from typing import Final
from zoneinfo import ZoneInfo

DAY: Final = 86400
#: a mark's sort to the instant and the sort
Mark = tuple[int, str]
Say = Callable[[datetime, str], str]


def sort_of(begin: int, end: int) -> str:
    """What is marked in so long a time."""
    days = (end - begin) / DAY
    return next(sort for most, sort in ((2.5, "hour"), (15, "day"), (62, "week"), (1200, "month"), (10**9, "year")) if days <= most)


def marks(begin: int, end: int, zone: ZoneInfo) -> list[Mark]:
    """The instants to be marked from begin to end, by the clock on the wall there."""
    sort = sort_of(begin, end)
    found = [(int(moment.timestamp()), sort) for moment in _from(datetime.fromtimestamp(begin, zone), sort, datetime.fromtimestamp(end, zone))]
    return [one for one in found if begin <= one[0] <= end]


def _from(first: datetime, sort: str, last: datetime) -> Iterator[datetime]:
    moment = first.replace(hour=0, minute=0, second=0, microsecond=0)
    if sort == "week":
        moment -= timedelta(days=moment.weekday())
    if sort in ("month", "year"):
        moment = moment.replace(day=1, month=moment.month if sort == "month" else 1)
    while moment <= last:
        yield moment
        moment = _after(moment, sort)


def _after(moment: datetime, sort: str) -> datetime:
    if sort == "hour":
        return moment + timedelta(hours=3)
    if sort in ("day", "week"):
        return moment + timedelta(days=1 if sort == "day" else 7)
    later = moment + timedelta(days=32 if sort == "month" else 370)
    return later.replace(day=1, month=later.month if sort == "month" else 1)
