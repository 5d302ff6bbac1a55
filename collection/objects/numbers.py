"""Object numbers: the grammar, how forgivingly it is read, and the order of numbers, free of the framework.

A number is [E, T or L] year . lot [. item] [part letters]: 1974.12.3a is part a of the third thing of the twelfth
acquisition of 1974. Year 1800 to 2199, lot and item 1 to 999999, one or two small letters, ASCII digits.
Spaces, leading zeros, capitals and a dot before the part letters are taken away without asking; about
everything else the reader asks, and never guesses.
"""

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

#: the canonical form, as a regular expression that PostgreSQL understands too
CANONICAL_SQL: Final = r"^[ETL]?(1[89]|2[01])[0-9]{2}\.[1-9][0-9]{0,5}(\.[1-9][0-9]{0,5})?[a-z]{0,2}$"
SERIES: Final = {"": "accession", "E": "entry", "T": "temporary", "L": "loan_in"}
_CANONICAL = re.compile(CANONICAL_SQL, re.ASCII)
_PARTS = re.compile(r"([ETL]?)([0-9]{4})\.0*([0-9]{1,6})(?:\.0*([0-9]{1,6}))?\.?([a-z]{0,2})", re.ASCII)


@dataclass(frozen=True, slots=True, order=False)
class ObjectNumber:
    """A number in our grammar. `item` 0 = none (a lot of one thing); `part` '' = the whole."""

    prefix: str
    year: int
    lot: int
    item: int = 0
    part: str = ""

    def __str__(self) -> str:
        item = f".{self.item}" if self.item else ""
        return f"{self.prefix}{self.year}.{self.lot}{item}{self.part}"

    @property
    def series(self) -> str:
        """accession, entry, temporary or loan_in."""
        return SERIES[self.prefix]

    @property
    def whole(self) -> "ObjectNumber":
        """The number without its part letters."""
        return ObjectNumber(self.prefix, self.year, self.lot, self.item)

    @property
    def sort_key(self) -> str:
        """Text whose order by code point is the natural order of numbers."""
        return f"{self.prefix:<3}{self.year:04}{self.lot:06}{self.item:06}{len(self.part)}{self.part}"


@dataclass(frozen=True, slots=True)
class NumberQuestion:
    """What was written is not a number as it stands: why (a code), and what it may have been meant to be."""

    text: str
    why: str
    offers: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class RangeAnswer:
    """A range read: `numbers` when it is plain, else `ask` or `refuse` says why; `offers` are whole readings."""

    numbers: Sequence[ObjectNumber] = ()
    ask: str = ""
    refuse: str = ""
    offers: Sequence[Sequence[str]] = ()


def parse_number(text: str) -> ObjectNumber | NumberQuestion:
    """Reads a number as people write it, or answers with a question."""
    tight = re.sub(r"\s+", "", text)
    head = tight[:1].upper() if tight[:1].upper() in "ETL" and tight[:1] else ""
    match = _PARTS.fullmatch(head + tight[len(head) :].lower())
    if match is None:
        return _question(text, tight)
    prefix, year, lot, item, part = match.groups()
    number = ObjectNumber(prefix, int(year), int(lot), int(item or 0), part)
    if not _CANONICAL.fullmatch(str(number)) or (item is not None and number.item == 0):
        return NumberQuestion(text, "out_of_range")
    return number


def _question(text: str, tight: str) -> NumberQuestion:
    """Why it cannot be read, with readings to offer where a spreadsheet or a habit suggests them."""
    if not tight:
        return NumberQuestion(text, "empty")
    stamped = re.fullmatch(r"([0-9]{4})-([0-9]{2})-([0-9]{2})\s+00:00:00", text.strip(), re.ASCII)
    iso = stamped or re.fullmatch(r"([0-9]{4})-([0-9]{1,2})-([0-9]{1,2})", tight, re.ASCII)
    if iso:
        return NumberQuestion(text, "looks_like_a_date", _offer(*iso.groups()))
    if day := re.fullmatch(r"([0-9]{1,2})\.([0-9]{1,2})\.([0-9]{4})", tight, re.ASCII):
        return NumberQuestion(text, "looks_like_a_date", _offer(*reversed(day.groups())))
    if slashed := re.fullmatch(r"([0-9]{4})[/-]([0-9]+)[/-]([0-9]+)", tight, re.ASCII):
        return NumberQuestion(text, "other_separator", _offer(*slashed.groups()))
    if re.fullmatch(r"[0-9]{2}\.[0-9]+(\.[0-9]+)?", tight, re.ASCII):
        return NumberQuestion(text, "year_of_two_digits")
    return NumberQuestion(text, "not_our_form")


def _offer(year: str, lot: str, item: str) -> tuple[str, ...]:
    read = parse_number(f"{year}.{lot}.{item}")
    return (str(read),) if isinstance(read, ObjectNumber) else ()


def part_letters(position: int) -> str:
    """The part letters at a position from 0: a to z, then aa to zz. Raises ValueError beyond."""
    if not 0 <= position < 26 + 26 * 26:
        raise ValueError("an object has at most 702 lettered parts")
    if position < 26:
        return chr(97 + position)
    first, second = divmod(position - 26, 26)
    return chr(97 + first) + chr(97 + second)


def part_position(letters: str) -> int:
    """The position of part letters, the other way round."""
    if len(letters) == 1:
        return ord(letters) - 97
    return 26 + (ord(letters[0]) - 97) * 26 + ord(letters[1]) - 97


def next_letter(used: Sequence[str]) -> str:
    """The letter after the highest ever used: letters are never given twice."""
    return part_letters(max((part_position(letter) for letter in used if letter), default=-1) + 1)


def expand_range(text: str) -> RangeAnswer:
    """Reads '1974.12.3a-d', '1974.12.3a,c' or '1990.2.1 to 1990.2.5' into single numbers.

    Letters run within one whole; 'A to B' runs over the items of one lot. A bare '1990.2.1-5' is asked, since it
    may be five items or five parts; backwards or across lots is refused.
    """
    if (ends := re.split(r"\s+to\s+", text.strip())) and len(ends) == 2:
        return _items(*ends)
    tight = re.sub(r"\s+", "", text).lower()
    if bare := re.fullmatch(r"(.+)\.([0-9]+)-([0-9]+)", tight, re.ASCII):
        stem, first, last = bare[1], int(bare[2]), int(bare[3])
        items = tuple(f"{stem}.{n}" for n in range(first, last + 1))
        parts = tuple(f"{stem}.{first}{part_letters(n)}" for n in range(min(last - first + 1, 702)))
        return RangeAnswer(ask="items_or_parts", offers=(items, parts))
    if lettered := re.fullmatch(r"(.*?[0-9])\.?([a-z]{1,2}(?:[-,][a-z]{1,2})+)", tight, re.ASCII):
        return _letters(lettered[1], lettered[2])
    single = parse_number(text)
    return RangeAnswer((single,)) if isinstance(single, ObjectNumber) else RangeAnswer(ask=single.why)


def _items(first_text: str, last_text: str) -> RangeAnswer:
    first, last = parse_number(first_text), parse_number(last_text)
    if isinstance(first, NumberQuestion) or isinstance(last, NumberQuestion):
        return RangeAnswer(ask="not_our_form")
    if first.part or last.part or not first.item or not last.item:
        return RangeAnswer(refuse="ends_are_not_wholes")
    if (first.prefix, first.year, first.lot) != (last.prefix, last.year, last.lot):
        return RangeAnswer(refuse="across_lots")
    if last.item < first.item:
        return RangeAnswer(refuse="backwards")
    return RangeAnswer([ObjectNumber(first.prefix, first.year, first.lot, n) for n in range(first.item, last.item + 1)])


def _letters(whole_text: str, letters: str) -> RangeAnswer:
    whole = parse_number(whole_text)
    if isinstance(whole, NumberQuestion):
        return RangeAnswer(ask=whole.why)
    found: list[int] = []
    for piece in letters.split(","):
        first, *rest = (part_position(letter) for letter in piece.split("-"))
        last = rest[0] if rest else first
        if last < first or (found and first <= found[-1]) or len(rest) > 1:
            return RangeAnswer(refuse="backwards")
        found += range(first, last + 1)
    return RangeAnswer([ObjectNumber(whole.prefix, whole.year, whole.lot, whole.item, part_letters(n)) for n in found])


def people_sort_key(text: str) -> str:
    """A stored key by which people expect words to be ordered: no accents, no case, digits by their value."""
    bare = "".join(c for c in unicodedata.normalize("NFKD", text.replace("ß", "ss")) if not unicodedata.combining(c))
    return re.sub(r"[0-9]+", lambda digits: digits[0].lstrip("0").zfill(10), bare.casefold()).strip()


def written_sort_key(text: str) -> str:
    """The key of a number kept as written: after all of ours, among themselves by value of their digits."""
    return f"~{people_sort_key(text)}~{text}"
