"""Insect traps: a catch per trap and 30 days, by species and place. A missing trap is unknown, not zero."""

import math
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

from locations.climate.science.values import NoValue

PERIOD: Final = 30.0
#: chance beyond either limit
TAIL: Final = 0.025


@dataclass(frozen=True, slots=True)
class Catch:
    """One trap over `days`: how many of a species; None = the trap was missing or not read."""

    place: str
    species: str
    days: float
    count: int | None


@dataclass(frozen=True, slots=True)
class CatchRate:
    """Insects per trap and 30 days, with the range that chance allows in 95 of 100 cases; what was read and what was missing."""

    rate: float
    low: float
    high: float
    count: int
    trap_days: float
    missing: int


def catch_rates(catches: Iterable[Catch]) -> dict[tuple[str, str], CatchRate]:
    """Rates by (place, species); where every trap was missing there is none. Raises NoValue `impossible_count`.

    Error: the range takes catches as independent, which insects are not.
    """
    groups: dict[tuple[str, str], list[Catch]] = defaultdict(list)
    for one in catches:
        if one.days <= 0 or (one.count is not None and one.count < 0):
            raise NoValue("impossible_count", place=one.place, species=one.species, days=one.days, count=one.count)
        groups[one.place, one.species].append(one)
    return {key: rate for key, group in groups.items() if (rate := _rate(group))}


def poisson_limits(count: int) -> tuple[float, float]:
    """Exact 95 % limits of a count (0 or more) that falls by chance. Source: Garwood 1936, Biometrika 28, 437-442; by bisection, to 1e-9."""
    most = count + 10 * math.sqrt(count + 1) + 10
    low = _mean_where(lambda mean: _at_most(count - 1, mean) > 1 - TAIL, most) if count else 0.0
    return low, _mean_where(lambda mean: _at_most(count, mean) > TAIL, most)


def _at_most(count: int, mean: float) -> float:
    """Chance of no more than `count` where `mean` are expected."""
    return sum(math.exp(k * math.log(mean) - mean - math.lgamma(k + 1)) for k in range(count + 1))


def _mean_where(too_low: Callable[[float], bool], most: float) -> float:
    low, high = 0.0, most
    while high - low > 1e-9:
        middle = (low + high) / 2
        low, high = (middle, high) if too_low(middle) else (low, middle)
    return (low + high) / 2


def _rate(group: list[Catch]) -> CatchRate | None:
    read = [one for one in group if one.count is not None]
    if not read:
        return None
    count, trap_days = sum(one.count or 0 for one in read), sum(one.days for one in read)
    low, high = (limit * PERIOD / trap_days for limit in poisson_limits(count))
    return CatchRate(count * PERIOD / trap_days, low, high, count, trap_days, len(group) - len(read))
