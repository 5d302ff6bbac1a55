"""What a choice would make of a room's air, by balance of water alone. Pure; t °C, rh %, volumes m³, litres a day.

An air is (t, rh) within the range of `psychrometrics`, else NoValue. All of it takes the room as it settles, well mixed; walls and
contents that have been damp give off water for weeks and make every first week worse than told here.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from locations.climate.science import moisture
from locations.climate.science.psychrometrics import GRAMS_OF_VAPOUR, relative_humidity, vapour_pressure
from locations.climate.science.surfaces import condenses, heated_to, surface_rh
from locations.climate.science.tables import highest, row, rows
from locations.climate.science.values import Floats, NoValue, within

Air = tuple[float, float]
#: what is to be reached where nobody says otherwise, %: under it is where a volunteer tries to stay (environment, plain words 1; house rule)
TARGET: Final = 60.0
#: what may be chosen
TARGETS: Final = (50, 55, 60, 65)
#: figures of humidity that lie closer are the same (sensors: plus or minus 2 to 3 %)
SAME: Final = 3.0
#: how much colder than the air a wall or a thing may be that nobody measured, K (house rule)
COLDER: Final = 3.0


def mean_air(t: Floats, rh: Floats) -> Air:
    """The mean temperature of hours, and the humidity of their mean vapour pressure at it: means of rh over mixed temperatures say little.

    NaN is an hour that is not known. Raises NoValue `no_readings`.
    """
    e = np.asarray(vapour_pressure(t, rh))
    known = ~np.isnan(e)
    if not known.any():
        raise NoValue("no_readings")
    warmth = float(t[known].mean())
    return warmth, float(relative_humidity(float(e[known].mean()), warmth))


@dataclass(frozen=True, slots=True)
class Heating:
    """To which °C, by how many K, to reach the target with no water removed; verdict enough, would_do, much or too_warm."""

    to: float
    by: float
    verdict: str


def heat(room: Air, target: float = TARGET) -> Heating:
    """Warming alone. `would_do`: at most 6 K and to at most 20 °C (house rule); `too_warm`: over 25 °C (leather, Western Australian Museum 2017)."""
    to = within("heated", heated_to(*room, target), -45)
    by = to - room[0]
    if by <= 0:
        return Heating(to, by, "enough")
    if to > highest("leather_t"):
        return Heating(to, by, "too_warm")
    return Heating(to, by, "would_do" if by <= highest("heated_by") and to <= highest("heated_room") else "much")


@dataclass(frozen=True, slots=True)
class Tightness:
    """How often an hour the air of a room changes, from low to high: nobody knows it exactly."""

    code: str
    low: float
    high: float
    source: str


def tightnesses() -> list[Tightness]:
    """From the tightest to the leakiest."""
    return [tightness(one["code"]) for one in rows("tightness")]


def tightness(code: str) -> Tightness:
    """Raises NoValue `unknown_code`."""
    found = row("tightness", code)
    return Tightness(code, float(found["low"]), float(found["high"]), found["source"])


@dataclass(frozen=True, slots=True)
class Drying:
    """Litres a day to take beside what is taken now, least to most; machines by both ways of rating for the most; heat W; whether a rotor is better."""

    least: float
    most: float
    rated_warm: float
    rated_cool: float
    heat: float
    rotor: bool


def dry(room: Air, target: float, volume: float, air: Tightness) -> Drying:
    """What a machine must take so that a room that has settled at `room` settles at the target, at the same temperature.

    In the balance whatever comes in, through leaks or from the ground, is what the present difference carries away: n V (v - v of the target); so
    neither the outdoor air nor the source need be known. volume 1..100 000 m³. Error: that of the air changes. NoValue `none_needed` at or below the target.
    """
    held = moisture.vapour(*room) - moisture.vapour(room[0], target)
    if held <= 0:
        raise NoValue("none_needed", room=room[1], target=target)
    cubic = within("volume", volume, 1, 100_000)
    least, most = (24 / 1000 * changes * cubic * held for changes in (air.low, air.high))
    warm = moisture.machine(most, room[0], target, moisture.WARM_RATING)
    cool = moisture.machine(most, room[0], target, moisture.COOL_RATING)
    return Drying(least, most, warm.rated, cool.rated, warm.heat, warm.rotor)


@dataclass(frozen=True, slots=True)
class Sealing:
    """The humidity that a room settles at with its leaks made smaller; verdict raises, lowers or same. Over 100 it condenses."""

    rh: float
    verdict: str


def seal(room: Air, outside: Air, share: float = 0.5) -> Sealing:
    """Closing gaps until only `share` (0..1) of the leaks are left, temperature as before: the difference to outdoors grows by 1/share.

    A room wetter than outdoors has a source of its own, and sealing it raises the humidity: the source comes first. Source: balance of water.
    """
    inside, outdoors = moisture.vapour(*room), moisture.vapour(*outside)
    held = max(outdoors + (inside - outdoors) / within("share", share, 0.01, 1), 0.0)
    rh = float(relative_humidity(held * (room[0] + 273.15) / GRAMS_OF_VAPOUR, room[0]))
    return Sealing(rh, "same" if abs(rh - room[1]) < SAME else "raises" if rh > room[1] else "lowers")


@dataclass(frozen=True, slots=True)
class OffWall:
    """What stands against a wall: rh there now (at most 100), off it, and at it once the leaks are closed (None: not known). Verdict as below."""

    colder: float
    there: float
    off: float
    sealed: float | None
    dew: bool
    verdict: str


def off_wall(room: Air, colder: float, sealing: Sealing | None = None) -> OffWall:
    """Moving a thing from a wall `colder` K below the room (-40..40; below 0 it is warmer) into the room.

    verdict `needed`: above 80 % there (ISO 13788), `better` above 65 %, else `fine`. A steady state of the mean air;
    error about 5 % of rh for each K of the wall.
    """
    t_s = room[0] - within("colder", colder, -40, 40)
    there = float(surface_rh(*room, t_s))
    sealed = None if sealing is None else min(100.0, float(surface_rh(room[0], min(sealing.rh, 100.0), t_s)))
    verdict = "needed" if there > highest("surface_mould") else "better" if there > highest("organic_sustained") else "fine"
    return OffWall(colder, min(100.0, there), room[1], sealed, there >= 100, verdict)


@dataclass(frozen=True, slots=True)
class Moving:
    """A thing carried from one room into another: what its humidity does (%), whether dew falls on it, whether it wants a closed bag for a day."""

    step: float
    verdict: str
    dew: bool
    bag: bool


def move(here: Air, there: Air) -> Moving:
    """verdict drier, wetter or same. A bag is wanted where dew would fall or the step is over 10 % (Bizot 2023: no more in 24 hours)."""
    step = there[1] - here[1]
    dew = condenses(*there, here[0])
    verdict = "same" if abs(step) < SAME else "drier" if step < 0 else "wetter"
    return Moving(step, verdict, dew, dew or abs(step) > highest("step_of_humidity"))


@dataclass(frozen=True, slots=True)
class Airing:
    """Now: advice open, shut, no_difference or no_need, and why: g/m³ that outdoor air holds less, its humidity once as warm as the room, dew on cold things.

    `still_damp`: it holds that much less, and would leave the room at or above 65 % all the same. `stop`: the humidity (%) of the room at which to shut it
    again, where outdoor air is drier than that.
    """

    advice: str
    drier: float
    rh: float
    dew: bool
    cold: float
    still_damp: bool = False
    stop: float | None = None


def air_it(room: Air, outside: Air, cold: float | None = None, target: float = TARGET) -> Airing:
    """Whether to open the window. `cold`: the coldest wall or thing, °C; where nobody measured it, 3 K below the air (house rule).

    `open` only if outdoor air holds at least 1 g/m³ less, brings no dew, and would not itself leave the room at or above 65 %; `no_need` where it would be
    open but for a room below the target (%). It is shut again after a change of 10 % (Bizot 2023: no more in 24 hours).
    """
    surface = room[0] - COLDER if cold is None else cold
    found = moisture.open_window(room, outside, surface)
    if found.advice != "open":
        return Airing(found.advice, found.drier, found.rh, found.wets_walls, surface)
    damp, stop = found.rh >= highest("organic_sustained"), room[1] - highest("step_of_humidity")
    advice = "no_need" if room[1] < target else "no_difference" if damp else "open"
    return Airing(advice, found.drier, found.rh, found.wets_walls, surface, still_damp=damp, stop=stop if found.rh < stop else None)


@dataclass(frozen=True, slots=True)
class MonthOfHeating:
    """A month as it was: its air, and what heating would have had to do."""

    month: int
    air: Air
    heating: Heating


def heating_by_month(months: Sequence[tuple[int, Floats, Floats]], target: float = TARGET) -> list[MonthOfHeating]:
    """Of months with t and rh hour by hour; those of which nothing can be said are left out."""
    found = []
    for month, t, rh in months:
        try:
            air = mean_air(t, rh)
            found.append(MonthOfHeating(month, air, heat(air, target)))
        except NoValue:
            continue
    return found
