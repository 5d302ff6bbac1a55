"""How far back the facts of the climate may lie: before, a year is mistyped. What lies to come each action refuses in its own words."""

from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from locations.climate.files.reading import EARLIEST
from museum import clock
from museum.errors import Invalid


@dataclass(frozen=True, slots=True)
class NotBefore:
    """The first day, and what is said of an earlier one."""

    day: date
    words: Promise


#: what people read off, or saw happen (ours)
PEOPLE: Final = NotBefore(date(1950, 1, 1), _("This lies before %(year)s. Look at the year again."))
#: what tells of a logger: as far back as its files are taken
LOGGERS: Final = NotBefore(
    datetime.fromtimestamp(EARLIEST, UTC).date(), _("This lies before %(year)s, and no logger is that old. Look at the year again."),
)  # fmt: skip


def demand_not_before(first: NotBefore, when: date | datetime, field: str) -> None:
    """Raises Invalid for a day, or an instant, before the first that may be."""
    if when < (clock.start_of(first.day) if isinstance(when, datetime) else first.day):
        raise Invalid(first.words, field=field, year=str(first.day.year))
