"""Water of a room: what comes in, what a machine must take out, whether opening the window helps.

Volumes m³, n air changes an hour, temperatures °C, humidities %, water in litres (kilograms) a day; grams an hour where said.
Room and outdoor air within the range of `psychrometrics`, else NoValue. Unknown air changes are the largest error: give a range.
"""

from dataclasses import dataclass
from typing import Final

from locations.climate.science.psychrometrics import GRAMS_OF_VAPOUR, absolute_humidity, dew_point, humidity_ratio, relative_humidity, vapour_pressure
from locations.climate.science.saturation import saturation_over_water
from locations.climate.science.values import NoValue, within

MARGIN: Final = 1.3
#: what outdoor air must hold less than the room before a window is opened, g/m³ (house rule)
WORTHWHILE: Final = 1.0
#: g an hour of one person browsing (public sizing guides: 50 at rest, up to 300 at hard work)
PERSON: Final = 60.0
#: leather and cork split when dried in fewer days (house rule)
LEAST_DRYING_DAYS: Final = 14.0
#: °C, % that machines were rated at before June 2019 (ENERGY STAR); from then on 18.3 °C
WARM_RATING, COOL_RATING = (26.7, 60.0), (18.3, 60.0)
#: W of heat a machine gives off for each litre a day, beside its electricity
HEAT_PER_LITRE: Final = 28.0
#: below this a compressor machine ices up, °C: a rotor machine is the better one (from memory)
TOO_COLD_FOR_COMPRESSOR: Final = 15.0


def vapour(t: float, rh: float) -> float:
    """g/m³ of air that must be known. Raises NoValue."""
    return within("air", absolute_humidity(t, rh), 0)


def ventilation_water(volume: float, changes: float, outside: tuple[float, float], room: tuple[float, float]) -> float:
    """Litres a day that outdoor air brings into a room held at its target; below 0 it dries the room. Airs as (t, rh).

    volume 1..100 000 m³, changes 0..20 an hour, else NoValue. Error about 2 % and that of the changes. Source: mass balance.
    """
    litres = within("volume", volume, 1, 100_000) * within("changes", changes, 0, 20) * 24 / 1000
    return litres * (vapour(*outside) - vapour(*room))


def ventilation_water_by_trade(flow: float, outside: tuple[float, float], room: tuple[float, float]) -> float:
    """Litres a day by the trade form 1.2 q dx, q m³/h. Within 2 % of `ventilation_water` at equal temperatures, up to 18 % off for 5 to
    10 K of difference: do not mix the two. Source: public sizing guides."""
    grams = 1000 * (within("ratio", humidity_ratio(*outside), 0) - within("ratio", humidity_ratio(*room), 0))
    return 1.2 * within("flow", flow, 0, 1e6) * grams * 24 / 1000


def people_water(people: float, hours: float, grams: float = PERSON) -> float:
    """Litres a day of people present so many hours a day (0..24), each giving off 30..300 g an hour, else NoValue."""
    return within("people", people, 0) * within("hours", hours, 0, 24) * within("grams", grams, 30, 300) / 1000


def stock_water(mass: float, drop: float, days: float) -> float:
    """Litres a day of hygroscopic stock of `mass` kg giving off `drop` kg/kg (0..0.3) in `days`; under 14 days NoValue `too_fast`."""
    if days < LEAST_DRYING_DAYS:
        raise NoValue("too_fast", days=days, need=LEAST_DRYING_DAYS)
    return within("mass", mass, 0) * within("drop", drop, 0, 0.3) / days


def floor_water(area: float, t_water: float, t: float, rh: float, wind: float = 0) -> float:
    """Litres a day from an open or wet surface of `area` m² at t_water °C (0..40) under air of `wind` m/s (0..2).

    Below 0 the surface takes up water. Error about 20 %. Source: ASHRAE HVAC Applications, evaporation of pools (from memory).
    """
    deficit = (saturation_over_water(within("t_water", t_water, 0, 40)) - within("air", vapour_pressure(t, rh), 0)) / 1000
    latent = 2501 - 2.361 * t_water
    return within("area", area, 0) * (0.089 + 0.0782 * within("wind", wind, 0, 2)) * deficit / latent * 86_400


def floor_water_by_trade(area: float, t_water: float, t: float, rh: float) -> float:
    """Litres a day from a wet surface by the rule of 25 kg/(m² h) times the difference of mixing ratios, still air. Error about 30 %."""
    saturated = within("ratio", humidity_ratio(within("t_water", t_water, 0, 40), 100.0), 0)
    return 25 * within("area", area, 0) * (saturated - within("air", humidity_ratio(t, rh), 0)) * 24


def steady_rh(volume: float, changes: float, outside: tuple[float, float], t_in: float, source: float) -> float:
    """Humidity, %, that a room at t_in settles at without a machine, with a source of so many g an hour; over 100 it condenses.

    Changes above 0. Sealing a room with a source raises it: the source comes first. Source: mass balance.
    """
    flow = within("volume", volume, 1, 100_000) * within("changes", changes, 1e-6, 20)
    held = vapour(*outside) + within("source", source, 0) / flow
    return within("room", relative_humidity(held * (t_in + 273.15) / GRAMS_OF_VAPOUR, t_in), 0)


def derating(t: float, rh: float, rated: tuple[float, float] = WARM_RATING) -> float:
    """What a machine rated at (t, rh) takes in colder air, as a share: by vapour content alone, an assumption. Compressors below 15 °C do worse."""
    return vapour(t, rh) / vapour(*rated)


@dataclass(frozen=True, slots=True)
class Machine:
    """`need` litres a day with nothing added; buy one `rated` for so many; it warms the room by `heat` W beside its electricity."""

    need: float
    rated: float
    heat: float
    rotor: bool


def machine(need: float, t: float, rh: float, rated: tuple[float, float] = WARM_RATING, margin: float = MARGIN) -> Machine:
    """Size of a dehumidifier that takes `need` litres a day from a room held at t, rh: with margin, by its derating.

    `rotor` tells that the room is too cold for a compressor. A need of 0 or less: NoValue `none_needed`: air it instead. House rule.
    """
    if need <= 0:
        raise NoValue("none_needed", need=need)
    return Machine(need, need * margin / derating(t, rh, rated), need * HEAT_PER_LITRE, t < TOO_COLD_FOR_COMPRESSOR)


def with_margin(*litres: float) -> float:
    """The sum of what a machine must take a day, by the margin of 1.3 (house rule)."""
    return sum(litres) * MARGIN


@dataclass(frozen=True, slots=True)
class Airing:
    """`advice` open, shut or no_difference. `drier` g/m³ that outdoor air holds less; `rh` % of it once as warm as the room; `wets_walls`: it
    would condense on the coldest surface named."""

    advice: str
    drier: float
    rh: float
    wets_walls: bool


def open_window(room: tuple[float, float], outside: tuple[float, float], coldest: float | None = None) -> Airing:
    """Whether to open the window now, airs as (t, rh): `open` only if outdoor air holds at least 1 g/m³ less and dew does not fall on the
    coldest surface (°C, if known). House rule; error of the difference about 0.5 g/m³ with usual sensors."""
    drier = vapour(*room) - vapour(*outside)
    rh = within("mixed", relative_humidity(vapour_pressure(*outside), room[0]), 0)
    wets = coldest is not None and dew_point(*outside) > coldest
    advice = "open" if drier >= WORTHWHILE and not wets else "no_difference" if 0 < drier < WORTHWHILE and not wets else "shut"
    return Airing(advice, drier, rh, wets)
