"""What lies ready beside the thing while somebody works: batches to take from, the climate of the room, a wait that runs."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

import numpy as np
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from collection.objects.models import Component, Object
from conservation.rules.treatment_tables import Step
from conservation.treatments import stock
from conservation.treatments.models import Batch, Wait, Work, WorkStep
from conservation.treatments.stock import Verdict
from locations.climate.models import Logger
from locations.climate.queries import Series, corrected_rh, counted, speaks_for, told_last
from locations.climate.science.values import Floats
from locations.climate.storing import moment
from locations.places.models import Movement, Place, Stay
from locations.places.queries import where_is
from museum import clock

#: a reading older than this says nothing of the room now
STALE: Final = timedelta(hours=3)
#: what makes the end of a span count as within it
TICK: Final = timedelta(seconds=1)


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
    #: not known at the time: read out of a file that came after
    later: bool = False

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
        if self.later:
            return _("%(t)s °C, %(rh)s %% RH (logger %(logger)s, %(at)s; added later, from its file)") % values
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


def airs_of(thing: Object, steps: Sequence[WorkStep]) -> list[Air | None]:
    """The air at each of these steps: as kept with it, else as a logger's file tells that came after it. What was kept stays as it is."""
    later = _airs_then(thing, [row.happened_at for row in steps if row.reading is None and row.happened_at])
    return [Air.read(row.reading) if row.reading else later.get(row.happened_at) for row in steps]


def _airs_then(thing: Object, instants: Sequence[datetime]) -> dict[datetime | None, Air]:
    """What was read nearest to each instant, `STALE` from it at the most, where the thing was then."""
    if not instants:
        return {}
    first, last = min(instants), max(instants)
    stays = Stay.objects.filter(component__object=thing, component__sort=Component.Sort.MAIN, during__overlap=(first, last + TICK), to=Movement.To.PLACE)
    found: dict[datetime | None, Air] = {}
    for stay in stays.select_related("place"):
        within = [at for at in instants if at in stay.during]
        if stay.place and within:
            loggers = speaks_for(stay.place.pk, within[0])
            series = counted(loggers, min(within) - STALE, max(within) + STALE + TICK) if loggers else {}
            told = [(one, series[one.number], corrected_rh(one, series[one.number])) for one in loggers]
            found |= {at: air for at in within if (air := _nearest(stay.place, told, at))}
    return found


def _nearest(place: Place, told: Sequence[tuple[Logger, Series, Floats]], at: datetime) -> Air | None:
    """Of the first logger that says both, the reading nearest to an instant."""
    for logger, series, humidity in told:
        apart = np.where(np.isnan(series.t) | np.isnan(humidity), np.inf, np.abs(series.at - at.timestamp()))
        if apart.size and apart.min() <= STALE.total_seconds():
            i = int(apart.argmin())
            return Air(logger.name, place.name, moment(int(series.at[i])), float(series.t[i]), float(humidity[i]), later=True)
    return None


def waits_until(work: Work, step: str) -> datetime | None:
    """Until when to wait, whoever began it and where; nothing where no wait was begun."""
    last = Wait.objects.filter(work=work, step=step, corrected_by=None, withdraws=False).order_by("recorded_at", "id").last()
    return last.over_at if last else None
