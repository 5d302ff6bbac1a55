"""Pages of a long list that nobody counts: a page knows whether another follows."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from django.db.models import Model, QuerySet

Row = TypeVar("Row", bound=Model)
#: nobody walks further by hand; a number typed into the address makes no large work
LAST = 1_000


@dataclass(frozen=True, slots=True)
class Page(Generic[Row]):
    """One page, as `web/pager.html` reads it."""

    object_list: Sequence[Row]
    number: int
    has_next: bool

    def __iter__(self) -> Iterator[Row]:
        return iter(self.object_list)

    @property
    def has_previous(self) -> bool:
        return self.number > 1

    @property
    def has_other_pages(self) -> bool:
        return self.has_next or self.has_previous

    @property
    def next_page_number(self) -> int:
        return self.number + 1

    @property
    def previous_page_number(self) -> int:
        return self.number - 1


def page_of(rows: QuerySet[Row], asked: str | None, size: int) -> Page[Row]:
    """The page asked for, the first where it makes no sense. One query."""
    number = int(asked) if asked and asked.isascii() and asked.isdigit() and len(asked) < 5 else 1
    number = min(max(number, 1), LAST)
    found = list(rows[(number - 1) * size : number * size + 1])
    return Page(found[:size], number, has_next=len(found) > size)
