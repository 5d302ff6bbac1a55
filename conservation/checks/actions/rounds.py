"""Rounds: the walking list of what is due, shared without double work."""

from collections.abc import Collection
from datetime import date, timedelta
from uuid import UUID

from django.db.models import Q, QuerySet
from django.utils.translation import gettext_lazy as _

from conservation.checks.models import ConditionCheck, Due, Round, Stop
from conservation.checks.opening import next_open_day
from locations.places.queries import places_below
from museum import clock
from museum.errors import DomainError, Invalid, NotFound
from museum.history.record import lock
from museum.people.action import Act, action
from museum.people.models import Person, Society

#: how long a stop stays with the person who stands there
CLAIM = timedelta(minutes=30)
#: a round longer than this is not walked in a day
MOST_STOPS = 500


class Claimed(DomainError):
    """Somebody else stands at this stop."""

    code = "claimed"
    template = _("%(who)s is at this one until %(until)s. Take the next one; this one stays on the list.")


@action("checks.make_round", may="round.make")
def make_round(act: Act, *, name: str, due_by: date, place_id: UUID | None = None, walkers: Collection[UUID] = ()) -> Round:
    """A walking list of all that is due by a day, in the walking order of the places. Raises Invalid when nothing is."""
    # Of two rounds made at once the second leaves out what is in the first.
    lock("rounds")
    rows = _due(due_by, place_id)
    if not rows:
        raise Invalid(_("Nothing is due there by that day. Choose a later day or a larger place."), field="due_by")
    made = Round(id=act.id, name=name.strip() or str(_("Round")), place_id=place_id, due_by=due_by, made_by_id=act.actor.person)  # type: ignore[misc]
    made.save(force_insert=True)
    made.walkers.set(Person.objects.filter(pk__in=list(walkers)))
    Stop.objects.bulk_create(Stop(round=made, object_id=row.object_id, position=n, sort=row.sort, why=row.why) for n, row in enumerate(rows, start=1))
    act.wrote("round.made", made, after={"name": made.name, "due_by": due_by, "stops": len(rows)})
    return made


def _due(due_by: date, place_id: UUID | None) -> list[Due]:
    """One row an object, the most thorough look of those due; in walking order."""
    rows = Due.objects.exclude(object__stops__in=_open_stops())
    rows = rows.filter(Q(on__lte=due_by) | _on_the_way(due_by))
    if place_id is not None:
        rows = rows.filter(place__in=places_below(place_id))
    best: dict[UUID, Due] = {}
    rank = {"full": 0, "follow_up": 1, "quick": 2}
    for row in rows.select_related("object__card", "place").order_by("place__path_key", "object__card__number_sort", "on"):
        if row.object_id not in best or rank[row.sort] < rank[best[row.object_id].sort]:
            best[row.object_id] = row
    return list(best.values())[:MOST_STOPS]


def _on_the_way(due_by: date) -> Q:
    """Follow-ups of a shelf where one stands anyway, that fall due by the next opening day: one visit does for all."""
    horizon = next_open_day(due_by, Society.load().opening_days)
    shelves = Due.objects.filter(on__lte=due_by, sort=ConditionCheck.Sort.FOLLOW_UP, place__isnull=False).values("place")
    return Q(sort=ConditionCheck.Sort.FOLLOW_UP, on__lte=horizon, place__in=shelves)


def _open_stops() -> "QuerySet[Stop]":
    """Of the rounds that are walked for what is due; those of an incident come besides, months ahead."""
    return Stop.objects.filter(round__closed_at=None, round__incident=None, done_by=None, left_out="")


@action("checks.claim_stop", may="round.walk")
def claim_stop(act: Act, stop_id: UUID) -> Stop:
    """Stands at a stop for a while, so that nobody else starts there. Raises Claimed."""
    moved = Stop.objects.filter(
        Q(claimed_by=None) | Q(claimed_by=act.actor.person) | Q(claimed_until__lt=act.now), pk=stop_id, done_by=None, left_out=""
    ).update(claimed_by=act.actor.person, claimed_until=act.now + CLAIM)
    stop = Stop.objects.select_related("claimed_by", "round").filter(pk=stop_id).first()
    if stop is None:
        raise NotFound()
    if not moved and stop.claimed_by is not None and stop.done_by_id is None:
        until = (stop.claimed_until or act.now).astimezone(clock.zone())
        raise Claimed(who=stop.claimed_by.name, until=f"{until:%H:%M}")
    return stop


@action("checks.leave_out_stop", may="round.walk")
def leave_out_stop(act: Act, stop_id: UUID, *, reason: str) -> Stop:
    """Says why a stop was not looked at; what was due stays due."""
    if not reason.strip():
        raise Invalid(_("Say why it was left out."), field="reason")
    stop = Stop.objects.select_for_update().filter(pk=stop_id, done_by=None).first()
    if stop is None:
        raise NotFound()
    stop.left_out = reason.strip()
    stop.version += 1
    stop.save(update_fields=["left_out", "version"])
    act.wrote("round.left_out", stop, after={"reason": stop.left_out}, about=[("object", stop.object_id)])
    return stop


@action("checks.close_round", may="round.make")
def close_round(act: Act, round_id: UUID) -> Round:
    """Ends a round; what was not looked at stays due and comes into the next."""
    lock(f"round:{round_id}")
    found = Round.objects.filter(pk=round_id).first()
    if found is None:
        raise NotFound()
    if found.closed_at is None:
        found.closed_at, found.version = act.now, found.version + 1
        found.save(update_fields=["closed_at", "version"])
        act.wrote("round.closed", found, after={"left": found.stops.filter(done_by=None).count()})
    return found


def finish_stop(act: Act, stop_id: UUID, check: ConditionCheck) -> None:
    """The check made at a stop ends it, whoever had claimed it."""
    Stop.objects.filter(pk=stop_id, object_id=check.object_id, done_by=None).update(done_by=check, claimed_until=None)
