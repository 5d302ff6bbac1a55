"""What is read by hand: the dial, the light meter, litres emptied from the tank, insects in the trap."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from locations.climate.days import PEOPLE, demand_not_before
from locations.climate.models import Spot
from locations.climate.sentences import figure
from locations.places.models import Place
from museum import clock
from museum.errors import Invalid, NotFound
from museum.people.action import Act, action

#: from, to, of every quantity that is read by hand
LIMITS: Final = {"t": (-40.0, 60.0), "rh": (0.1, 100.0), "lux": (0.0, 200_000.0), "uv": (0.0, 5_000.0), "litres": (0.0, 500.0), "insects": (0, 100_000)}


@dataclass(frozen=True, slots=True)
class SpotEntry:
    """One place as read: °C, %, lux, microwatt per lumen, litres, count; none where not read."""

    id: UUID
    place_id: UUID
    t: float | None = None
    rh: float | None = None
    lux: float | None = None
    uv: float | None = None
    litres: float | None = None
    insects: int | None = None
    note: str = ""

    @property
    def said(self) -> dict[str, float]:
        """What was read."""
        return {name: value for name in LIMITS if (value := getattr(self, name)) is not None}


@action("climate.read_by_hand", may="climate.record")
def read_by_hand(act: Act, entries: Sequence[SpotEntry], *, at: datetime | None = None) -> list[str]:
    """Readings of several places by one person at an instant, else now; answers their keys. All or none. Raises Invalid, NotFound."""
    instant = at or act.now
    if instant > act.now:
        raise Invalid(_("This lies in the future. Record it when it has been read."), field="at")
    demand_not_before(PEOPLE, instant, "at")
    places = Place.objects.in_bulk([entry.place_id for entry in entries])
    if not entries:
        raise Invalid(_("Nothing was read. Fill in at least one figure."), field="t")
    rows = []
    for entry in entries:
        if (place := places.get(entry.place_id)) is None:
            raise NotFound
        _demand_sense(entry, place)
        rows.append(
            Spot(
                id=entry.id, act_id=act.id, place=place, by_id=act.actor.person, note=entry.note.strip(), happened_at=instant,
                happened_on=clock.day_of(instant), recorded_at=act.now, **{name: getattr(entry, name) for name in LIMITS},
            )
        )  # fmt: skip
    Spot.objects.bulk_create(rows)
    for row, entry in zip(rows, entries, strict=True):
        act.wrote("climate.read_by_hand", row, after={**entry.said, "at": instant}, about=[("place", row.place_id)])
    return [str(row.pk) for row in rows]


def _demand_sense(entry: SpotEntry, place: Place) -> None:
    if not entry.said:
        raise Invalid(_("Nothing was read at %(place)s."), field="t", place=place.name)
    for name, value in entry.said.items():
        low, high = LIMITS[name]
        if not low <= value <= high:
            raise Invalid(
                _("%(place)s: %(value)s cannot be. It lies between %(low)s and %(high)s; look at the dial again."),
                field=name, place=place.name, value=figure(value), low=figure(low), high=figure(high),
            )  # fmt: skip


@action("climate.correct_spot", may="climate.record")
def correct_spot(act: Act, spot_id: UUID, *, reason: str) -> Spot:
    """Takes back what was typed wrongly; both stay readable. Raises Invalid, NotFound."""
    old = Spot.objects.filter(pk=spot_id, corrected_by=None, withdraws=False).first()
    if old is None:
        raise NotFound
    if not reason.strip():
        raise Invalid(_("Say what was wrong."), field="reason")
    fact = Spot.objects.create(
        act_id=act.id, place=old.place, by_id=act.actor.person, note=reason.strip(), corrects=old, withdraws=True, happened_on=old.happened_on,
        happened_at=old.happened_at, recorded_at=act.now,
    )  # fmt: skip
    act.wrote("climate.taken_back", fact, before={name: getattr(old, name) for name in LIMITS}, reason=reason.strip(), about=[("place", old.place_id)])
    return fact
