"""The days that an EDTF text spans (ISO 8601-2:2019, EDTF levels 0 and 1 and what we use of level 2).

Read: years (four digits, or Y and more), months, days, seasons 21 to 41; X for unspecified digits at the end of a year,
for a whole month or day; the marks ? ~ % after the whole or beside a member; intervals with open or unknown ends; sets
[...] and {...} with runs. Not read: exponents, significant digits, an X before a digit, hours.
EDTF gives 'about' no width: a year marked ~ or % is widened by the setting of the house, nothing else is.
"""

import re
from typing import NamedTuple

from collection.objects.dates.conventions import SHIPPED, Conventions
from collection.objects.dates.days import Day, days_in_month, last_day

_MARK = "[?~%]?"
_DATE = re.compile(
    rf"(?P<before>{_MARK})(?P<year>Y-?[1-9][0-9]{{4,8}}|-?[0-9X]{{4}})(?P<after>{_MARK})"
    rf"(?:-{_MARK}(?P<month>[0-9]{{2}}|XX){_MARK}(?:-{_MARK}(?P<day>[0-9]{{2}}|XX){_MARK})?)?",
    re.ASCII,
)


class EdtfError(ValueError):
    """The text is not EDTF, or of a kind that is not read here."""


class Bounds(NamedTuple):
    """Earliest and latest day; None where there is none: open, or not known."""

    earliest: Day | None
    latest: Day | None


def bounds(text: str, house: Conventions = SHIPPED) -> Bounds:
    """Earliest and latest day of an EDTF text. Raises EdtfError."""
    if text[:1] + text[-1:] in ("[]", "{}") and len(text) > 2:
        return _set(text[1:-1], house)
    if "/" in text:
        return _interval(text, house)
    return _date(text, house)


def _set(inner: str, house: Conventions) -> Bounds:
    pieces = [_run(piece.strip(), house) for piece in inner.split(",")]
    starts = [piece.earliest for piece in pieces if piece.earliest]
    ends = [piece.latest for piece in pieces if piece.latest]
    whole = len(pieces)
    return Bounds(min(starts) if len(starts) == whole else None, max(ends) if len(ends) == whole else None)


def _run(piece: str, house: Conventions) -> Bounds:
    if ".." not in piece:
        return _date(piece, house)
    first, _dots, last = piece.partition("..")
    if not first and not last:
        raise EdtfError(piece)
    return _ordered(_date(first, house).earliest if first else None, _date(last, house).latest if last else None, piece)


def _interval(text: str, house: Conventions) -> Bounds:
    ends = text.split("/")
    if len(ends) != 2:
        raise EdtfError(text)
    first, last = (None if end in ("", "..") else _date(end, house) for end in ends)
    return _ordered(first and first.earliest, last and last.latest, text)


def _ordered(earliest: Day | None, latest: Day | None, text: str) -> Bounds:
    if earliest and latest and latest < earliest:
        raise EdtfError(text)
    return Bounds(earliest, latest)


def _date(text: str, house: Conventions) -> Bounds:
    match = _DATE.fullmatch(text)
    if match is None:
        raise EdtfError(text)
    year, month, day = match["year"], match["month"], match["day"]
    if year.strip("-") == "XXXX":
        return Bounds(None, None)
    first, last = _years(year)
    if month is None:
        about = first == last and (match["before"] + match["after"]).strip("?")
        width = house.about_years if about else 0
        return Bounds(Day(first - width, 1, 1), Day(last + width, 12, 31))
    if first != last:
        raise EdtfError(text)
    return _season(first, month, house) if day is None and month in house.seasons else _days(first, month, day)


def _years(year: str) -> tuple[int, int]:
    """First and last year of 1938, 193X, -03XX, Y-12000, in order of time."""
    if not re.fullmatch("Y?-?[0-9]*X*", year) or year == "-0000":
        raise EdtfError(year)
    one, other = (int(year.lstrip("Y").replace("X", digit)) for digit in "09")
    return min(one, other), max(one, other)


def _season(year: int, code: str, house: Conventions) -> Bounds:
    first, count = house.seasons[code]
    over, last = divmod(first + count - 2, 12)
    return Bounds(Day(year, first, 1), last_day(year + over, last + 1))


def _days(year: int, month: str, day: str | None) -> Bounds:
    if month == "XX" and day in (None, "XX"):
        return Bounds(Day(year, 1, 1), Day(year, 12, 31))
    if month == "XX" or not 1 <= int(month) <= 12:
        raise EdtfError(f"{year}-{month}-{day}")
    if day in (None, "XX"):
        return Bounds(Day(year, int(month), 1), last_day(year, int(month)))
    if not 1 <= int(day) <= days_in_month(year, int(month)):
        raise EdtfError(f"{year}-{month}-{day}")
    exact = Day(year, int(month), int(day))
    return Bounds(exact, exact)
