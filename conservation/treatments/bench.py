"""What lies ready beside the thing while somebody works: batches to take from, the climate of the room, a wait that runs."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

from django.utils.formats import date_format
from django.utils.translation import gettext as _

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


@dataclass(frozen=True, slots=True)
class Air:
    """What a logger said of a place: °C, % by its check, when, and which logger."""

    logger: str
    place: str
    at: datetime
    t: float
    rh: float

    @property
    def kept(self) -> dict[str, Any]:
        """As a step keeps it."""
        return {"logger": self.logger, "place": self.place, "at": self.at.isoformat(), "t": round(self.t, 1), "rh": round(self.rh)}

    @classmethod
    def read(cls, kept: Mapping[str, Any]) -> "Air":
        """The reverse."""
        return cls(kept["logger"], kept["place"], datetime.fromisoformat(kept["at"]), kept["t"], kept["rh"])

    def __str__(self) -> str:
        """Without the place: whoever works may not know it."""
        local = self.at.astimezone(clock.zone())
        values = {"t": f"{self.t:.1f}", "rh": f"{self.rh:.0f}", "logger": self.logger}
        values["at"] = date_format(local, "SHORT_DATETIME_FORMAT")
        return _("%(t)s °C, %(rh)s %% RH (logger %(logger)s, %(at)s)") % values


def air_at(thing: Object) -> Air | None:
    """What a logger last said of the place where a thing is; None where none has spoken of late."""
    place = where_is(thing).place
    if place is None:
        return None
    now = clock.now()
    for logger in speaks_for(place.pk):
        told = told_last([logger]).get(logger.number)
        if told and told.both and now - STALE <= told.at <= now:
            return Air(logger.name, place.name, told.at, *told.both)
    return None


def waits_until(work: Work, step: str) -> datetime | None:
    """Until when to wait, whoever began it and where; nothing where no wait was begun."""
    last = Wait.objects.filter(work=work, step=step, corrected_by=None, withdraws=False).order_by("recorded_at", "id").last()
    return last.over_at if last else None
