"""Days of the proleptic Gregorian calendar in years counted as ISO 8601 does: 0 is 1 BC, -399 is 400 BC."""

from calendar import isleap
from datetime import date
from typing import Final, NamedTuple

_DAYS: Final = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


class Day(NamedTuple):
    """A day, before our era too, where `datetime.date` ends. Days compare in order of time."""

    year: int
    month: int
    day: int

    def __str__(self) -> str:
        return f"{year_text(self.year)}-{self.month:02}-{self.day:02}"

    def as_date(self) -> date | None:
        """The day as the framework's fields hold it; None outside the years 1 to 9999."""
        return date(*self) if 1 <= self.year <= 9999 else None

    @property
    def before(self) -> "Day":
        """The day before."""
        if self.day > 1:
            return Day(self.year, self.month, self.day - 1)
        year, month = (self.year, self.month - 1) if self.month > 1 else (self.year - 1, 12)
        return last_day(year, month)

    @property
    def after(self) -> "Day":
        """The day after."""
        if self.day < days_in_month(self.year, self.month):
            return Day(self.year, self.month, self.day + 1)
        return Day(self.year, self.month + 1, 1) if self.month < 12 else Day(self.year + 1, 1, 1)


#: sorts after every day: where a latest day is missing
END_OF_TIME: Final = Day(1_000_000, 1, 1)


def days_in_month(year: int, month: int) -> int:
    """28 to 31; leap years by the Gregorian rule in every year."""
    return 29 if month == 2 and isleap(year) else _DAYS[month - 1]


def last_day(year: int, month: int) -> Day:
    """The last day of a month."""
    return Day(year, month, days_in_month(year, month))


def year_text(year: int) -> str:
    """A year as EDTF writes it: 1938, 0044, -0399, Y12000."""
    if abs(year) > 9999:
        return f"Y{year}"
    return f"{'-' if year < 0 else ''}{abs(year):04}"


def in_order(earliest: Day | None, latest: Day | None) -> tuple[Day, Day]:
    """What dates are sorted by: earliest, then latest day.

    A missing earliest day sorts as the latest, a missing latest as the end of time: what is unknown comes last.
    """
    end = latest or END_OF_TIME
    return earliest or end, end
