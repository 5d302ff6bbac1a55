"""Air of two neighbouring rooms, by a stated recipe, for the checks of loggers."""

import numpy as np
from numpy.typing import NDArray

from locations.climate.science.psychrometrics import relative_humidity, vapour_pressure

Floats = NDArray[np.float64]


def wandering(rng: np.random.Generator, n: int, memory: float, spread: float) -> Floats:
    """A disturbance with a memory from one value to the next, of stationary standard deviation `spread`."""
    new = rng.normal(0, spread * (1 - memory**2) ** 0.5, n)
    values = np.empty(n)
    values[0] = rng.normal(0, spread)
    for i in range(1, n):
        values[i] = memory * values[i - 1] + new[i]
    return values


def weather(rng: np.random.Generator, hours: int) -> tuple[Floats, Floats]:
    """Room air t (°C) and vapour pressure (Pa): season, day, and weather of a day or two."""
    h = np.arange(hours)
    t = 14 + 6 * np.sin(2 * np.pi * (h - 2500) / 8766) + 1.2 * np.sin(2 * np.pi * (h - 9) / 24) + wandering(rng, hours, 0.97, 1.5)
    e = vapour_pressure(t, np.full(hours, 60.0)) * np.exp(wandering(rng, hours, 0.98, 0.1))
    return t, e


def logger(rng: np.random.Generator, t: Floats, e: Floats, *, noise: float = 0.2) -> tuple[Floats, Floats]:
    """What a logger shows of that air: t to 0.1 K and rh to 0.1 %, each with its noise."""
    shown = t + rng.normal(0, 0.05, len(t))
    rh = relative_humidity(e, t) + rng.normal(0, noise, len(t))
    return np.round(shown, 1), np.round(np.clip(rh, 5, 99.9), 1)


def store_and_hall(rng: np.random.Generator, names: str, hours: int) -> dict[str, tuple[Floats, Floats]]:
    """What honest loggers show, by their names: the last stands in a hall, which is warmer, all others together in the store beside it."""
    t, e = weather(rng, hours)
    told = {}
    for name in names:
        warmth = t + 2 + wandering(rng, hours, 0.9, 0.4) if name == names[-1] else t
        told[name] = logger(rng, warmth, e * np.exp(wandering(rng, hours, 0.95, 0.004)))
    return told


def outdoors(rng: np.random.Generator, hours: int, many: int) -> tuple[Floats, Floats]:
    """Outdoor air t (°C) and vapour pressure (Pa) at so many places, a column each: season, day, weather of days; never above saturation."""
    h = np.arange(hours)[:, None]
    season = 10 + 8 * np.sin(2 * np.pi * (h - 2500) / 8766)
    t = season + 3.5 * np.sin(2 * np.pi * (h - 9) / 24) + _wandering_all(rng, hours, many, 0.985, 3.0)
    dew = vapour_pressure(season + _wandering_all(rng, hours, many, 0.985, 2.5), np.full((hours, many), 76.0))
    e: Floats = np.minimum(dew, vapour_pressure(t, np.full(t.shape, 98.0)))
    return t, e


def room_in(rng: np.random.Generator, t_out: Floats, e_out: Floats) -> tuple[Floats, Floats]:
    """A room of each place: heated to 4 to 14 °C at the least and slow by one to five days; 0.1 to 0.6 changes of air an hour that come and go, a source
    of damp that comes and goes, and walls and things that hold water: a balance of vapour, hour by hour."""
    hours, many = t_out.shape
    slow, heat, change = rng.uniform(24, 120, many), rng.uniform(4, 14, many), rng.uniform(0.1, 0.6, many)
    source, hold, much = rng.uniform(0, 120, many), rng.uniform(0, 0.5, many), rng.uniform(2, 8, many)
    wanders = _wandering_all(rng, hours, many, 0.98, 0.3)
    t, e, stored = np.empty_like(t_out), np.empty_like(t_out), np.full(many, 60.0)
    t[0], e[0] = 12, 900
    for i in range(1, hours):
        t[i] = t[i - 1] + (np.maximum(t_out[i], heat) + 1.5 - t[i - 1]) / slow
        full = 611.2 * np.exp(17.62 * t[i] / (243.12 + t[i]))
        aired = change * (1 + 0.3 * wanders[i]) * (e_out[i] + source * (1 + wanders[i]) - e[i - 1])
        e[i] = np.minimum(e[i - 1] + aired + hold * (stored * full / 100 - e[i - 1]), full * 0.99)
        stored = stored + (100 * e[i] / full - stored) * hold / (96 * much)
    return t, e


def _wandering_all(rng: np.random.Generator, n: int, many: int, memory: float, spread: float) -> Floats:
    values, new = np.empty((n, many)), rng.normal(0, spread * (1 - memory**2) ** 0.5, (n, many))
    values[0] = rng.normal(0, spread, many)
    for i in range(1, n):
        values[i] = memory * values[i - 1] + new[i]
    return values
