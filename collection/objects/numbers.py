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
#: a run longer than this is asked about before anybody makes so many records of it
LONGEST_RUN: Final = 1000
#: centuries offered for a year of two digits
CENTURIES: Final = ("18", "19", "20")
_MONTHS: Final = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_CANONICAL = re.compile(CANONICAL_SQL, re.ASCII)
_PARTS = re.compile(r"([etl]?)([0-9]{4})\.0*([0-9]{1,6})(?:\.0*([0-9]{1,6}))?(?:\.?([a-z]{1,2}))?", re.ASCII)


@dataclass(frozen=True, slots=True)
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

    def lettered(self, position: int) -> "ObjectNumber":
        """The part of this whole at a position from 0."""
        return ObjectNumber(self.prefix, self.year, self.lot, self.item, part_letters(position))

    @property
    def sort_key(self) -> str:
        """Text whose order by code point is the natural order of numbers."""
        return f"{self.prefix:<3}{self.year:04}{self.lot:06}{self.item:06}{len(self.part)}{self.part}"


@dataclass(frozen=True, slots=True)
class NumberQuestion:
    """What was written is not a number as it stands: why, and what it may have been meant to be.

    `why` is one of: empty, looks_like_a_date, other_separator, year_of_two_digits, several_numbers, out_of_range,
    not_our_form.
    """

    text: str
    why: str
    offers: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class RangeAnswer:
    """A range read: `numbers` when it is plain, else `ask` or `refuse` says why; `offers` are whole readings.

    `ask`: items_or_parts, other_dash, order_of_letters, parts_at_the_ends, short_end, long_run, or a question's `why`.
    `refuse`: backwards, across_lots.
    """

    numbers: Sequence[ObjectNumber] = ()
    ask: str = ""
    refuse: str = ""
    offers: Sequence[Sequence[str]] = ()


def parse_number(text: str) -> ObjectNumber | NumberQuestion:
    """Reads a number as people write it, or answers with a question."""
    tight = _tight(text)
    match = _PARTS.fullmatch(tight)
    if match is None:
        return _question(text, tight)
    prefix, year, lot, item, part = match.groups()
    number = ObjectNumber(prefix.upper(), int(year), int(lot), int(item or 0), part or "")
    if not _CANONICAL.fullmatch(str(number)) or (item is not None and number.item == 0):
        return NumberQuestion(text, "out_of_range")
    return number


def _tight(text: str) -> str:
    """Without spaces and without ASCII capitals; capitals of other alphabets stay and are asked about."""
    return "".join(c.lower() if c.isascii() else c for c in re.sub(r"\s+", "", text))


def _question(text: str, tight: str) -> NumberQuestion:
    """Why it cannot be read, with readings to offer where a spreadsheet or a habit suggests them."""
    if not tight:
        return NumberQuestion(text, "empty")
    for why, offers in (
        ("looks_like_a_date", _dates(text.strip())),
        ("other_separator", _separated(tight)),
        ("year_of_two_digits", _centuries(tight)),
        ("several_numbers", _several(text, tight)),
    ):
        if offers:
            return NumberQuestion(text, why, offers)
    beside = re.fullmatch(r"(.*[0-9a-z])\([a-z.?]*\)", tight, re.ASCII)
    return NumberQuestion(text, "not_our_form", _offers(beside[1]) if beside else ())


def _separated(tight: str) -> tuple[str, ...]:
    """'1974/12/3', '1974-12' with points."""
    other = re.fullmatch(r"([etl]?[0-9]{4})[-/,_:]([0-9]+)(?:[-/,_:.]([0-9]+))?([a-z]{0,2})", tight, re.ASCII)
    if other is None:
        return ()
    year, lot, item, part = other.groups()
    return _offers(f"{year}.{lot}{'.' if item else ''}{item or ''}{part}")


def _centuries(tight: str) -> tuple[str, ...]:
    """'74.12.3' with each century it may be of."""
    short = re.fullmatch(r"[0-9]{2}\.[0-9]+(\.[0-9]+)?[a-z]{0,2}", tight, re.ASCII)
    return _offers(*(century + tight for century in CENTURIES)) if short else ()


def _dates(text: str) -> tuple[str, ...]:
    """What a spreadsheet may have made a date of: year, month and day are year, lot and item again."""
    if iso := re.fullmatch(r"([0-9]{4})-([0-9]{1,2})-([0-9]{1,2})([ T]00:00(:00)?)?", text, re.ASCII):
        return _offers(f"{iso[1]}.{iso[2]}.{iso[3]}")
    if day := re.fullmatch(r"([0-9]{1,2})([./-])([0-9]{1,2})\2([0-9]{4})", text, re.ASCII):
        first, _mark, second, year = day.groups()
        ways = [(second, first)] if day[2] == "." else [(second, first), (first, second)]
        return _offers(*(f"{year}.{lot}.{item}" for lot, item in ways if int(lot) <= 12))
    if named := re.fullmatch(r"([0-9]{1,2})[ -]([a-z]{3})[a-z]*[ -]([0-9]{4})", text, re.ASCII | re.IGNORECASE):
        month = named[2].lower()
        return _offers(f"{named[3]}.{_MONTHS.index(month) + 1}.{named[1]}") if month in _MONTHS else ()
    return ()


def _several(text: str, tight: str) -> tuple[str, ...]:
    """'1974.12.3 & 4', '1974.12.3a-d': the numbers of a cell that holds several, as far as they can be read."""
    if (run := _run(text)) and run.numbers:
        return tuple(str(number) for number in run.numbers)
    first, *others = re.split(r"[&;,+]|and", tight)
    read = parse_number(first) if others else None
    if not isinstance(read, ObjectNumber):
        return ()
    stem = str(read).rpartition(".")[0]
    return str(read), *(n for other in others for n in _offers(f"{stem}.{other}" if other.isdigit() else other))


def _offers(*texts: str) -> tuple[str, ...]:
    read = (parse_number(text) for text in texts)
    return tuple(dict.fromkeys(str(number) for number in read if isinstance(number, ObjectNumber)))


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
    if run := _run(text):
        return run
    single = parse_number(text)
    return RangeAnswer((single,)) if isinstance(single, ObjectNumber) else RangeAnswer(ask=single.why)


def _run(text: str) -> RangeAnswer | None:
    """The answer to what is written as a run or list within one number; None when it is not."""
    tight = _tight(text)
    if dashed := re.search("[\N{HYPHEN}\N{NON-BREAKING HYPHEN}\N{EN DASH}\N{EM DASH}\N{MINUS SIGN}]", tight):
        plain = _run(tight.replace(dashed[0], "-"))
        if plain is None or not plain.numbers:
            return plain
        return RangeAnswer(ask="other_dash", offers=[[str(number) for number in plain.numbers]])
    if ends := re.fullmatch(r"(.*?[0-9a-z])to([etl]?[0-9].*)", tight):
        return _items(ends[1], ends[2])
    if bare := re.fullmatch(r"(.+\.)([0-9]{1,6})-([0-9]{1,6})", tight, re.ASCII):
        return _items_or_parts(bare[1], int(bare[2]), int(bare[3]))
    if lettered := re.fullmatch(r"(.*?[0-9])\.?([a-z]{1,2}(?:[-,][a-z]{1,2})+)", tight, re.ASCII):
        return _letters(lettered[1], lettered[2])
    return None


def _items_or_parts(stem: str, first: int, last: int) -> RangeAnswer | None:
    """'1990.2.1-5': the items 1 to 5, or the first item in five parts."""
    number = parse_number(f"{stem}{first}")
    if not isinstance(number, ObjectNumber) or not number.item:
        return None
    if last < first:
        return RangeAnswer(refuse="backwards")
    if last - first >= LONGEST_RUN:
        return RangeAnswer(ask="long_run")
    items = tuple(f"{stem}{n}" for n in range(first, last + 1))
    parts = tuple(str(number.lettered(n)) for n in range(last)) if last <= 702 else ()
    return RangeAnswer(ask="items_or_parts", offers=(items, parts) if parts else (items,))


def _items(first_text: str, last_text: str) -> RangeAnswer:
    first, last = parse_number(first_text), parse_number(last_text)
    if isinstance(first, ObjectNumber) and re.fullmatch("[0-9]{1,6}", last_text) and first.item:
        return _short_end(first, int(last_text))
    if isinstance(first, NumberQuestion) or isinstance(last, NumberQuestion):
        return RangeAnswer(ask="not_our_form")
    if (first.prefix, first.year, first.lot) != (last.prefix, last.year, last.lot):
        return RangeAnswer(refuse="across_lots")
    if last.sort_key < first.sort_key:
        return RangeAnswer(refuse="backwards")
    return _plain_items(first, last)


def _plain_items(first: ObjectNumber, last: ObjectNumber) -> RangeAnswer:
    if first.part or last.part or not first.item:
        return RangeAnswer(ask="parts_at_the_ends")
    if last.item - first.item >= LONGEST_RUN:
        return RangeAnswer(ask="long_run")
    return RangeAnswer([ObjectNumber(first.prefix, first.year, first.lot, n) for n in range(first.item, last.item + 1)])


def _short_end(first: ObjectNumber, item: int) -> RangeAnswer:
    """'1990.2.1 to 5': most likely the items, but it is asked."""
    whole = _items(str(first), f"{first.prefix}{first.year}.{first.lot}.{item}")
    if not whole.numbers:
        return whole
    return RangeAnswer(ask="short_end", offers=[[str(number) for number in whole.numbers]])


def _letters(whole_text: str, letters: str) -> RangeAnswer:
    whole = parse_number(whole_text)
    if isinstance(whole, NumberQuestion):
        return RangeAnswer(ask=whole.why)
    found: list[int] = []
    for piece in letters.split(","):
        first, *more = (part_position(letter) for letter in piece.split("-"))
        if len(more) > 1:
            return RangeAnswer(ask="not_our_form")
        if more and more[0] < first:
            return RangeAnswer(refuse="backwards")
        found += range(first, (more[0] if more else first) + 1)
    numbers = [whole.lettered(n) for n in sorted(set(found))]
    if found != sorted(set(found)):
        return RangeAnswer(ask="order_of_letters", offers=[[str(number) for number in numbers]])
    return RangeAnswer(numbers)


def holds_several(text: str) -> bool:
    """Whether a cell of numbers as written holds more than one: '57.1050, 57.1051', '1998.14.2.A-B', '4 and 5'."""
    pieces = [piece for piece in re.split(r"[,;&\n]|\band\b|\bto\b", text) if re.search("[0-9A-Za-z]", piece)]
    numbered = [piece for piece in pieces if re.search("[0-9]", piece)]
    letters = re.search(r"[0-9.]\s*[A-Za-z]{1,2}\s*[-\N{EN DASH},&]\s*\.?[A-Za-z]{1,2}$", text.strip())
    return len(numbered) > 1 or letters is not None


#: letters that do not fall apart into a base letter and an accent
_LETTERS = str.maketrans({"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i", "ħ": "h", "ŧ": "t"})


def people_sort_key(text: str) -> str:
    """A stored key by which people expect words to be ordered: no accents, no case, digits by their value."""
    apart = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", text).casefold().translate(_LETTERS))
    bare = "".join(c for c in apart if not unicodedata.combining(c))
    return re.sub("[0-9]+", lambda digits: digits[0].lstrip("0").zfill(16), " ".join(bare.split()))


def written_sort_key(text: str) -> str:
    """The key of a number kept as written: after all of ours, among themselves by value of their digits."""
    return f"~{people_sort_key(text)}~{text}"
