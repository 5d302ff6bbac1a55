"""Who is needed: the highest that a finding, a hazard, the urgency or an event asks for."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from conservation.rules.grading import Context, Graded
from conservation.rules.reasons import Reason
from conservation.rules.tables import STANDINGS, terms

__all__ = ["STANDINGS", "Needed", "highest", "who_is_needed"]

#: roles of the house that stand elsewhere under another name; every other unknown one stands as a volunteer
STANDS_AS: Final = {"conservator only": "conservator"}
#: who has the last word on a finding whose term has left the table
OF_UNKNOWN_TERM: Final = "curator"


@dataclass(frozen=True, slots=True)
class Needed:
    """The lowest standing that will do, and every reason that asks for it."""

    who: str
    reasons: Sequence[Reason]


def highest(standings: Iterable[str]) -> str:
    """The highest of these; volunteer for none. Raises ValueError for an unknown one."""
    return STANDINGS[max((STANDINGS.index(standing) for standing in standings), default=0)]


def standing_of(role: str) -> str:
    """How a role or qualification stands at the gate: a registrar or a board member as a volunteer, unless also more."""
    named = STANDS_AS.get(role, role)
    return named if named in STANDINGS else STANDINGS[0]


def stands_below(role: str, needed: str) -> bool:
    """Whether a role stands below the one that is asked for."""
    return STANDINGS.index(standing_of(role)) < STANDINGS.index(standing_of(needed))


def who_is_needed(findings: Iterable[Graded], context: Context, *, urgency: int, event: bool = False) -> Needed:
    """Highest of what terms, open hazards, urgency, an event, or new damage on a loan's return ask for."""
    demands = [*_of_findings(findings), *_of_the_rest(context, urgency, event)]
    who = highest(standing for standing, _ in demands)
    return Needed(who, [reason for standing, reason in demands if standing == who] or [Reason("asks_nothing")])


def _of_findings(findings: Iterable[Graded]) -> Iterable[tuple[str, Reason]]:
    for found in findings:
        term = terms().get(found.seen.term)
        standing = term.asks if term else OF_UNKNOWN_TERM
        yield standing, Reason("asks", {"zone": found.seen.code, "term": found.seen.term, "who": standing})


def _of_the_rest(context: Context, urgency: int, event: bool) -> Iterable[tuple[str, Reason]]:
    worst = max((hazard.level for hazard in context.hazards), default=0)
    if worst >= 3:
        yield "licensed specialist", Reason("asks_hold")
    if worst == 2:
        yield "curator", Reason("asks_hazard")
    if urgency >= 2:
        standing = "conservator" if urgency == 3 else "curator"
        yield standing, Reason("asks_urgency", {"urgency": urgency, "who": standing})
    if event:
        yield "curator", Reason("asks_event")
    if context.loan_return_new_damage:
        yield "curator", Reason("asks_loan_return")
