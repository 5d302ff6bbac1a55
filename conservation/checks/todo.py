"""What is theirs: the looks, rounds and unanswered calls that one person should know of today."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from django.db.models import Count, Q

from conservation.checks.models import Draft, Due, Round
from locations.climate.machines import MachineLog, in_trouble
from museum import clock
from museum.people.actor import Actor

#: how far ahead a person is told
AHEAD = timedelta(days=7)


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
    """One person's day. `overdue` and `soon` count objects, for those who plan rounds. `later`: rounds too early to walk."""

    rounds: Sequence[RoundToWalk]
    drafts: Sequence[Draft]
    overdue: int
    soon: int
    urgent: int
    #: dehumidifiers that seem to have stopped, or whose tanks tell of a leak
    machines: Sequence[MachineLog] = ()
    later: Sequence[RoundToWalk] = ()

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
    """Objects overdue, due within the week, and of urgency 3."""
    today = clock.today()
    rows = Due.objects.filter(on__lte=today + AHEAD)
    return rows.aggregate(
        overdue=Count("object", filter=Q(on__lt=today), distinct=True),
        soon=Count("object", filter=Q(on__gte=today), distinct=True),
        urgent=Count("object", filter=Q(urgency=3), distinct=True),
    )
