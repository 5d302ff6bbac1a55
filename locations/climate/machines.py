"""The litres that people empty from dehumidifiers: a log for each place, and what it says of leaks and of machines that stopped."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import pairwise
from typing import Final
from uuid import UUID

import numpy as np

from locations.climate import queries
from locations.climate.air import Window, air_of, heard_airs
from locations.climate.hearing import Hearing, Outdoors, hour_of
from locations.climate.models import Spot
from locations.climate.science import tank
from locations.climate.science.psychrometrics import absolute_humidity
from locations.climate.science.values import Floats, Ints, NoValue
from locations.places.models import Place
from locations.places.queries import path_of
from museum import clock

#: a log is read so far back
LOOKS_BACK: Final = timedelta(days=400)
#: what is usual is learnt of so long a time before the days asked about
LEARNS: Final = timedelta(days=90)
#: times of emptying from which the last is judged: itself, thirty before it, and one before these since when the water of the first had run
LEARNT: Final = 32
#: what was noticed is told for so long; then the machine was taken away, or everybody knows
TOLD_FOR: Final = timedelta(days=30)
#: a room at or below this needs no machine, and one that rests has not stopped, % (ours: machines are set to 50 to 55)
DRY: Final = 55.0


@dataclass(frozen=True, slots=True)
class Emptied:
    """What was emptied on a day, and litres a day since the time before; none for the first. What people noted with it."""

    day: date
    litres: float
    rate: float | None
    notes: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class MachineLog:
    """The machine of a place: its days, oldest first, what is usual (none: too few), what its litres say. `rise`: the last was more than was to be expected."""

    place: Place
    days: Sequence[Emptied]
    usual: tank.Usual | None
    still: tank.Still | None
    rise: tank.Rise | None

    @property
    def full_times(self) -> int:
        """How many times in a row, up to the last, the tank was full; 0 below four."""
        return tank.brimming(np.array([one.litres for one in self.days], dtype=np.float64))

    @property
    def last_usual(self) -> date | None:
        """The last day on which the usual litres were emptied, of a machine that has stopped."""
        return date.fromordinal(self.still.last) if self.still else None

    @property
    def stopped_told(self) -> bool:
        """Whether it has stopped so lately that somebody should be told."""
        return self.still is not None and clock.today() - date.fromordinal(self.still.noticed) < TOLD_FOR

    @property
    def leak(self) -> date | None:
        """The day on which the tank told of a leak, if the last did."""
        return date.fromordinal(self.rise.day) if self.rise else None

    @property
    def leak_told(self) -> bool:
        """Whether it did so lately that somebody should be told."""
        return self.leak is not None and clock.today() - self.leak < TOLD_FOR


def log_of(place: Place) -> MachineLog:
    """The log of one place."""
    return _log(place, _emptied([place.pk])[place.pk])


def in_trouble() -> list[MachineLog]:
    """The machines of which somebody should be told now, in the order in which one walks."""
    emptied = _emptied(None)
    places = Place.objects.filter(pk__in=emptied, closed_on=None).order_by("path_key", "code") if emptied else []
    found = [_log(place, emptied[place.pk]) for place in places]
    return [one for one in found if one.leak_told or one.stopped_told]


@dataclass
class Tank:
    """Of a day: litres, and what people noted with them."""

    litres: float = 0.0
    notes: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Trouble:
    """What the litres of a place told on a day: a machine that had `stopped` after it, or a `rise`; usual litres came `again` on a day (None: not yet).

    `notes`: what people wrote from that day to then.
    """

    place: Place
    day: date
    again: date | None
    stopped: tank.Still | None
    rise: tank.Rise | None
    notes: Sequence[str]


def troubles(places: Sequence[Place], first: date, last: date) -> list[Trouble]:
    """The leaks and stops that began in these days, as they could be known by the last of them."""
    emptied = _emptied([place.pk for place in places], first - LEARNS, last)
    return [one for place in places for one in _troubles(place, emptied[place.pk], last) if first <= one.day <= last]


def _troubles(place: Place, emptied: dict[int, Tank], until: date) -> list[Trouble]:
    days, litres = np.array(sorted(emptied), dtype=np.int64), np.array([emptied[day].litres for day in sorted(emptied)], dtype=np.float64)

    def told(day: int, again: int | None, stopped: tank.Still | None = None, rise: tank.Rise | None = None) -> Trouble:
        notes = [note for one in emptied if day <= one <= (again or until.toordinal()) for note in emptied[one].notes]
        return Trouble(place, date.fromordinal(day), date.fromordinal(again) if again else None, stopped, rise, notes)

    found = [told(rise.day, rise.over, rise=rise) for rise in tank.leaks(days, litres, _wetter(place, days))]
    stops = [told(stop.still.last, stop.again, stopped=stop.still) for stop in tank.stops(days, litres, until.toordinal())]
    return found + [one for one in stops if not _rests(place, one.day, one.again or until)]


def _emptied(places: Iterable[UUID] | None, since: date | None = None, until: date | None = None) -> dict[UUID, dict[int, Tank]]:
    """Place to day to what was emptied, of what nobody took back; of the days that a log is read back, else of those named."""
    known = {"happened_on__gt": clock.today() - LOOKS_BACK} if since is None else {"happened_on__range": (since, until)}
    rows = Spot.objects.filter(corrected_by=None, withdraws=False, litres__isnull=False, **known)
    if places is not None:
        rows = rows.filter(place__in=list(places))
    found: dict[UUID, dict[int, Tank]] = defaultdict(lambda: defaultdict(Tank))
    for place, day, litres, note in rows.order_by("happened_on", "id").values_list("place_id", "happened_on", "litres", "note"):
        tank_of = found[place][day.toordinal()]
        tank_of.litres += litres or 0.0
        tank_of.notes += [note] if note else []
    return found


def _log(place: Place, emptied: dict[int, Tank]) -> MachineLog:
    days, litres = np.array(sorted(emptied), dtype=np.int64), np.array([emptied[day].litres for day in sorted(emptied)], dtype=np.float64)
    rates = [None if np.isnan(rate) else float(rate) for rate in tank.rates(days, litres)]
    told = [Emptied(date.fromordinal(day), float(much), rate, emptied[day].notes) for day, much, rate in zip(days.tolist(), litres, rates, strict=True)]
    try:
        known = tank.usual(days, litres)
        still = tank.stopped(days, litres, clock.today().toordinal())
    except NoValue:
        return MachineLog(place, told, None, None, None)
    # What stopped long ago is told to nobody any more, so nobody need know whether the room was dry.
    if still is not None and clock.today() - date.fromordinal(still.noticed) < TOLD_FOR and _rests(place, date.fromordinal(still.last), clock.today()):
        still = None
    return MachineLog(place, told, known, still, _rise(place, days, litres))


def _rise(place: Place, days: Ints, litres: Floats) -> tank.Rise | None:
    """The weather is asked only where it matters: reading months of air is dear."""
    try:
        return tank.last_rise(days, litres, _wetter(place, days[-LEARNT:])) if tank.stands_out(days, litres) else None
    except NoValue:
        return None


def _wetter(place: Place, days: Ints) -> Floats:
    """g/m³ that the air outdoors held more than that of a place, on the mean since the day before it; NaN where under half of the hours are known of both."""
    more_of, path, outdoors = np.full(len(days), np.nan), path_of(place.pk), Outdoors().of(place.pk)
    if len(days) < 2 or not path or not outdoors:
        return more_of
    noons = [hour_of(clock.start_of(date.fromordinal(day))) + 12 for day in days.tolist()]
    begin, end = noons[0], noons[-1]
    hearing = Hearing(None if any(one.mobile for one in path) else path)
    parts = {"in": hearing.between(place.pk, begin, end), "out": [one.between(begin, end) for one in outdoors if one.begin < end and one.end > begin]}
    airs = heard_airs({where: Window(heard, begin, end) for where, heard in parts.items()})
    held = {where: absolute_humidity(air.hour_t, air.hour_rh) for where, air in airs.items()}
    more = held["out"] - held["in"]
    for n, (first, last) in enumerate(pairwise(hour - begin for hour in noons), 1):
        known = more[first:last][~np.isnan(more[first:last])]
        if 2 * len(known) >= last - first:
            more_of[n] = known.mean()
    return more_of


def _rests(place: Place, since: date, until: date) -> bool:
    """Whether the loggers say that the room was dry since then, in the last fortnight up to a day, so that there was nothing to take."""
    path = path_of(place.pk)
    end = min(hour_of(clock.start_of(until + timedelta(days=1))), hour_of(clock.now()))
    if not path or not queries.speaks_for(place.pk, clock.now() if until == clock.today() else clock.start_of(until)):
        return False
    air = air_of(path, max(hour_of(clock.start_of(since)), end - 24 * 14), end)
    known = air.hour_rh[air.known]
    return bool(len(known) >= 24 and known.mean() <= DRY)
