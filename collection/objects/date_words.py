"""Two bounds of a date as people read them: 'between 1931 and 1938', never days of a calendar for machines."""

from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext as _


def between(first: str | None, last: str | None) -> str:
    """The earliest and the latest day, as ISO text or none, in words; whole years are told as years; '' for neither."""
    if not first and not last:
        return ""
    if not first or not last:
        bound = _day(first, opening=True) if first else _day(last or "", opening=False)
        return _("not before %(day)s") % {"day": bound} if first else _("not after %(day)s") % {"day": bound}
    if first == last:
        return _day(first, opening=None)
    if first[:4] == last[:4] and first.endswith("-01-01") and last.endswith("-12-31"):
        return first[:4]
    return _("between %(first)s and %(last)s") % {"first": _day(first, opening=True), "last": _day(last, opening=False)}


def _day(iso: str, *, opening: bool | None) -> str:
    """A day in words; as its year alone where it opens or closes one. What no calendar of days holds stays as it is."""
    try:
        day = date.fromisoformat(iso)
    except ValueError:
        return iso
    edge = {True: (1, 1), False: (12, 31), None: None}[opening]
    return f"{day.year}" if (day.month, day.day) == edge else date_format(day, "DATE_FORMAT")
