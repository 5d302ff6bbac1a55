"""Questions about imports."""

from collections.abc import Iterable, Sequence
from uuid import UUID

from django.db.models import Count

from collection.exchange.models import ImportRow, ImportSession
from museum.history.models import About

#: the act that brings a row in; whatever else tells of the object came later
_OWN = "exchange.take_row"


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


def in_the_way(session: ImportSession) -> Sequence[ImportRow]:
    """The rows whose objects were touched since: they stay when the import is taken back."""
    rows = session.rows.filter(outcome=ImportRow.Outcome.TAKEN)
    touched = touched_since(rows.values_list("object", flat=True))
    return list(rows.filter(object__in=touched).select_related("object__card").order_by("n"))
