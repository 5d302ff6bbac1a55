"""The days on which the house is open, free of the framework."""

from collections.abc import Collection
from datetime import date, timedelta


def first_open_day(on: date, opening_days: Collection[int]) -> date:
    """The first opening day on or after a day; ISO weekday numbers, none = open every day."""
    if not opening_days:
        return on
    return next(day for n in range(7) if (day := on + timedelta(days=n)).isoweekday() in opening_days)


def next_open_day(after: date, opening_days: Collection[int]) -> date:
    """The first opening day later than a day."""
    return first_open_day(after + timedelta(days=1), opening_days)
