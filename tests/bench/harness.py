"""Takes a measure: ours and the floor by turns, medians, their ratio."""

import gc
import statistics
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

Work = Callable[[], object]
#: makes what is to be timed: ours, and the floor
Pair = Callable[[], tuple[Work, Work]]
#: a measure whose work is slow is taken fewer times, but never fewer than this
LEAST_RUNS = 3
SECONDS = 30.0


@dataclass(frozen=True, slots=True)
class Measure:
    """With an `aim` in seconds in place of a floor, what is made is one work."""

    name: str
    goal: float
    runs: int
    pair: Pair
    aim: float | None = None


@dataclass(frozen=True, slots=True)
class Taken:
    """Medians in seconds."""

    name: str
    ours: float
    floor: float
    goal: float

    def __str__(self) -> str:
        return f"{self.name} {spell(self.ours)} {spell(self.floor)} {self.ours / self.floor:.2f} {self.goal:g}"


MEASURES: dict[str, Measure] = {}


def measure(name: str, *, goal: float, runs: int = 21) -> Callable[[Pair], Pair]:
    """Registers what prepares and returns (ours, floor). `goal` is the ratio asked for; a name has no spaces."""

    if " " in name or name in MEASURES:
        raise ValueError(f"'{name}' is taken or has a space")

    def register(pair: Pair) -> Pair:
        MEASURES[name] = Measure(name, goal, runs, pair)
        return pair

    return register


def aimed(name: str, *, seconds: float, runs: int = 1) -> Callable[[Callable[[], Work]], Callable[[], Work]]:
    """Registers what prepares and returns one work that is to take at most so many seconds; the aim stands where the floor would."""

    def register(make: Callable[[], Work]) -> Callable[[], Work]:
        measure(name, goal=1.0, runs=runs)(lambda: (make(), _nothing))
        MEASURES[name] = replace(MEASURES[name], aim=seconds)
        return make

    return register


def _nothing() -> None:
    """An aim takes no time."""


def chosen(names: Iterable[str]) -> list[Measure]:
    """The measures whose names begin with one of these; all without any. Raises LookupError for a name of none."""
    found: dict[str, Measure] = {}
    for name in names:
        begun = {key: one for key, one in MEASURES.items() if key.startswith(name)}
        if not begun:
            raise LookupError(f"No measure begins with '{name}'. There are: {', '.join(sorted(MEASURES))}")
        found |= begun
    return list((found or MEASURES).values())


def take(one: Measure) -> Taken:
    """Each once to warm up; then by turns, first the one, then the other, so that neither profits from its place."""
    works = one.pair()
    if one.aim is not None:
        return Taken(one.name, statistics.median(_timed(works[0]) for _ in range(one.runs)), one.aim, one.goal)
    times: tuple[list[float], list[float]] = ([], [])
    for work in works:
        work()
    end = time.monotonic() + SECONDS
    for run in range(one.runs):
        if run >= LEAST_RUNS and time.monotonic() > end:
            break
        for which in (0, 1) if run % 2 else (1, 0):
            times[which].append(_timed(works[which]))
    ours, floor = map(statistics.median, times)
    return Taken(one.name, ours, floor, one.goal)


def _timed(work: Work) -> float:
    gc.collect()
    gc.disable()
    try:
        begun = time.perf_counter()
        work()
        return time.perf_counter() - begun
    finally:
        gc.enable()


def spell(seconds: float) -> str:
    """Seconds in a unit that can be read."""
    for unit, size in (("s", 1.0), ("ms", 1e-3)):
        if seconds >= size:
            return f"{seconds / size:.3g}{unit}"
    return f"{seconds / 1e-6:.3g}us"
