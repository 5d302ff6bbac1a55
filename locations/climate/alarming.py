"""Keeps the alarms up to date: reads the history since its mark and counts anew the places whose air that touches.

Of a place touched its whole record is counted, so that the alarms are those of from nothing, in whatever order files came; the open air gives none.
Each place is told by itself and the mark moves last: nobody waits for the history meanwhile, and what breaks off is counted again.
"""

import logging
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final
from uuid import UUID

from django.db import InterfaceError, OperationalError, transaction
from django.db.models import Max, Q, QuerySet

from locations.climate.actions.alarms import differences, tell_alarms
from locations.climate.air import at_walls, heard_air
from locations.climate.alarms import Spell, alarms_of, moulds_at_wall, without_doubles
from locations.climate.following import HEARS_ANEW
from locations.climate.hearing import HOUR, NEVER, ColdWall, Heard, Hearing, open_air
from locations.climate.models import ClimateAlarm, ClimateFile, ExposureMark
from museum import clock
from museum.history.models import Change
from museum.history.record import alone
from museum.people.actor import PROGRAM

NAME: Final = "alarms"
OF_WALLS: Final = ("place.wall_told", "place.wall_ended")
log = logging.getLogger(__name__)


def catch_up() -> int:
    """Counts anew what changed since the last call, unless somebody else is at it; answers how many alarms were told, corrected, ended or withdrawn."""
    with alone(NAME) as mine:
        if not mine:
            return 0
        mark, _made = ExposureMark.objects.get_or_create(name=NAME)
        last = Change.objects.aggregate(last=Max("n"))["last"] or 0
        told = _count(_touched(Change.objects.filter(n__gt=mark.n, n__lte=last)))
        mark.n = last
        mark.save(update_fields=["n"])
        return told


def rebuild() -> int:
    """Counts every place anew; where nothing changed, nothing is written."""
    return _count(None)


def spells_of(parts: Sequence[Heard]) -> list[Spell]:
    """The alarms of what a place heard, in order; from the first hour of the first voice to now."""
    heard = _till_now(parts)
    if not heard:
        return []
    begin, end = heard[0].begin, heard[-1].end
    air = heard_air(heard, begin, end)
    return alarms_of(air.hour_t, air.hour_rh, begin, heard=parts[-1].end == NEVER)


def spells_at_wall(parts: Sequence[Heard]) -> list[Spell]:
    """The alarms of mould of what a place heard while it stood against a wall told to be colder: each says which, as it was told last."""
    walled = [one for one in parts if one.wall]
    heard = _till_now(walled)
    if not heard:
        return []
    begin, end = heard[0].begin, heard[-1].end
    found = moulds_at_wall(*at_walls(heard_air(heard, begin, end)), begin, heard=walled[-1].end == NEVER)
    return [_of_wall(one, [part.wall for part in heard if part.wall and part.begin < one.last and part.end > one.begin][-1]) for one in found]


def _of_wall(spell: Spell, wall: ColdWall) -> Spell:
    return replace(spell, colder=wall.colder, quality=wall.quality)


def _till_now(parts: Iterable[Heard]) -> list[Heard]:
    now = int(clock.now().timestamp()) // HOUR + 1
    return [one.between(one.begin, now) for one in parts if one.begin < now]


def _touched(entries: QuerySet[Change]) -> set[int] | None:
    """The numbers of the loggers that have new readings; None where any place may hear others than before."""
    if entries.filter(HEARS_ANEW | Q(what__in=OF_WALLS)).exists():
        return None
    files = [subject.partition(":")[2] for subject in entries.filter(what="climate_file.read").values_list("subject", flat=True)]
    return set(ClimateFile.objects.filter(pk__in=files, logger__isnull=False).values_list("logger__number", flat=True))


def _count(loggers: set[int] | None) -> int:
    if loggers is not None and not loggers:
        return 0
    hearing = Hearing(walls=True)
    known = sorted({*hearing.speaking, *hearing.walled})
    outdoors, told = set(open_air()), 0
    for place in [*known, *_silent(known)]:
        own, wall = hearing.own(place), [one for one in hearing.of(place) if one.wall] if place in hearing.walled else []
        if place in outdoors:
            told += _told(place, (), ())
        elif loggers is None or _concerned([*own, *wall], loggers):
            told += _told(place, own, wall)
    return told


def _silent(speaking: Iterable[UUID]) -> list[UUID]:
    """Places of which alarms stand and which, as is said now, never had a voice."""
    rows = ClimateAlarm.objects.filter(corrected_by=None, withdraws=False).exclude(place__in=list(speaking))
    return list(rows.order_by("place").values_list("place", flat=True).distinct())


def _concerned(parts: Iterable[Heard], loggers: set[int]) -> bool:
    return any(loggers & part.asked for part in parts)


def _told(place: UUID, own: Sequence[Heard], wall: Sequence[Heard]) -> int:
    """What breaks one place off keeps no other waiting."""
    try:
        with transaction.atomic():
            spells = without_doubles(spells_of(own), spells_at_wall(wall))
            return tell_alarms(PROGRAM, place, spells=spells) if differences(place, spells) else 0
    except (OperationalError, InterfaceError):
        raise
    except Exception:
        log.exception("counting the alarms of place %s broke off", place)
        return 0
