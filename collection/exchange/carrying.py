"""Carries an import out, row by row, each in a transaction of its own: broken off and begun again, it goes on."""

from collections.abc import Callable
from uuid import UUID

from collection.exchange.actions import Touched, end_run, hold_row, take_back_row, take_row
from collection.exchange.models import ImportRow, ImportSession
from collection.exchange.queries import counts_of
from collection.objects.actions.numbers import HasNumber, NumberTaken
from museum.errors import DomainError, Invalid
from museum.people.actor import Actor

Tell = Callable[[int, int], None]


def bring_in(actor: Actor, session: ImportSession, tell: Tell) -> dict[str, int]:
    """Takes every row without question; what the catalogue refuses becomes a question. `tell` hears done and total.

    The session is as it was begun. Raises Overtaken, as `take_back` does, where something else began with it meanwhile.
    """
    run = session.version
    left = _rows(session, ImportRow.Outcome.NEW)
    for done, row_id in enumerate(left):
        tell(done, len(left))
        try:
            take_row(actor, row_id, run=run)
        except (Invalid, NumberTaken, HasNumber) as refused:
            code = "number_taken" if isinstance(refused, DomainError) and refused.code == "number_taken" else "refused"
            hold_row(actor, row_id, run=run, code=code, sentence=refused.sentence)
    counts = counts_of(session)
    end_run(actor, session.pk, run=run, counts=counts)
    tell(len(left), len(left))
    return counts


def take_back(actor: Actor, session: ImportSession, tell: Tell, reason: str = "") -> int:
    """Withdraws all that nothing later touched; answers how many stay."""
    run, made = session.version, _rows(session, ImportRow.Outcome.TAKEN)
    stay = 0
    for done, row_id in enumerate(made):
        tell(done, len(made))
        try:
            take_back_row(actor, row_id, run=run, reason=reason)
        except Touched:
            stay += 1
    end_run(actor, session.pk, run=run, counts=counts_of(session), undone=stay == 0)
    tell(len(made), len(made))
    return stay


def _rows(session: ImportSession, outcome: str) -> list[UUID]:
    return list(session.rows.filter(outcome=outcome).order_by("n", "part").values_list("pk", flat=True))
