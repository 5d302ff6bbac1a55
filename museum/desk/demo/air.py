"""Two years of air of the demo museum by a physical recipe: weather outdoors, heat and water of five rooms and of a cold wall.

Outdoors (mild, near the sea): a sine of the year, a sine of the day that clouds flatten, weather that persists for days (two disturbances with a
memory of 84 and 9 hours), a dew point that lies below the mean of the day by what the clouds allow. A damp autumn: seven weeks of warm wet wind.

Indoors hour by hour, in the units of a balance of one room:
- heat: the wall follows room and weather (time constants below), the air follows wall and leakage at once; heating is slow, limited and keeps a floor,
  and a comfort temperature on open days;
- water: leakage exchanges air, people and wet walls add, the contents take up and give back towards a humidity they remember for days, a dehumidifier
  takes what lies above its switch, as far as its derated capacity goes, until its tank is full; the tank is emptied on open days.
Light: lamps while the house is open, and what daylight the blinds let through, by the height of the sun and the clouds.
Behind the north wall the same water meets a colder surface. House and gallery are warmed so far that, by the air of rooms, the damp autumn asks for
looks behind that wall and nowhere else; the boat shed is damp each winter, as boat sheds are. Formulas of vapour: those of the program's own science.
Figures are house figures of an invented house; none is measured.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from math import exp
from typing import Final

import numpy as np

from locations.climate.science.psychrometrics import GRAMS_OF_VAPOUR, absolute_humidity, relative_humidity, vapour_pressure
from locations.climate.science.values import Floats

SEED: Final = 1938
DAYS: Final = 730
#: month and day between which the damp autumn lies, and how warm (K) and how much wetter its wind is
DAMP: Final = ((9, 28), (11, 18))
WARMER, WETTER = 0.3, 0.2
#: hours of an open day
OPEN: Final = range(9, 17)
#: what the wettest air holds, % of saturation
WETTEST: Final = 98.5


@dataclass(frozen=True, slots=True)
class Machine:
    """A dehumidifier: rh % that its switch holds at 10 °C, going on and off within the hour; litres a day at 20 °C and 60 %; litres in its tank."""

    holds: float = 56.0
    capacity: float = 9.0
    tank: float = 13.0


@dataclass(frozen=True, slots=True)
class Building:
    """One room. m³; air changes per hour; hours until the wall follows the room and the weather; °C kept at all times and on open days;
    K that the heating manages above the wall; grams an hour from walls, and from people when open; how many rooms of air the contents exchange
    with in an hour; K that sun and roof add in summer; K that ground, lamps and neighbours add at all times."""

    volume: float
    leaks: float
    inward: float
    outward: float
    floor: float
    comfort: float
    strength: float
    walls: float
    people: float
    contents: float
    sun: float
    ground: float
    machine: Machine | None = None


ROOMS: Final = {
    "H-HALL": Building(640, 0.25, 40, 70, 16.0, 17.5, 9.0, 3, 160, 0.9, 4.0, 3.8),
    "H-GAL": Building(210, 0.30, 18, 40, 15.0, 17.0, 8.0, 2, 90, 0.9, 8.0, 3.4),
    "H-COLD": Building(118, 0.18, 60, 90, 5.0, 5.0, 4.0, 22, 0, 1.2, 1.0, 1.6, Machine()),
    "H-WORK": Building(64, 0.30, 24, 55, 16.0, 18.5, 9.0, 1, 30, 0.8, 3.0, 3.6),
    "B-GAL": Building(300, 0.40, 36, 40, 8.0, 14.0, 8.0, 9, 90, 0.9, 5.0, 3.2),
}
#: grams an hour that a split gutter lets into the cold store in the damp autumn, and g/m³ that stay behind its north wall
SEEPS, LINGERS = 75.0, 1.9
#: share of the way from the room's to the outer wall's temperature behind the north wall
NORTH: Final = 0.24
#: hours of the beginning that go before it once, so that walls and contents are what they would be
SETTLES: Final = 480
#: hours that radiators take to warm and to cool
WARMS_UP: Final = 3.0
#: % that a cheap switch holds less for every K of warmth
SWITCH: Final = 0.25
#: hours that the contents remember
REMEMBERS: Final = 130.0


@dataclass(frozen=True, slots=True)
class Weather:
    """Hour after hour: the society's clock, t °C, vapour pressure Pa, g/m³; how far the damp autumn had soaked in, 0..1."""

    clock: list[datetime]
    t: Floats
    e: Floats
    v: Floats
    damp: Floats


@dataclass(slots=True)
class Room:
    """What the air of a room was, and the litres emptied from its machine's tank at each visit."""

    t: Floats
    rh: Floats
    wall: Floats
    litres: dict[datetime, float] = field(default_factory=dict)

    def behind(self, share: float, lingers: Floats) -> tuple[Floats, Floats]:
        """t and rh at a surface, `share` of the way to the outer wall, with g/m³ more water than the room has."""
        t = self.t + share * np.minimum(self.wall - self.t, 0.0)
        e = vapour_pressure(self.t, self.rh) + lingers * (t + 273.15) / GRAMS_OF_VAPOUR
        return t, np.minimum(relative_humidity(e, t), 99.5)


def damp_autumn(today: date) -> tuple[date, date]:
    """The last autumn that is over by now, as far as it was damp."""
    year = today.year if today >= date(today.year, *DAMP[1]) else today.year - 1
    return date(year, *DAMP[0]), date(year, *DAMP[1])


def weather(hours: list[datetime], damp: tuple[date, date]) -> Weather:
    """The same for the same hours."""
    rng, n = np.random.default_rng(SEED), len(hours)
    season = np.array([np.cos(2 * np.pi * (one.timetuple().tm_yday - 201) / 365.25) for one in hours])
    hour = np.array([one.hour for one in hours])
    wet = _rising(np.array([damp[0] <= one.date() <= damp[1] for one in hours], dtype=np.float64), 40)
    cloud = 1 / (1 + np.exp(-(_wandering(rng, n, 34, 1.6) + 0.5 - 0.5 * season + 0.9 * wet)))
    mean = 10.2 + 6.8 * season + _wandering(rng, n, 84, 2.6) + WARMER * wet
    t = mean + (1.3 + 1.6 * (1 + season)) * (1 - 0.75 * cloud) * np.cos(2 * np.pi * (hour - 15) / 24) + _wandering(rng, n, 9, 0.5)
    dew = _rising(mean, 12) - (1.7 + 4.6 * (1 - cloud) * (1 + 0.35 * season)) + WETTER * wet + _wandering(rng, n, 26, 0.7)
    e = np.minimum(vapour_pressure(dew, np.full(n, 100.0)), vapour_pressure(t, np.full(n, WETTEST)))
    return Weather(hours, t, e, absolute_humidity(t, np.minimum(relative_humidity(e, t), 100.0)), _rising(wet, 60))


def room(building: Building, outside: Weather, open_days: list[int], *, seeps: float = 0.0, off: tuple[datetime, datetime] | None = None) -> Room:
    """The balances of a room, hour by hour. `seeps`: g an hour through a wall in the damp; `off`: when its machine stood still."""
    n = len(outside.clock)
    found = Room(np.empty(n), np.empty(n), np.empty(n))
    heat, water = _Heat(building, float(outside.t[:SETTLES].mean())), _Water(building)
    hours = list(zip(outside.clock, outside.t.tolist(), outside.v.tolist(), (seeps * outside.damp).tolist(), strict=True))
    for i, (clock, out, vapour, seeping) in enumerate(hours[:SETTLES] + hours, -SETTLES):
        people = clock.isoweekday() in open_days and clock.hour in OPEN
        t = heat.hour(out, people, _sun(clock))
        works = off is None or not off[0] <= clock < off[1]
        rh = water.hour(t, vapour, seeping + building.walls + (building.people if people else 0.0), works)
        emptied = building.machine and clock.hour == OPEN.start and clock.isoweekday() in open_days
        if i >= 0:
            found.t[i], found.wall[i], found.rh[i] = t, heat.outer, rh
            if emptied:
                found.litres[clock] = round(water.tank, 1)
        if emptied:
            water.tank = 0.0
    return found


def beside(room: Room) -> Room:
    """The same room at another corner: a little colder and damper, with what draughts bring."""
    rng, n = np.random.default_rng((SEED, 0)), len(room.t)
    return Room(room.t - 0.3 + _wandering(rng, n, 20, 0.1), room.rh * 1.012 + _wandering(rng, n, 20, 0.3), room.wall)


def light(clock: Sequence[datetime], open_days: Sequence[int], *, lamps: float, windows: float) -> Floats:
    """lx hour after hour: `lamps` while the house is open, what of the daylight comes past the blinds (`windows` at noon of midsummer), less under clouds."""
    rng = np.random.default_rng((SEED, 1))
    on = np.array([at.isoweekday() in open_days and at.hour in OPEN for at in clock])
    sky = np.clip(0.7 + _wandering(rng, len(clock), 30, 0.25), 0.15, 1.0)
    found: Floats = np.round(lamps * on + windows * sky * np.array([_sun(at) for at in clock]))
    return found


def shown(t: Floats, rh: Floats, number: int, *, reads: Floats | float = 0.0) -> tuple[Floats, Floats]:
    """What a logger writes of this air, to 0.1: with its noise, and `reads` % too much."""
    rng = np.random.default_rng((SEED, number))
    warm: Floats = np.round(t + rng.normal(0, 0.06, len(t)), 1)
    heard = rh + np.asarray(reads, dtype=np.float64) + rng.normal(0, 0.3, len(rh))
    damp: Floats = np.clip(heard, 1.0, 99.9).astype(np.float64).round(1)
    return warm, damp


def hours_of(first: date, last: datetime) -> Iterator[datetime]:
    """Every hour from the beginning of a day up to an instant, on the society's clock."""
    instant = datetime.combine(first, datetime.min.time(), last.tzinfo).astimezone(UTC)
    while instant <= last:
        yield instant.astimezone(last.tzinfo)
        instant += timedelta(hours=1)


class _Heat:
    """Air at once, an inner and an outer wall after it."""

    def __init__(self, building: Building, begin: float) -> None:
        self._is, self.inner, self.outer, self.given = building, begin + 1, begin, 0.0

    def hour(self, out: float, people: bool, sun: float) -> float:
        it = self._is
        drawn = 0.12 * it.leaks
        free = (self.inner + drawn * out) / (1 + drawn) + 0.2 * it.sun * sun
        wanted = it.comfort if people else it.floor
        self.given += (min(max(wanted - free, 0.0), it.strength) - self.given) / WARMS_UP
        t = free + self.given
        self.inner += (t - self.inner) / it.inward + (self.outer - self.inner) / it.inward
        self.outer += (self.inner - self.outer) / it.outward + (out + it.sun * sun + it.ground - self.outer) / it.outward
        return t


class _Water:
    """Grams in a cubic metre, the humidity that the contents remember, litres in the tank."""

    def __init__(self, building: Building) -> None:
        self._is, self._v, self._remembered, self.tank = building, 6.0, 58.0, 0.0

    def hour(self, t: float, outside: float, grams: float, works: bool) -> float:
        it, full = self._is, _saturated(t)
        exchanged = 1 + it.leaks + it.contents
        free = (self._v + it.leaks * outside + grams / it.volume + it.contents * self._remembered / 100 * full) / exchanged
        machine = it.machine if works else None
        if machine and (over := free - (machine.holds - SWITCH * (t - 10)) / 100 * full) > 0:
            # By the vapour there is against that at 20 °C and 60 %; cold coils ice up.
            most = machine.capacity / 24 * min(free / 10.4, 1.2) * min(max((t - 1) / 7, 0.25), 1.0)
            litres = min(over * exchanged * it.volume / 1000, most, machine.tank - self.tank)
            self.tank += litres
            free -= 1000 * litres / it.volume / exchanged
        self._v = min(max(free, 0.5), WETTEST / 100 * full)
        rh = 100 * self._v / full
        self._remembered += (rh - self._remembered) / REMEMBERS
        return rh


def _saturated(t: float) -> float:
    """g/m³ over water at t °C: the formula of the science (Magnus of WMO-No. 8), one figure at a time."""
    return GRAMS_OF_VAPOUR * 611.2 * exp(17.62 * t / (243.12 + t)) / (t + 273.15)


def _sun(clock: datetime) -> float:
    """What the sun is worth at an hour of the year, 0..1."""
    day = max(0.0, np.cos(2 * np.pi * (clock.hour - 14) / 24))
    return float(day * (0.5 + 0.5 * np.cos(2 * np.pi * (clock.timetuple().tm_yday - 172) / 365.25)))


def _wandering(rng: np.random.Generator, n: int, hours: float, spread: float) -> Floats:
    """A disturbance remembered for so many hours, of a standard deviation `spread`."""
    memory = exp(-1 / hours)
    new = rng.normal(0, spread * (1 - memory**2) ** 0.5, n)
    new[0] = rng.normal(0, spread)
    return _carried(new, memory)


def _rising(values: Floats, hours: float) -> Floats:
    """Follows the values with so many hours of delay."""
    memory = exp(-1 / hours)
    new = values * (1 - memory)
    new[0] = values[0]
    return _carried(new, memory)


def _carried(new: Floats, memory: float) -> Floats:
    found, last = np.empty(len(new)), 0.0
    for i, value in enumerate(new.tolist()):
        last = memory * last + value
        found[i] = last
    return found


def outside_figures(of: Weather) -> tuple[Floats, Floats]:
    """t and rh outdoors."""
    return of.t, np.minimum(relative_humidity(of.e, of.t), 100.0)
