"""One date in words without marks or limits: 1938, 1930s, late 19th century, May 1940, 17 May 1940, winter 1940/41."""

import re
from collections.abc import Callable
from dataclasses import dataclass

from collection.objects.dates.conventions import Conventions
from collection.objects.dates.days import days_in_month, year_text

#: century of the candidates for a year of two digits; offered, never taken
CENTURY = "19"
_SIZES = {"decade": 10, "century": 100, "millennium": 1000}
_DAY_OF_MONTH = r"([0-9]{1,2})(?:st|nd|rd|th)?"


class Ask(Exception):
    """The words cannot be read without asking: why, and the EDTF texts they may mean."""

    def __init__(self, why: str, *candidates: str) -> None:
        super().__init__(why)
        self.why, self.candidates = why, candidates


@dataclass(frozen=True, slots=True)
class Atom:
    """One date read. `first`: the year a decade, century or millennium begins with."""

    kind: str
    edtf: str
    first: int = 0

    @property
    def ends(self) -> tuple[str, str]:
        """What stands at the start, and at the end, of an interval from or to it."""
        inner = self.edtf.strip("[]")
        first, mark, last = inner.partition("/" if self.kind == "period" and "/" in inner else "..")
        if mark:
            return first, last
        if self.kind in _SIZES and self.first < 0:
            return year_text(self.first), year_text(self.first + _SIZES[self.kind] - 1)
        return inner, inner

    @property
    def listed(self) -> str:
        """What stands in a set of several."""
        first, last = self.ends
        return first if first == last else f"{first}..{last}"


def era_of(text: str) -> tuple[str, str]:
    """'ad', 'bc' or '' and the text without it. Both in one text are no single date: ''."""
    found = set(re.findall(r"\b(ad|bc)\b", text))
    if len(found) != 1:
        return "", text
    return found.pop(), " ".join(re.sub(r"\b(ad|bc)\b", " ", text).split())


def read_atom(text: str, house: Conventions) -> Atom | None:
    """The one date that the normalised text is, or None. Raises Ask for a day that does not exist."""
    plain = re.sub(r"^(?:in|on|the|of|during|dated?)(?: the| of)? ", "", text.strip(" ,.;:()"))
    if plain in house.periods:
        return Atom("period", house.periods[plain])
    era, rest = era_of(plain)
    return next((atom for read in _READERS if (atom := read(rest, era, house))), None)


def _year(text: str, era: str, house: Conventions) -> Atom | None:
    if not re.fullmatch("[0-9]{1,5}" if era else "[0-9]{3,4}", text, re.ASCII) or not int(text):
        return None
    year = 1 - int(text) if era == "bc" else int(text)
    return Atom("year", year_text(year)) if year < 2200 else None


def _whole(text: str, era: str, house: Conventions) -> Atom | None:
    """A whole decade, century or millennium."""
    if decade := re.fullmatch("([0-9]{2}[1-9])0'?s", text, re.ASCII):
        return None if era == "bc" else Atom("decade", f"{decade[1]}X", int(decade[1]) * 10)
    if numbered := re.fullmatch("([0-9]{1,2})(?:st|nd|rd|th) (century|millennium)", text, re.ASCII):
        return _numbered(int(numbered[1]), numbered[2], era)
    return None


def _numbered(n: int, kind: str, era: str) -> Atom | None:
    """The 19th century is 18XX, 1800 to 1899; the 4th BC is -03XX, 400 to 301 BC; year 0 belongs to the first BC."""
    size = _SIZES[kind]
    if not 1 <= n <= (21 if kind == "century" else 3) and era != "bc":
        return None
    if n == 1:
        first, last = (1 - size, 0) if era == "bc" else (1, size - 1)
        return Atom("part", f"[{year_text(first)}..{year_text(last)}]", first if era == "bc" else 0)
    first = 1 - n * size if era == "bc" else (n - 1) * size
    digits = f"{n - 1:02}XX" if kind == "century" else f"{n - 1}XXX"
    if n > (99 if kind == "century" else 10):
        return None
    return Atom(kind, f"-{digits}" if era == "bc" else digits, first)


def _part(text: str, era: str, house: Conventions) -> Atom | None:
    """Early, mid, late, halves, quarters and thirds of a decade, century or millennium."""
    name = next((name for name in sorted(house.parts, key=len, reverse=True) if text.startswith(f"{name} ")), None)
    if name is None:
        return None
    rest = re.sub("^(of )?(the )?", "", text[len(name) + 1 :])
    whole = _whole(rest, era, house)
    if whole is None:
        return None
    size = 10 if whole.kind == "decade" else 1000 if "millennium" in rest else 100
    table = house.parts_of_decade if size == 10 else house.parts
    if name not in table:
        return None
    start, end = table[name]
    if size == 1000:
        start, end = start * 10, end * 10 + 9
    first, last = whole.first + start, whole.first + end
    return Atom("part", f"[{year_text(first if era == 'bc' else max(first, 1))}..{year_text(last)}]", first)


def _month(text: str, era: str, house: Conventions) -> Atom | None:
    for pattern, month, year in ((r"([a-z]+)\.?,? (?:of )?([0-9]{4})", 1, 2), (r"([0-9]{4}),? ([a-z]+)\.?", 2, 1)):
        found = re.fullmatch(pattern, text, re.ASCII)
        if found and found[month] in house.months and not era:
            return Atom("month", f"{found[year]}-{house.months[found[month]]:02}")
    return None


def _day(text: str, era: str, house: Conventions) -> Atom | None:
    patterns = (
        (rf"{_DAY_OF_MONTH}[ -](?:of )?([a-z]+)\.?,?[ -]([0-9]{{4}})", (3, 2, 1)),
        (rf"([a-z]+)\.? {_DAY_OF_MONTH},? ([0-9]{{4}})", (3, 1, 2)),
    )
    for pattern, (year, month, day) in patterns:
        found = re.fullmatch(pattern, text, re.ASCII)
        if found and found[month] in house.months and not era:
            return exact_day(int(found[year]), house.months[found[month]], int(found[day]))
    return None


def exact_day(year: int, month: int, day: int) -> Atom:
    """A day. Raises Ask where there is none such."""
    month_text = f"{year_text(year)}-{month:02}"
    if not 1 <= day <= days_in_month(year, month):
        raise Ask("no_such_day", month_text)
    return Atom("day", f"{month_text}-{day:02}")


def _season(text: str, era: str, house: Conventions) -> Atom | None:
    found = re.fullmatch("([a-z]+),? (?:of )?([0-9]{4})(?:[/-]([0-9]{2}|[0-9]{4}))?", text, re.ASCII)
    if found is None or found[1] not in house.season_words or era:
        return None
    if found[3] and (found[1] != "winter" or int(found[3]) % 100 != (int(found[2]) + 1) % 100):
        return None
    return Atom("season", f"{found[2]}-{house.season_words[found[1]]}")


def _figures(text: str, era: str, house: Conventions) -> Atom | None:
    """1940-05-17; else only what has a year of four digits and one part above 12. All others are asked."""
    if iso := re.fullmatch("([0-9]{4})-([0-9]{2})-([0-9]{2})", text, re.ASCII):
        return exact_day(int(iso[1]), int(iso[2]), int(iso[3])) if 1 <= int(iso[2]) <= 12 else None
    last = re.fullmatch("([0-9]{1,2})([./ -])([0-9]{1,2})\\2([0-9]{4}|[0-9]{2})", text, re.ASCII)
    first = re.fullmatch("([0-9]{4})([./ -])([0-9]{1,2})\\2([0-9]{1,2})", text, re.ASCII)
    if last:
        return _ordered(last[4], int(last[1]), int(last[3]))
    return _ordered(first[1], int(first[4]), int(first[3])) if first else None


def _ordered(year: str, one: int, other: int) -> Atom | None:
    full = year if len(year) == 4 else CENTURY + year
    orders = dict.fromkeys((month, day) for month, day in ((other, one), (one, other)) if 1 <= month <= 12 and day)
    days = [exact_day(int(full), month, day) for month, day in orders]
    ways = [day.edtf for day in days]
    if ways and one == other == 1:
        raise Ask("year_or_day", full, *ways)
    if len(ways) > 1 or len(year) == 2:
        raise Ask("two_digit_year" if len(ways) == 1 else "day_month_order", *ways)
    return days[0] if days else None


_READERS: tuple[Callable[[str, str, Conventions], Atom | None], ...] = (
    _year, _whole, _part, _day, _month, _season, _figures,
)  # fmt: skip
