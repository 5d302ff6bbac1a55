"""What looks like a date and must be asked about: two digits, day numbers, model years, years of acquisition.

Each trap raises Ask, or lets the words pass. `offers` reads what is left when the trap's own words are taken away.
"""

import re
from collections.abc import Callable
from datetime import date, timedelta
from typing import Final

from collection.objects.dates.atoms import CENTURY, Ask
from collection.objects.dates.conventions import Conventions

#: day 0 of a spreadsheet's dates (1900 system, its false leap day of 1900 included)
DAY_ZERO: Final = date(1899, 12, 30)
Offers = Callable[[str], tuple[str, ...]]


def is_unknown(text: str, house: Conventions) -> bool:
    """Whether the words say that nothing is known: 'unknown', 'n.d.', '-', nothing."""
    letters = re.sub(r"[\W_]", "", text.lower())
    return not letters or letters in house.words["unknown"]


def _midnight(words: str, house: Conventions, offers: Offers) -> None:
    """A date cell with its time: the first of January is often a year."""
    if cell := re.fullmatch("([0-9]{4})(-[0-9]{2}-[0-9]{2})[t ]00:00(:00)?", words, re.ASCII):
        day = cell[1] + cell[2]
        raise Ask("year_or_day", *((cell[1], day) if cell[2] == "-01-01" else (day,)))


def _short(words: str, house: Conventions, offers: Offers) -> None:
    """38, '38, the 30s, 938."""
    if two := re.fullmatch("'?([0-9]{2})", words, re.ASCII):
        raise Ask("two_digit_year", CENTURY + two[1])
    if tens := re.fullmatch("(?:the )?'?([0-9])0'?s", words, re.ASCII):
        raise Ask("two_digit_year", f"{CENTURY}{tens[1]}X")
    if re.fullmatch("[0-9]{3}", words, re.ASCII):
        raise Ask("short_year", f"0{words}")


def _day_number(words: str, house: Conventions, offers: Offers) -> None:
    """14025: the days since the end of 1899, by which a spreadsheet keeps a date."""
    if re.fullmatch("[0-9]{5}", words, re.ASCII):
        raise Ask("day_number", (DAY_ZERO + timedelta(days=int(words))).isoformat())


def _hundred(words: str, house: Conventions, offers: Offers) -> None:
    """The 1900s: ten years or a hundred."""
    if hundreds := re.search(r"\b([0-9]{2})00'?s\b", words, re.ASCII):
        ways = (words.replace(hundreds[0], f"{hundreds[1]}0Xs"), words.replace(hundreds[0], f"{hundreds[1]}XXs"))
        raise Ask("decade_or_century", *((ways[0][:-1], ways[1][:-1]) if words == hundreds[0] else ()))


def _month_in_figures(words: str, house: Conventions, offers: Offers) -> None:
    """8/1959."""
    found = re.fullmatch("([0-9]{1,2})[/.]([0-9]{4})", words, re.ASCII)
    if found and 1 <= int(found[1]) <= 12:
        raise Ask("month_as_number", f"{found[2]}-{int(found[1]):02}")


def _letter_for_digit(words: str, house: Conventions, offers: Offers) -> None:
    """2o03, l938."""
    mixed = re.sub(r"\b(?=[a-z]*[0-9])(?=[0-9]*[oil])[0-9oil]{4}\b", lambda m: m[0].translate(_DIGITS), words)
    if mixed != words:
        raise Ask("letter_for_digit", *offers(mixed))


_DIGITS = str.maketrans("oil", "011")


def _model_year(words: str, house: Conventions, offers: Offers) -> None:
    """Pattern 1906: a name. What stands beside it may be the date."""
    names = house.any_of("model")
    rest, count = re.subn(rf"\b(?:{names})(?![a-z])\.? ?[0-9]{{2,4}}\b|\b[0-9]{{4}} (?:pattern|model)\b", " ", words)
    if count:
        raise Ask("model_year", *offers(rest))


def _acquisition(words: str, house: Conventions, offers: Offers) -> None:
    """1983 (acq.): when it came, not when it was made."""
    came = house.any_of("acquired")
    before, after = rf"\b[0-9]{{4}}[ ,(]*(?:{came})\b\.?\)?", rf"\b(?:{came})\b[.:]?(?: in)? ?[0-9]{{4}}\b"
    rest, count = re.subn(f"{before}|{after}", " ", words)
    if count:
        raise Ask("acquisition", *offers(rest))


ALL: Final = (_midnight, _short, _day_number, _hundred, _month_in_figures, _letter_for_digit, _model_year, _acquisition)
