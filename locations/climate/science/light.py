"""Light: what adds up, what a year allows, how long a thing may stay out. Dose belongs to the thing, readings to the place.

Lux in lx, dose in lx h, ultraviolet in µW per lumen. Limits are CIE 157:2004 (numbers from memory). Fading threshold, not loss
of strength. Error: batches of dye and of blue wool differ by a factor of 2.
"""

from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np

from locations.climate.science.tables import number, row, rows
from locations.climate.science.values import Floats, Ints, NoValue, Value, lift, like, within

#: a spot reading speaks for the time up to the next no longer than this, h
FARTHEST: Final = 2.0


@dataclass(frozen=True, slots=True)
class LightCategory:
    """low, medium or high responsivity: lux at most, and lx h a year."""

    code: str
    lux: float
    yearly: float
    headgear: str
    source: str


@dataclass(frozen=True, slots=True)
class Dose:
    """lx h, and the hours it is of; with `unknown` hours it is a lower bound."""

    dose: float
    covered: float
    unknown: float

    @property
    def at_least(self) -> bool:
        return self.unknown > 0


@dataclass(frozen=True, slots=True)
class Rest:
    """Days as ordinals: on `since` the doses came to what a year allows; kept dark, `until` is the last day whose 365 days before it still hold that much."""

    since: int
    until: int


@cache
def light_category(code: str) -> LightCategory:
    """low, medium or high. What light does not fade (metal, glass, enamel) has none. Raises NoValue `unknown_code`."""
    one = row("light_categories", code)
    return LightCategory(code, float(one["lux"]), float(one["yearly"]), one["headgear"], one["source"])


def dose(lux: Value, hours: Value) -> Value:
    """Dose, lx h: lux (lx) times hours; 50 lx for 10 h is 250 lx for 2 h. NaN below 0. Error as the lux meter's, 5 to 10 %."""
    light, time = lift(lux), lift(hours)
    return like(lux, np.where((light >= 0) & (time >= 0), light * time, np.nan))


def yearly_dose(seasons: list[tuple[float, Dose]]) -> Dose:
    """Dose of a year from a measured day of each season: pairs of days of the season and the dose of its day. Raises NoValue `not_a_year` over 366 days."""
    days = sum(number for number, _ in seasons)
    if days > 366:
        raise NoValue("not_a_year", days=days)
    total = [(number * day.dose, number * day.covered, number * day.unknown) for number, day in seasons]
    return Dose(*(sum(one[i] for one in total) for i in range(3)))


def spot_dose(hours: Floats, lux: Floats, farthest: float = FARTHEST) -> Dose:
    """Dose of a day from readings at hours of the day, by trapezium; between readings more than `farthest` h apart nothing is known.

    Zero is a reading only where darkness is documented. Outside first and last reading nothing is said. Raises NoValue: `too_few`, `out_of_order`.
    """
    there = ~np.isnan(lux)
    at, light = hours[there], lux[there]
    if len(at) < 2:
        raise NoValue("too_few", readings=len(at), need=2)
    step = np.diff(at)
    if (step <= 0).any() or (light < 0).any():
        raise NoValue("out_of_order")
    near = step <= farthest
    parts = step * (light[1:] + light[:-1]) / 2
    return Dose(float(parts[near].sum()), float(step[near].sum()), float(step[~near].sum()))


def hours_allowed(category: LightCategory, lux: float) -> float:
    """Hours on display a year that use up the yearly limit at so many lx (above 0, else NoValue)."""
    return category.yearly / within("lux", lux, 1e-9)


def weeks_allowed(category: LightCategory, lux: float, open_hours: float) -> float:
    """Weeks of so many open hours (above 0..168) a year that use up the yearly limit at so many lx."""
    return hours_allowed(category, lux) / within("open_hours", open_hours, 1e-9, 168)


def years_on_display(category: LightCategory, lux: float, yearly_hours: float, budget_years: float = 10) -> float:
    """Years on display that use up the budget of `budget_years`, at so many lx and hours a year (above 0..8784)."""
    return budget_years * category.yearly / (within("lux", lux, 1e-9) * within("yearly_hours", yearly_hours, 1e-9, 8784))


def budget_used(used: float, category: LightCategory, years: float = 1) -> float:
    """Share of the budget of so many years that a dose (lx h) has used, %; over 100 is too much."""
    return 100 * within("dose", used, 0) / (category.yearly * within("years", years, 1e-9))


def rest(days: Ints, doses: Floats, most: float) -> Rest | None:
    """Whether doses (lx h) of the last 365 days have used up `most` (lx h, above 0), and until when what had them rests; None where they have not.

    `days` are ordinals in order, of one dose each; a day counts for the 365 after it. Doses are lower bounds where hours are unknown: then `since` may be
    earlier and `until` later.
    """
    total = np.cumsum(doses)
    if not len(total) or total[-1] < within("most", most, 1e-9):
        return None
    last = np.searchsorted(total, total[-1] - most, side="right")
    return Rest(int(days[np.searchsorted(total, most)]), int(days[last]) + 365)


def fading_dose(blue_wool: int, *, uv_free: bool) -> float:
    """Mlx h to a just noticeable fade of ISO blue wool 1..8, else NoValue. Error: a factor of 2. Source: CIE 157:2004, from memory."""
    within("blue_wool", blue_wool, 1, 8)
    found = next(one for one in rows("blue_wools") if int(one["number"]) == blue_wool)
    return number(found, "uv_free" if uv_free else "uv_rich") or 0.0


def years_to_fade(blue_wool: int, lux: float, yearly_hours: float, *, uv_free: bool) -> float:
    """Years to a just noticeable fade of a blue wool, at so many lx (above 0) and hours a year (above 0..8784). Error: a factor of 2."""
    yearly = within("lux", lux, 1e-9) * within("yearly_hours", yearly_hours, 1e-9, 8784)
    return fading_dose(blue_wool, uv_free=uv_free) * 1e6 / yearly


def uv_irradiance(lux: Value, per_lumen: Value) -> Value:
    """Ultraviolet on the thing, µW/m²: lx times µW/lm. A lux meter alone says nothing of it. NaN below 0."""
    light, share = lift(lux), lift(per_lumen)
    return like(lux, np.where((light >= 0) & (share >= 0), light * share, np.nan))
