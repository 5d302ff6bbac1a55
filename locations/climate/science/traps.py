"""Insect traps: a catch per trap and 30 days, by species and place. A missing trap is unknown, not zero."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from locations.climate.science.values import NoValue

PERIOD: Final = 30.0
#: of the normal distribution, for 95 of 100
Z: Final = 1.959964


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

    Error: the range is Byar's approximation of the Poisson limits (within 1 % from a count of 1 on), and takes catches as independent,
    which insects are not.
    """
    groups: dict[tuple[str, str], list[Catch]] = defaultdict(list)
    for one in catches:
        if one.days <= 0 or (one.count is not None and one.count < 0):
            raise NoValue("impossible_count", place=one.place, species=one.species, days=one.days, count=one.count)
        groups[one.place, one.species].append(one)
    return {key: rate for key, group in groups.items() if (rate := _rate(group))}


def poisson_limits(count: int) -> tuple[float, float]:
    """95 % limits of a count by Byar's approximation. Source: Breslow & Day 1987, Statistical Methods in Cancer Research II."""
    above = count + 1
    low = count * (1 - 1 / (9 * count) - Z / (3 * count**0.5)) ** 3 if count else 0.0
    return max(low, 0.0), above * (1 - 1 / (9 * above) + Z / (3 * above**0.5)) ** 3


def _rate(group: list[Catch]) -> CatchRate | None:
    read = [one for one in group if one.count is not None]
    if not read:
        return None
    count, trap_days = sum(one.count or 0 for one in read), sum(one.days for one in read)
    low, high = (limit * PERIOD / trap_days for limit in poisson_limits(count))
    return CatchRate(count * PERIOD / trap_days, low, high, count, trap_days, len(group) - len(read))
