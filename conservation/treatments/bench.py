"""What lies ready beside the thing while somebody works: batches to take from, the climate of the room, a wait that runs."""

from collections.abc import Collection, Sequence
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from collection.objects.models import Object
from conservation.rules.treatment_tables import Step
from conservation.treatments import stock
from conservation.treatments.models import Batch, Wait, Work
from conservation.treatments.stock import Verdict
from locations.climate.queries import speaks_for, told_last
from locations.places.queries import where_is
from museum import clock

#: a reading older than this says nothing of the room now
STALE: Final = timedelta(hours=3)


def batches(step: Step) -> tuple[list[Verdict], list[Verdict]]:
    """What is at hand for a step: batches of what it brings to the surface, and all others. What may be used stands first."""
    found = stock.at_hand(step.code)
    fitting = [one for one in found if one.supply.agents & step.agents]
    return fitting, [one for one in found if not one.supply.agents & step.agents and not one.refused]


def read_warnings(chosen: Sequence[UUID], ticked: Collection[str], step: str) -> list[str]:
    """The codes that were read and ticked: those of a batch count only if no other chosen batch is warned of by the same, unread."""
    warned = [one for one in stock.verdicts(Batch.objects.filter(pk__in=chosen), step or None) if one.warned]
    unread = {code for one in warned if str(one.batch.pk) not in ticked for code in one.standing.codes}
    return sorted({code for one in warned for code in one.standing.codes} - unread)


def climate_at(thing: Object) -> str:
    """What a logger last said of the place where a thing is, by its check; '' where none has spoken of late."""
    place = where_is(thing).place
    if place is None:
        return ""
    since = clock.now() - STALE
    return next((f"{one.t:.1f} °C, {one.rh:.0f} % RH" for one in told_last(speaks_for(place.pk)) if one.at >= since), "")


def waits_until(work: Work, step: str) -> datetime | None:
    """Until when to wait, whoever began it and where; nothing where no wait was begun."""
    last = Wait.objects.filter(work=work, step=step, corrected_by=None, withdraws=False).order_by("recorded_at", "id").last()
    return last.over_at if last else None
