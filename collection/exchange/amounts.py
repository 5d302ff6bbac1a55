"""Amounts of money and sums in old registers: told to whoever brings the list in, and kept in words. No database.

A value without its day, its valuer and its basis is no valuation, so no figure is made of it; the words stay in the
record as they stood, with the currency or the doubt that they carry. The line that sums up the list is held against it.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from collection.exchange.columns import Way, cell_at
from collection.exchange.finding import Finding
from collection.exchange.words import bare, table

_CURRENCY: Final = r"[£$€¥]|[A-Z]{3}|[Ff]r\.?|DM|Mk\.?"
#: a currency that a heading names behind or in brackets: 'Value (£)', 'Wert in EUR'
_IN_HEADINGS: Final = re.compile(r"\s*(?:\b(?i:in)\s+)?[(\[]?\s*(?:[£$€¥]|\b[A-Z]{3}\b|\bDM\b)\s*[)\]]?\s*$")
_AMOUNT: Final = re.compile(rf"(?P<before>{_CURRENCY})?\s*(?P<figure>\d[\d.,'’]*)\s*(?P<after>{_CURRENCY})?")
_ITEMS: Final = re.compile(r"(\d+)\s+(items?|objects?|things?|pieces?|stück|objekte?|pièces?|objets?)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Amount:
    """What a cell says: its figure where it can be read in one way, and what is to be told of it."""

    figure: Decimal | None
    codes: tuple[str, ...] = ()


def read_amount(text: str) -> Amount:
    """'£400' is 400 with a currency; '1.500,00' is 1500 in a form to be told; '1.500' may be two things; '20 each' is none."""
    found = _AMOUNT.fullmatch(text.strip())
    if found is None:
        return Amount(None, ("value_text",))
    digits = re.sub("['’]", "", found["figure"]).rstrip(".,")
    marks = re.findall("[.,]", digits)
    codes = ("currency",) if found["before"] or found["after"] else ()
    if not marks:
        return Amount(Decimal(digits), codes)
    whole, last = re.split("[.,]", digits)[:-1], re.split("[.,]", digits)[-1]
    if len(set(marks)) == 2 and marks.count(marks[-1]) == 1:
        return Amount(Decimal("".join(whole) + "." + last), (*codes, "number_format"))
    if len(marks) == 1 and len(last) != 3:
        return Amount(Decimal(f"{whole[0]}.{last}"), codes)
    return Amount(None, (*codes, "number_format"))


def amount_columns(way: Way) -> list[int]:
    """The columns that hold values, by their headings, whatever currency these name."""
    return [column for column in sorted(way.columns) if way.columns[column] != "ignore" and _without_currency(way.heading_of(column)) in table()["amounts"]]


def _without_currency(heading: str) -> str:
    return bare(_IN_HEADINGS.sub(" ", heading))


def amount_findings(way: Way, cells: Sequence[str]) -> Iterator[Finding]:
    """What is told of each value that is more than a bare figure. None asks: the words stay."""
    for column in amount_columns(way):
        if text := cell_at(cells, column):
            yield from (Finding(code, column, asks=False, data={"text": text[:200]}) for code in read_amount(text).codes)


def total_findings(way: Way, total: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[Finding]:
    """Where the line that sums up the list says another number of things, or another sum, than the rows above it."""
    said = next((int(found[1]) for cell in total if (found := _ITEMS.search(cell))), None)
    if said is not None and said != len(rows):
        yield Finding("total_count", asks=False, data={"said": said, "counted": len(rows)})
    for column in amount_columns(way):
        whole = read_amount(cell_at(total, column)).figure if cell_at(total, column) else None
        amounts = [read_amount(text).figure for row in rows if (text := cell_at(row, column))]
        come_to = sum((one for one in amounts if one is not None), Decimal(0))
        if whole is not None and whole != come_to:
            yield Finding("total_sum", column, asks=False, data={"said": str(whole), "counted": str(come_to), "unread": amounts.count(None)})
