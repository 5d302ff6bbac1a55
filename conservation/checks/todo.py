"""What is theirs: the looks, rounds and unanswered calls that one person should know of today."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from django.db import connection
from django.db.models import Count, Q
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from conservation.checks.models import Draft, Round
from locations.climate.machines import MachineLog, in_trouble
from museum import clock
from museum.people.actor import Actor

#: how far ahead a person is told
AHEAD = timedelta(days=7)
#: nobody plans more things than so many at once, so that no more are counted; and of how many dates
MOST_COUNTED, DATES_READ = 1_000, 4_000
_COUNTED = """
SELECT CASE count(*) WHEN %(dates)s THEN %(most)s ELSE least(count(DISTINCT object_id), %(most)s) END
  FROM (SELECT object_id FROM checks_due WHERE {which} LIMIT %(dates)s) dates
"""
_WHICH = {"overdue": '"on" < %(today)s', "soon": '"on" BETWEEN %(today)s AND %(ahead)s', "urgent": 'urgency = 3 AND "on" <= %(ahead)s'}
_COUNTS = "SELECT " + ", ".join(f"({_COUNTED.format(which=which)})" for which in _WHICH.values())


@dataclass(frozen=True, slots=True)
class RoundToWalk:
    """An open round with how much of it is left. `on_its_day`: one of an outbreak, which tells nothing if walked weeks before."""

    id: UUID
    name: str
    due_by: date
    stops: int
    left: int
    on_its_day: bool = False

    @property
    def done(self) -> int:
        """How many of its stops are finished."""
        return self.stops - self.left


@dataclass(frozen=True, slots=True)
class Todo:
    """One person's day. `overdue`, `soon` and `urgent` count objects, to MOST_COUNTED, for those who plan rounds. `later`: rounds too early to walk."""

    rounds: Sequence[RoundToWalk]
    drafts: Sequence[Draft]
    overdue: int
    soon: int
    urgent: int
    #: dehumidifiers that seem to have stopped, or whose tanks tell of a leak
    machines: Sequence[MachineLog] = ()
    later: Sequence[RoundToWalk] = ()

    @property
    def counts(self) -> dict[str, str]:
        """The three counts in words: one that reached the most that is counted says so."""
        return {"overdue": _words(self.overdue), "soon": _words(self.soon), "urgent": _words(self.urgent)}

    @property
    def empty(self) -> bool:
        """Whether nothing waits today."""
        return not (self.rounds or self.drafts or self.overdue or self.soon or self.urgent or self.machines)


def todo_of(actor: Actor) -> Todo:
    """What this person should know of today; four queries at most; two more where a tank was ever emptied, and the air of the room where one stopped."""
    plans = actor.may("round.make")
    counts = due_counts() if plans else {"overdue": 0, "soon": 0, "urgent": 0}
    rounds = rounds_of(actor.person, every=plans)
    later = [one for one in rounds if one.on_its_day and one.due_by > clock.today() + AHEAD]
    return Todo(
        rounds=[one for one in rounds if one not in later],
        later=later,
        drafts=list(Draft.objects.filter(person_id=actor.someone).select_related("object__card").order_by("-saved_at")[:10]),
        machines=in_trouble() if actor.may("climate.see") else (),
        **counts,
    )


def rounds_of(person: UUID | None, *, every: bool) -> list[RoundToWalk]:
    """The open rounds that a person walks; those who make rounds see all."""
    rounds = Round.objects.filter(closed_at=None)
    if not every:
        rounds = rounds.filter(walkers=person)
    rows = rounds.annotate(
        all_stops=Count("stops", distinct=True),
        open_stops=Count("stops", filter=Q(stops__done_by=None, stops__left_out=""), distinct=True),
    ).order_by("due_by", "name")
    return [RoundToWalk(row.id, row.name, row.due_by, row.all_stops, row.open_stops, row.incident_id is not None) for row in rows if row.open_stops]


def due_counts() -> dict[str, int]:
    """Objects overdue, due within the week, and of urgency 3; each to MOST_COUNTED."""
    today = clock.today()
    with connection.cursor() as cursor:
        cursor.execute(_COUNTS, {"today": today, "ahead": today + AHEAD, "most": MOST_COUNTED, "dates": DATES_READ})
        return dict(zip(_WHICH, cursor.fetchone(), strict=True))


def _words(count: int) -> str:
    told = number_format(count, force_grouping=True)
    return _("%(count)s or more") % {"count": told} if count >= MOST_COUNTED else told
