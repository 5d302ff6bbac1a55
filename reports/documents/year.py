"""When looks fall in a time to come, if nothing is found and everybody looks on the day: a plan, from what is due now. Pure."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

#: minutes for a helmet; ours, as the reference says
MINUTES: Final = {"full": 15, "quick": 1, "follow_up": 5, "card": 2}


@dataclass(frozen=True, slots=True)
class Look:
    """A look planned: its sort, its day, whether that day is the first one due (later ones follow from it), whether it is overdue."""

    on: date
    sort: str
    first: bool
    overdue: bool = False


def looks(full: tuple[date, int], quick: tuple[date, int], begin: date, end: date) -> list[Look]:
    """Full checks and quick looks from `begin` to `end`: each as day first due and days from one to the next; a full check counts as a quick look.

    What is overdue falls on the first day.
    """
    (full_on, full_days), (quick_on, quick_days) = full, quick
    found: list[Look] = []
    first = {"full": True, "quick": True}
    while min(full_on, quick_on) <= end:
        sort = "full" if full_on <= quick_on else "quick"
        due = full_on if sort == "full" else quick_on
        day = max(due, begin)
        found.append(Look(day, sort, first[sort], due < begin))
        first[sort] = False
        if sort == "full":
            full_on = day + timedelta(days=full_days)
            first["quick"] = False
        quick_on = day + timedelta(days=quick_days)
    return found


def months_from(begin: date) -> list[date]:
    """The first days of the twelve months from that of `begin` on."""
    found = [begin.replace(day=1)]
    while len(found) < 12:
        found.append((found[-1] + timedelta(days=32)).replace(day=1))
    return found


def end_of(begin: date) -> date:
    """The last day of those twelve months."""
    return (months_from(begin)[-1] + timedelta(days=32)).replace(day=1) - timedelta(days=1)
