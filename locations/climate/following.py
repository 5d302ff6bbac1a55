"""Keeps the exposure up to date: reads the history since its mark and works out anew what that touches, from where it touches it."""

from datetime import UTC, datetime, timedelta
from typing import Final
from uuid import UUID

from django.db import transaction
from django.db.models import Q

from collection.objects.models import Component
from locations.climate import exposure
from locations.climate.hearing import HOUR
from locations.climate.models import ExposureMark
from locations.places.models import Place
from museum import clock
from museum.history.models import About, Change

NAME: Final = "exposure"
#: what gives a thing another course or another material, by the first word of the entry
OF_THINGS: Final = ("object", "component", "made_of", "movement")
#: what gives every thing that heard a logger another climate
OF_LOGGERS: Final = ("logger.placed", "logger.placement_corrected", "logger.calibrated", "logger.changed", "place.heard_by", "readings.judged")
#: the entries after which any place may hear others than before: those, and what is said to lie in the open air or not any more
HEARS_ANEW: Final = Q(what__in=OF_LOGGERS) | Q(what="place.changed") & (Q(before__spot=Place.Spot.OUTDOORS) | Q(after__spot=Place.Spot.OUTDOORS))
#: what changes it from the instant that the entry names on
FROM_THEN: Final = ("climate_file.read", "place.wall_told", "place.wall_ended")
#: before the first new reading: a short gap there is filled now
BEFORE: Final = timedelta(hours=exposure.MARGIN)


def catch_up() -> int:
    """Works out what changed since the last call, and the hours since; answers how many components of a material."""
    with transaction.atomic():
        ExposureMark.objects.get_or_create(name=NAME)
        mark = ExposureMark.objects.select_for_update().get(name=NAME)
        since = Change.objects.filter(n__gt=mark.n)
        entries = list(since.order_by("n").values_list("n", "what", "after"))
        now = int(clock.now().timestamp()) // HOUR
        if not entries and now // 24 <= mark.until // 24:
            return 0
        until = datetime.fromtimestamp(mark.until * HOUR, UTC) if mark.until and not since.filter(HEARS_ANEW).exists() else None
        done = _work_out(entries, until)
        mark.n, mark.until = entries[-1][0] if entries else mark.n, now
        mark.save(update_fields=["n", "until"])
        return done


def _work_out(entries: list[tuple[int, str, dict[str, str] | None]], until: datetime | None) -> int:
    """All of it where `until` says nothing, else what these entries touch, and the hours since."""
    if until is None:
        return exposure.refresh()
    firsts = [datetime.fromisoformat(after["from"]) for _, what, after in entries if what in FROM_THEN and after]
    done = exposure.refresh(min([until, *firsts]) - BEFORE)
    if touched := _touched([n for n, what, _ in entries if what.partition(".")[0] in OF_THINGS]):
        exposure.refresh(None, touched)
    return done


def _touched(entries: list[int]) -> set[UUID]:
    """The components of the things these entries are about."""
    things = About.objects.filter(change_id__in=entries, kind="object").values("key")
    return set(Component.objects.filter(object__in=things).values_list("pk", flat=True))
