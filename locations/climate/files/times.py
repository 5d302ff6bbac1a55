"""Times as they are written: the shape of a cell, where its numbers stand, and the seconds they make.

Cells of one shape (digits alike in place) are read at once; a file has few shapes.
"""

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np

from locations.climate.files.cells import DIGIT_0, DIGIT_9, Letters
from locations.climate.science.values import Flags, Ints

DAY: Final = 86_400
#: a file with more ways of writing a time is no logger's
MOST_SHAPES: Final = 400
WIDEST: Final = 40
#: seconds since 1970 and days since 1899-12-30 that can be meant
EPOCH: Final = (600_000_000, 4_000_000_000)
SERIAL_DAYS: Final = (25_569, 73_000)
SERIAL_ZERO: Final = -25_569
MONTHS: Final = {
    name: number
    for number, names in enumerate(
        (
            "jan januar january janvier janv", "feb februar february fevrier février fév fevr févr", "mar mär mrz märz maerz march mars", "apr april avril avr",
            "may mai", "jun juni june juin", "jul juli july juillet juil", "aug august août aout", "sep sept september septembre",
            "oct okt oktober october octobre", "nov november novembre", "dec dez dezember december décembre decembre déc",
        ),
        start=1,
    )
    for name in names.split()
}  # fmt: skip
#: days of the week that machines write before a date
WEEKDAYS: Final = frozenset(
    name
    for names in (
        "mon tue wed thu fri sat sun monday tuesday wednesday thursday friday saturday sunday", "mo di mi do fr sa so wo zo",
        "montag dienstag mittwoch donnerstag freitag samstag sonntag", "lun mar mer jeu ven sam dim lundi mardi mercredi jeudi vendredi samedi dimanche",
        "mié jue vie sáb dom gio",
    )
    for name in names.split()
)  # fmt: skip
#: the halves of a day, before and after noon, as machines of several languages write them
HALVES: Final = {"am": False, "pm": True, "vorm": False, "nachm": True, "fm": False, "em": True, "πμ": False, "μμ": True, "上午": False, "下午": True}
#: letters, and spaces that may break a line or not, as bytes of UTF-8
_LETTER: Final = r"[A-Za-z\x80-\xff]"
_SPACE: Final = r"(?:\s|\xc2\xa0|\xe2\x80\xaf)"
_HALF: Final = rf"(?!UTC|GMT|Z){_LETTER}{{1,6}}\.?(?:{_SPACE}?[mM\xce\xbc]{{1,2}}\.?)?"
_CLOCK: Final = rf"(?P<h>0{{1,2}})[:.h](?P<n>00)(?:[:.](?P<s>00)(?:[.,]0+)?)?(?:{_SPACE}?(?P<half>{_HALF}))?"
_DATE: Final = (
    r"(?P<y4>0000)[-/.](?P<a>0{1,2})[-/.](?P<b>0{1,2})",
    r"(?P<a>0{1,2})(?P<sep>[-/. ])(?P<b>0{1,2})(?P=sep)(?P<z4>0000)",
    r"(?P<a>0{1,2})(?P<sep>[-/.])(?P<b>0{1,2})(?P=sep)(?P<c>00)",
    r"(?P<a>0{1,2})(?:[-./ ]|\. )?(?P<name>[A-Za-z\x80-\xff]{3,12})\.?[-./, ]{1,2}(?P<z4>0000)",
    r"(?P<name>[A-Za-z\x80-\xff]{3,12})\.? (?P<a>0{1,2}),? (?P<z4>0000)",
    r"(?P<a>0{1,2})[-./ ](?P<name>[A-Za-z\x80-\xff]{3,12})[-./ ](?P<c>00)",
    r"(?P<y4>0000)(?P<m2>00)(?P<d2>00)",
)
_ZONE: Final = r"(?:\s?(?P<zone>Z|UTC|GMT|[+-]00:?(?:00)?))?"
_SHAPES: Final = (
    *(re.compile(rf"(?:(?P<weekday>{_LETTER}{{2,12}})[.,]{{0,2}} )?{date}(?:(?:T|\s|, | - ){_CLOCK}{_ZONE})?") for date in _DATE),
    re.compile(rf"{_CLOCK}{_ZONE}"),
    re.compile(r"(?P<y4>0000)(?P<m2>00)(?P<d2>00)[T _]?(?P<h>00)(?P<n>00)(?P<s>00)?Z?"),
    re.compile(r"(?P<epoch>0{9,10})(?:\.0+)?|(?P<milli>0{12,13})|(?P<serial>0{5}(?:[.,]0+)?)"),
)


@dataclass(frozen=True, slots=True)
class Layout:
    """Where the numbers stand in cells of one shape, each (from, to). `month` and `half` and `ahead` are the same in all of them."""

    groups: dict[str, tuple[int, int]]
    month: int | None = None
    noon: bool | None = None
    ahead: int | None = None

    @property
    def has_date(self) -> bool:
        return bool({"a", "m2", "epoch", "milli", "serial"} & self.groups.keys())

    @property
    def has_clock(self) -> bool:
        return bool({"h", "epoch", "milli", "serial"} & self.groups.keys())

    @property
    def ordered(self) -> bool:
        """Whether the order of day and month (and a year of two digits) is open."""
        return "b" in self.groups and "y4" not in self.groups


@dataclass(frozen=True, slots=True)
class Written:
    """What cells say: days since 1970, seconds of the day, seconds ahead of universal time where they say so; `good` those understood.

    `dated` are those with a day, `clocked` those with an hour.
    """

    days: Ints
    seconds: Ints
    ahead: Ints
    told: Flags
    good: Flags
    dated: Flags
    clocked: Flags


#: groups of a shape that are words, no numbers
WORDS: Final = frozenset({"sep", "name", "half", "zone", "weekday"})
#: the rows of each shape, with its layout
Shapes = list[tuple[Ints | slice, Layout]]


@lru_cache(maxsize=4096)
def layout(shape: bytes) -> Layout | None:
    """The layout of a shape: a cell with every digit a 0 but those of its offset. None where it is no time."""
    return _layout(shape.decode("latin-1"))


def _layout(shape: str) -> Layout | None:
    """Letter by letter is byte by byte here, so that what stands where holds for the matrix."""
    for pattern in _SHAPES:
        if (found := pattern.fullmatch(_zeros(shape))) is None:
            continue
        groups = {name: found.span(name) for name, text in found.groupdict().items() if text is not None and name not in WORDS}
        whole = Layout(groups)
        said = found.groupdict()
        if name := said.get("name"):
            if (month := MONTHS.get(_word(name))) is None:
                return None
            whole = replace(whole, month=month)
        if (day := said.get("weekday")) and _word(day) not in WEEKDAYS:
            return None
        if half := said.get("half"):
            if (noon := HALVES.get(_word(half))) is None:
                return None
            whole = replace(whole, noon=noon)
        if said.get("zone"):
            whole = replace(whole, ahead=_ahead(shape[slice(*found.span("zone"))]))
        elif shape.endswith("Z"):
            whole = replace(whole, ahead=0)
        return whole
    return None


def _word(text: str) -> str:
    """A word of a shape, small, without the dots and spaces within."""
    plain = text.encode("latin-1").decode("utf-8", "replace").lower()
    return "".join(sign for sign in plain if sign.isalpha())


def _zeros(text: str) -> str:
    return "".join("0" if "0" <= letter <= "9" else letter for letter in text)


def _ahead(zone: str) -> int:
    if zone[0] not in "+-":
        return 0
    digits = zone[1:].replace(":", "")
    seconds = int(digits[:2]) * 3600 + int(digits[2:] or 0) * 60
    return -seconds if zone[0] == "-" else seconds


def written(letters: Letters, lengths: Ints, order: str | None, found_shapes: Shapes | None = None) -> Written:
    """Reads the cells of a column; those that are no time, or none in this order, are not `good`."""
    n = len(letters)
    days, seconds, ahead = np.zeros(n, dtype=np.int64), np.zeros(n, dtype=np.int64), np.zeros(n, dtype=np.int64)
    told, good, dated, clocked = (np.zeros(n, dtype=bool) for _ in range(4))
    for rows, found in shapes(letters, lengths) if found_shapes is None else found_shapes:
        some = letters[rows] if isinstance(rows, np.ndarray) else letters
        days[rows], day_good = _days(some, found, order)
        seconds[rows], clock_good = _seconds(some, found)
        good[rows], dated[rows], clocked[rows] = day_good & clock_good, found.has_date, found.has_clock
        if found.ahead is not None:
            ahead[rows], told[rows] = found.ahead, True
    return Written(days, seconds, ahead, told, good, dated, clocked)


def shapes(letters: Letters, lengths: Ints) -> Shapes:
    """The rows of each shape that is a time, with its layout."""
    found: Shapes = []
    left: Ints = np.flatnonzero((lengths > 0) & (lengths <= letters.shape[1]))
    if not len(left):
        return found
    shaped = np.where((letters >= DIGIT_0) & (letters <= DIGIT_9), np.uint8(DIGIT_0), letters)
    for _ in range(MOST_SHAPES):
        if not len(left):
            break
        model, fixed = _model(letters[left[0]], shaped[left[0]])
        alike = ((shaped[left] if len(left) < len(letters) else shaped) == shaped[left[0]]).all(axis=1)
        if fixed:
            alike &= (letters[left][:, fixed] == model[fixed]).all(axis=1)
        text = bytes(model[: int(lengths[left[0]])])
        if (one := layout(text)) is not None:
            found.append((slice(None) if alike.all() and len(left) == len(letters) else left[alike], one))
        left = left[~alike]
    return found


def _model(head: Letters, shaped: Letters) -> tuple[Letters, list[int]]:
    """The shape of a cell, in which an offset keeps its digits, and where those stand."""
    text = bytes(head[head > 0])
    if (found := re.search(rb"\d\s?([+-]\d\d:?(?:\d\d)?)$", text)) is None or b":" not in text[: found.start()]:
        return shaped, []
    where = list(range(*found.span(1)))
    model = shaped.copy()
    model[where] = head[where]
    return model, where


def number(letters: Letters, span: tuple[int, int]) -> Ints:
    """The number that stands there in every row."""
    total = np.zeros(len(letters), dtype=np.int64)
    for k in range(*span):
        total = total * 10 + (letters[:, k].astype(np.int64) - DIGIT_0)
    return total


def _days(letters: Letters, found: Layout, order: str | None) -> tuple[Ints, Flags]:
    groups = found.groups
    if not found.has_date:
        return np.zeros(len(letters), dtype=np.int64), np.ones(len(letters), dtype=bool)
    if stamp := groups.keys() & {"epoch", "milli", "serial"}:
        return _counted(letters, stamp.pop(), groups)
    parts = _parts(found, order)
    if parts is None:
        return np.zeros(len(letters), dtype=np.int64), np.zeros(len(letters), dtype=bool)
    year, month, day = (number(letters, groups[name]) if isinstance(name, str) else np.full(len(letters), name) for name in parts)
    if isinstance(parts[0], str) and parts[0] not in {"y4", "z4"}:
        year = year + np.where(year >= 90, 1900, 2000)
    return days_of(year, month, day)


def _parts(found: Layout, order: str | None) -> tuple[str, str | int, str] | None:
    """Which group is year, month and day."""
    groups = found.groups
    if "m2" in groups:
        return "y4", "m2", "d2"
    if found.month is not None:
        return ("z4" if "z4" in groups else "c"), found.month, "a"
    if "y4" in groups:
        return "y4", "a", "b"
    if "z4" in groups:
        return {"dmy": ("z4", "b", "a"), "mdy": ("z4", "a", "b")}.get(order or "")
    return {"dmy": ("c", "b", "a"), "mdy": ("c", "a", "b"), "ymd": ("a", "b", "c")}.get(order or "")


def days_of(year: Ints, month: Ints, day: Ints) -> tuple[Ints, Flags]:
    """Days since 1970 of days of the calendar, and which of them there are."""
    good = (month >= 1) & (month <= 12) & (day >= 1) & (year >= 1900) & (year <= 2200)
    count = np.where(good, (year - 1970) * 12 + month - 1, 0)
    low, high = int(count.min(initial=0)), int(count.max(initial=0))
    starts = np.arange(low, high + 2).astype("datetime64[M]").astype("datetime64[D]").astype(np.int64)
    first = starts[count - low]
    good &= day <= starts[count - low + 1] - first
    return first + day - 1, good


def _counted(letters: Letters, sort: str, groups: dict[str, tuple[int, int]]) -> tuple[Ints, Flags]:
    """Days of a count of seconds, thousandths or days."""
    value = number(letters, _whole(letters, groups[sort]))
    low, high = SERIAL_DAYS if sort == "serial" else EPOCH
    if sort == "milli":
        value = value // 1000
    good = (value >= low) & (value < high)
    return (value + SERIAL_ZERO if sort == "serial" else value // DAY), good


def _whole(letters: Letters, span: tuple[int, int]) -> tuple[int, int]:
    """Of a number its digits before any decimal sign."""
    head = letters[0, span[0] : span[1]]
    points = np.flatnonzero((head < DIGIT_0) | (head > DIGIT_9))
    return span[0], span[0] + int(points[0]) if len(points) else span[1]


def _seconds(letters: Letters, found: Layout) -> tuple[Ints, Flags]:
    groups = found.groups
    if "h" not in groups:
        return _counted_seconds(letters, groups)
    hour, minute = number(letters, groups["h"]), number(letters, groups["n"])
    second = number(letters, groups["s"]) if "s" in groups else np.zeros(len(letters), dtype=np.int64)
    # Some write the midnight that ends a day as its hour 24.
    good = ((hour < 24) & (minute < 60) & (second < 60)) | ((hour == 24) & (minute == 0) & (second == 0))
    if found.noon is not None:
        good &= (hour >= 1) & (hour <= 12)
        hour = hour % 12 + (12 if found.noon else 0)
    return hour * 3600 + minute * 60 + second, good


def _counted_seconds(letters: Letters, groups: dict[str, tuple[int, int]]) -> tuple[Ints, Flags]:
    good = np.ones(len(letters), dtype=bool)
    if "epoch" in groups:
        return number(letters, groups["epoch"]) % DAY, good
    if "milli" in groups:
        return number(letters, groups["milli"]) // 1000 % DAY, good
    seconds = np.zeros(len(letters), dtype=np.int64)
    if "serial" in groups:
        begin, end = groups["serial"]
        whole = _whole(letters, (begin, end))
        if whole[1] + 1 < end:
            part = (whole[1] + 1, end)
            step = DAY / 10.0 ** (part[1] - part[0])
            seconds = np.round(number(letters, part) * step).astype(np.int64)
            if step > 1:  # so few decimals that they tell no seconds: the minute that they may mean
                minute = (seconds + 30) // 60 * 60
                seconds = np.where(np.abs(minute - seconds) <= step / 2 + 0.5, minute, seconds)
    return seconds, good
