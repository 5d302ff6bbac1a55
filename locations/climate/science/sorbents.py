"""Cases and silica gel: how long a case holds its humidity, how much gel to buy.

Volumes m³, N air changes a *day*, reservoir M in g of water per kg of gel and % of rh, humidities %, days. Isothermal, well mixed,
linear over the range used. N is the largest error (0.1 to 10 a day): give a range. Gel with cobalt indicator is a danger to health.
"""

import math
from typing import Final

from locations.climate.science.psychrometrics import absolute_humidity
from locations.climate.science.values import within

ROOM: Final = 20.0


def saturated_vapour(t: float = ROOM) -> float:
    """g/m³ of saturated air at t °C, -20..50, else NoValue. Error: 0.7 % low (ideal gas, Magnus)."""
    return within("t", absolute_humidity(t, 100.0), 0)


def sorbent_mass(volume: float, changes: float, difference: float, days: float, reservoir: float, tolerance: float, t: float = ROOM) -> float:
    """kg of conditioned gel that keep a case within `tolerance` % (1..30) of its target for so many days.

    difference: room less target as a fraction, -1..1; with a drier room the gel is conditioned above the target. Linear, so on the safe side.
    Source: Weintraub 2002; CCI Technical Bulletin 33 (2018); derived from the mass balance.
    """
    water = saturated_vapour(t) * abs(within("difference", difference, -1, 1)) * _volume(volume) * _changes(changes) * within("days", days, 0)
    return water / (_reservoir(reservoir) * within("tolerance", tolerance, 1, 30))


def sorbent_range(volume: float, changes: tuple[float, float], difference: float, days: float, reservoir: float, tolerance: float) -> tuple[float, float]:
    """kg for the fewest and the most air changes a day that the case may have: N is seldom known, so never one figure."""
    low, high = (sorbent_mass(volume, n, difference, days, reservoir, tolerance) for n in sorted(changes))
    return low, high


def desiccant_mass(volume: float, changes: float, room: float, case: float, days: float, uptake: float, t: float = ROOM) -> float:
    """kg of dry gel that keep a case at a mean of `case` % in a room of `room` % (case <= room <= 100) for so many days.

    uptake: g/kg usable at the humidity at the end, 1..400, from the maker's sheet. For iron with chlorides.
    """
    water = _volume(volume) * _changes(changes) * saturated_vapour(t) * (within("room", room, case, 100) - within("case", case, 0, 100)) / 100
    return water * within("days", days, 0) / within("uptake", uptake, 1, 400)


def half_time(reservoir: float, load: float, changes: float, t: float = ROOM) -> float:
    """Days in which a case comes half the way to the room; load B kg of gel per m³. About 4 M B/N (Thomson 1977, Studies in Conservation 22, 85-102)."""
    return math.log(2) * _decay_days(reservoir, load, changes, t)


def case_rh(start: float, room: float, reservoir: float, load: float, changes: float, days: float, t: float = ROOM) -> float:
    """Humidity of a case, %, after so many days in a steady room: exponential approach. Humidities 0..100."""
    begun, outside = within("start", start, 0, 100), within("room", room, 0, 100)
    return outside + (begun - outside) * math.exp(-within("days", days, 0) / _decay_days(reservoir, load, changes, t))


def air_changes(start: float, end: float, days: float, background: float = 420) -> float:
    """Air changes a day of a case from the decay of carbon dioxide, ppm, over `days`: ln of the ratio above the background. start > end > background."""
    above = within("end", end, background + 1e-9) - background
    return math.log((within("start", start, end) - background) / above) / within("days", days, 1e-9)


def _decay_days(reservoir: float, load: float, changes: float, t: float) -> float:
    return _reservoir(reservoir) * within("load", load, 1e-9) / (0.01 * saturated_vapour(t) * _changes(changes))


def _volume(volume: float) -> float:
    return within("volume", volume, 1e-9, 1000)


def _changes(changes: float) -> float:
    return within("changes", changes, 1e-9, 100)


def _reservoir(reservoir: float) -> float:
    return within("reservoir", reservoir, 1e-9, 20)
