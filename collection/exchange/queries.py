"""Questions about imports."""

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Final
from uuid import UUID

from django.db.models import Count, QuerySet

from collection.exchange.models import ImportRow, ImportSession
from museum.history.models import About

#: the act that brings a row in; whatever else tells of the object came later
_OWN = "exchange.take_row"
#: what holds no row back, and can still be answered otherwise than it is read
CAN_BE_ANSWERED: Final = frozenset({"date_span", "size_unnamed"})


def counts_of(session: ImportSession) -> dict[str, int]:
    """Rows by outcome; every row of the file is in one of them."""
    rows = session.rows.values_list("outcome").annotate(n=Count("id")).order_by()
    return dict.fromkeys(ImportRow.Outcome.values, 0) | dict(rows)


def reasons_of(session: ImportSession, outcome: str) -> list[tuple[str, int]]:
    """Why rows have this outcome, and how many each."""
    rows = session.rows.filter(outcome=outcome).values_list("reason").annotate(n=Count("id"))
    return [(reason, n) for reason, n in rows.order_by("-n", "reason")]


def touched_since(object_ids: Iterable[UUID]) -> set[UUID]:
    """Those of the objects to which something happened after they were brought in."""
    told = About.objects.filter(kind="object", key__in=list(object_ids)).exclude(change__act__action=_OWN)
    return set(told.values_list("key", flat=True))


def asking(session: ImportSession, code: str) -> "QuerySet[ImportRow]":
    """The rows of which this is to be answered, or can be answered otherwise: what was read of a span of years."""
    outcomes = [ImportRow.Outcome.QUESTION, *([ImportRow.Outcome.NEW] if code in CAN_BE_ANSWERED else [])]
    finding = {"code": code} if code in CAN_BE_ANSWERED else {"code": code, "asks": True}
    return session.rows.filter(outcome__in=outcomes, findings__contains=[finding]).order_by("n", "part")


def sorts_of(session: ImportSession) -> list[tuple[str, int]]:
    """What can be answered for all at once: sort of question and how many rows, the most first."""
    counted: Counter[str] = Counter()
    rows = session.rows.filter(outcome__in=(ImportRow.Outcome.QUESTION, ImportRow.Outcome.NEW)).exclude(findings=[])
    for findings in rows.values_list("findings", flat=True):
        counted.update({one["code"] for one in findings if one["asks"] or one["code"] in CAN_BE_ANSWERED})
    return counted.most_common()


def in_the_way(session: ImportSession) -> Sequence[ImportRow]:
    """The rows whose objects were touched since: they stay when the import is taken back."""
    rows = session.rows.filter(outcome=ImportRow.Outcome.TAKEN)
    touched = touched_since(rows.values_list("object", flat=True))
    return list(rows.filter(object__in=touched).select_related("object__card").order_by("n", "part"))
