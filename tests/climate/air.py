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
