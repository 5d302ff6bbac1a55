"""Two more readings of a room's air for paper: the band it keeps about its own seasons, and what it comes to beside a colder wall."""

from datetime import date, timedelta
from typing import Any, Final

import numpy as np

from locations.climate.air import outdoors_for
from locations.climate.models import LoggerStay, Wall
from locations.climate.science.fluctuations import Band, historic_band
from locations.climate.science.lived import DAMP
from locations.climate.science.series import ENOUGH
from locations.climate.science.surfaces import surface_rh, wall_temperature
from locations.climate.science.tables import highest
from locations.climate.science.values import Floats, NoValue
from locations.climate.walls import walls_in
from museum import clock
from reports.documents import aired
from reports.documents.periods import Period

#: days of the record that the band is made of: thirteen months
BAND_DAYS: Final = 396
#: walls so much colder than the air, K (ours: inner faces of solid outside walls in winter)
COLDER: Final = (2, 4, 6)


def band(found: aired.RoomAir) -> dict[str, Any]:
    """Of the thirteen months that end with the last day asked for; why there is none where there is none.

    A record starts anew where a logger came, went or was exchanged (EN 15757:2010 as the reference has it).
    """
    first = found.span.last - timedelta(days=BAND_DAYS - 1)
    record = aired.room_air(found.place.pk, Period(first, found.span.last))
    told = {"first": first.isoformat(), "last": found.span.last.isoformat()}
    if _changed(record, first):
        return told | {"why": "changed"}
    if int(record.read.sum()) < ENOUGH * BAND_DAYS * 24:
        return told | {"why": "too_little"}
    try:
        return told | {"why": ""} | _band(historic_band(record.rh))
    except NoValue:
        return told | {"why": "too_little"}


def _band(one: Band) -> dict[str, Any]:
    return {
        "p7": f"{one.p7:+.1f}", "p93": f"{one.p93:+.1f}", "low": f"{one.low:+.1f}", "high": f"{one.high:+.1f}", "inside": f"{one.inside:.1f}",
        "hours": one.hours, "widened": one.low < one.p7 or one.high > one.p93,
    }  # fmt: skip


def _changed(record: aired.RoomAir, first: date) -> bool:
    if len(record.air.loggers) > 1:
        return True
    begin, end = clock.start_of(first), clock.start_of(record.span.last)
    stays = LoggerStay.objects.filter(logger__in=record.air.loggers, during__overlap=(begin, end)).values_list("during", flat=True)
    return any(during.lower > begin or (during.upper is not None and during.upper < end) for during in stays)


def beside_walls(found: aired.RoomAir) -> list[dict[str, Any]]:
    """What the air of the known hours comes to at surfaces so many K colder: mean, hours above 65 and 80 %, hours of dew.

    At the walls that were told by the last day, those told by their quality hour by hour with the air outdoors; where none was, at walls of each of COLDER.
    """
    known = found.air.known
    t, rh = found.air.hour_t[known], found.air.hour_rh[known]
    if not len(t):
        return []
    told = walls_in(found.place.pk, clock.start_of(found.span.last + timedelta(days=1)) - timedelta(seconds=1))
    return [_beside(t, rh, _surface(one, found, t), one) for one in told] or [_beside(t, rh, t - colder, colder=colder) for colder in COLDER]


def _surface(wall: Wall, found: aired.RoomAir, t: Floats) -> Floats:
    """°C of a wall in the known hours of the room; NaN where it goes by the air outdoors and nobody told that."""
    if not wall.quality:
        return t - (wall.colder or 0.0)
    outdoors = outdoors_for(wall.place_id, found.air.begin, found.air.end)[found.air.known]
    return np.asarray(wall_temperature(t, outdoors, wall.quality))


def _beside(t: Floats, rh: Floats, t_s: Floats, told: Wall | None = None, *, colder: float = 0.0) -> dict[str, Any]:
    at_wall = np.asarray(surface_rh(t, np.minimum(rh, 100.0), t_s))
    unknown = int(np.isnan(at_wall).sum())
    at_wall = at_wall[~np.isnan(at_wall)]
    mean = f"{min(100.0, float(at_wall.mean())):.0f}" if len(at_wall) else ""
    colder = (told.colder or 0.0) if told else colder
    return {
        "colder": (int(colder) if colder == int(colder) else colder) or "", "quality": f"{told.quality:.2f}" if told and told.quality else "",
        "where": told.place.name if told else "", "unknown": unknown,
        "measured": told.measured_on.isoformat() if told and told.measured_on else "", "mean": mean,
        "damp": int((at_wall > DAMP).sum()), "mould": int((at_wall > highest("surface_mould")).sum()),
        "dew": int((at_wall >= 100).sum()),
    }  # fmt: skip
