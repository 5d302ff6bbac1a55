"""Reads what lower parts of the house changed since last time, and judges and dates those objects again.

A move, a material, a hazard, a booking or a significance changes what is due; the parts that hold them know
nothing of checks, so this part reads their history entries since its own mark. What says something else is judged again
by the program, under an act of its own. Two things come without an entry: the day on which a booked use comes near, and
rules that changed. Changed rules date everything anew (`State.rules_version` says what is still behind, so that it can be
cut short and goes on); what was judged by the former ones stays judged until a fact or a look asks again.

One object that breaks the work off keeps no other waiting: it is noted (`Unjudged`), shown to those who care, and tried
again when it is touched and once a day.
"""

import logging
from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import date, timedelta
from uuid import UUID

from django.db import InterfaceError, OperationalError, transaction
from django.db.models import QuerySet

from collection.objects.bookings import near
from conservation.checks import derived, judging
from conservation.checks.actions.again import judge_anew
from conservation.checks.facts import Facts
from conservation.checks.models import Mark, State, Unjudged
from conservation.rules.book import held
from conservation.rules.ruleset import rules_in_force
from locations.places import placing
from locations.places.queries import objects_below
from museum import clock
from museum.history.models import About, Change
from museum.people.actor import PROGRAM

NAME = "checks"
BOOKINGS = "bookings"
RULES = "rules"
#: what changes a judgement or a date, by the first word of the history entry
CONCERNS = ("object", "component", "made_of", "hazard", "screen", "statement", "movement", "place", "zone", "ownership", "booking")
AT_ONCE = 2_000
SOME = 200
#: what broke the work off is tried again after so long
ANOTHER_TRY = timedelta(days=1)
log = logging.getLogger(__name__)


def catch_up() -> int:
    """Brings up to date every object that lower parts, the calendar or the rules touched since the last call; answers how many."""
    with held():
        return _follow_entries() + _follow_bookings() + _follow_rules() + _try_again()


def _follow_entries() -> int:
    total = 0
    while True:
        with transaction.atomic():
            touched, seen, more = _touched()
            _again(touched)
            with_each(sorted(seen - touched), placing.restate)
        total += len(touched)
        if not more:
            return total


def _follow_bookings() -> int:
    """Once a day, whatever is booked to begin within the days that escalate, or began since the last day."""
    with transaction.atomic():
        mark, today = mark_of(BOOKINGS), clock.today()
        if mark.n >= today.toordinal():
            return 0
        since = date.fromordinal(mark.n) if mark.n else today
        touched = near(since, today, rules_in_force().planned_use_days)
        _again(touched)
        mark.n = today.toordinal()
        mark.save(update_fields=["n"])
    return len(touched)


def _follow_rules() -> int:
    """Dates anew, some hundreds at a time, what is dated by other rules than those of now."""
    version, total = rules_in_force().version, 0
    while True:
        with transaction.atomic():
            mark_of(RULES)
            broken = Unjudged.objects.values("object")
            behind = list(State.objects.exclude(rules_version=version).exclude(pk__in=broken).values_list("pk", flat=True)[:SOME])
            with_each(behind, derived.refresh)
        total += len(behind)
        if len(behind) < SOME:
            return total


def _try_again() -> int:
    """Tries once a day what broke off."""
    with transaction.atomic():
        mark_of(RULES)
        broken = list(Unjudged.objects.filter(tried_at__lt=clock.now() - ANOTHER_TRY).values_list("pk", flat=True)[:SOME])
        _again(broken)
    return len(broken)


def _again(touched: Iterable[UUID]) -> None:
    with_each(sorted(touched), _judged_and_dated)


def _judged_and_dated(object_ids: Sequence[UUID]) -> None:
    if changed := [object_id for object_id in object_ids if judging.stale(Facts(object_id))]:
        judge_anew(PROGRAM, changed)
    derived.refresh(object_ids)
    placing.restate(object_ids)


def with_each(object_ids: Sequence[UUID], work: Callable[[Sequence[UUID]], None]) -> None:
    """Does the work on all at once; where that breaks off, on one after the other, and notes those that break it."""
    if _done(object_ids, work):
        broken: list[UUID] = []
    else:
        broken = [object_id for object_id in object_ids if not _done([object_id], work)]
    Unjudged.objects.filter(pk__in=set(object_ids) - set(broken)).delete()
    rows = [Unjudged(object_id=object_id) for object_id in broken]
    Unjudged.objects.bulk_create(rows, update_conflicts=True, unique_fields=["object"], update_fields=["tried_at"])


def _done(object_ids: Collection[UUID], work: Callable[[Sequence[UUID]], None]) -> bool:
    try:
        with transaction.atomic():
            work(list(object_ids))
    except (OperationalError, InterfaceError):
        # The database, not an object: all of it is done again at the next call.
        raise
    except Exception:
        log.exception("judging broke off at %s", ", ".join(map(str, object_ids)) if len(object_ids) == 1 else f"one of {len(object_ids)} objects")
        return False
    return True


def mark_of(name: str) -> Mark:
    """The mark of this name, locked: two workers never do the same."""
    Mark.objects.get_or_create(name=name)
    return Mark.objects.select_for_update().get(name=name)


def _touched() -> tuple[set[UUID], set[UUID], bool]:
    """Objects named by the next entries, those only looked at, the mark moved past them, and whether more entries wait."""
    mark = mark_of(NAME)
    entries = list(Change.objects.filter(n__gt=mark.n).order_by("n").values_list("n", "what")[:AT_ONCE])
    if not entries:
        return set(), set(), False
    concerned = [n for n, what in entries if what.partition(".")[0] in CONCERNS]
    checked = [n for n, what in entries if what == "check.recorded"]
    touched, seen = (set(_named(ns, "object")) for ns in (concerned, checked))
    for place in set(_named([n for n, what in entries if what == "place.changed"], "place")):
        touched |= set(objects_below(place))
    mark.n = entries[-1][0]
    mark.save(update_fields=["n"])
    return touched, seen, len(entries) == AT_ONCE


def _named(entries: Sequence[int], kind: str) -> "QuerySet[About, UUID]":
    """The keys of what entries are about. One about a place names no more things in it than an entry may."""
    return About.objects.filter(change_id__in=entries, kind=kind).values_list("key", flat=True)
