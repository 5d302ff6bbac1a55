"""What counts now, and what was changed: the questions that doors ask of the stored versions."""

from typing import Final

from django.db.models import QuerySet

from conservation.rules.book import Book, shipped_book
from conservation.rules.every import TABLES
from conservation.rules.models import RuleChange, ShippedRow
from museum.prepared import Prepared

#: the newest change that was read and the book made of it; a number is never given twice
_kept: Final[dict[int, Book]] = {}
_NEWEST = Prepared(lambda: RuleChange.objects.order_by("-n").values_list("n", flat=True)[:1])


def book_now() -> Book:
    """The tables as the society has them, read anew only where a change came since: one small question each time."""
    newest = _NEWEST.first()
    if newest is None:
        return shipped_book()
    book = _kept.get(newest)
    if book is None:
        book = Book({(row.table, row.code): row.content for row in latest() if not row.withdrawn and row.table in TABLES})
        _kept.clear()
        _kept[newest] = book
    return book


def latest() -> "QuerySet[RuleChange]":
    """The last version of each row that the society ever changed."""
    return RuleChange.objects.order_by("table", "code", "-version").distinct("table", "code")


def last_change(table: str, code: str) -> RuleChange | None:
    """The society's last word on a row."""
    return RuleChange.objects.filter(table=table, code=code).select_related("author").order_by("-version").first()


def last_shipped(table: str, code: str) -> ShippedRow | None:
    """The row as shipped last."""
    return ShippedRow.objects.filter(table=table, code=code).order_by("-version").first()
