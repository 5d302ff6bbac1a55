"""The days that a paper is about, as somebody typed them."""

from dataclasses import dataclass
from datetime import date
from typing import Final

from django.utils.translation import gettext_lazy as _

from museum import clock
from museum.errors import Invalid

EARLIEST: Final = date(2000, 1, 1)


@dataclass(frozen=True, slots=True)
class Period:
    """From the first day to the last, both included."""

    first: date
    last: date

    @property
    def asked(self) -> dict[str, str]:
        """As the options of a paper, to be asked for again."""
        return {"begin": self.first.isoformat(), "end": self.last.isoformat()}

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1


def period(begin: str, end: str, *, most: int = 3660) -> Period:
    """What was typed; where nothing was, from the first of January of the last day to that day, and to today. Raises Invalid."""
    last = _day(end, "end") if end else clock.today()
    first = _day(begin, "begin") if begin else last.replace(month=1, day=1)
    if last > clock.today():
        raise Invalid(_("The last day has not come yet. Choose today or an earlier day; nothing was issued."), field="end")
    if first > last:
        raise Invalid(_("The first day comes after the last. Exchange them; nothing was issued."), field="begin")
    if first < EARLIEST or (last - first).days >= most:
        raise Invalid(_("This is too long a time for one paper: at most %(days)s days, from the year 2000 on."), field="begin", days=most)
    return Period(first, last)


def _day(text: str, field: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Invalid(_("'%(text)s' is no day of the calendar. Write it as 2026-11-25; nothing was issued."), field=field, text=text) from None
