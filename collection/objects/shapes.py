"""Zones drawn by hand on a photograph: closed shapes of straight lines. Free of the framework.

A point is (x, y) in parts of the upright picture: 0 is its left or upper edge, 1 its right or lower one. In words people
and pages write percent of width and height, a pair for each corner: "12.5 40; 60 40; 35 80".
"""

import re
from collections.abc import Sequence
from enum import StrEnum
from itertools import combinations
from math import hypot
from typing import Any, Final

Point = tuple[float, float]

FEWEST, MOST = 3, 60
#: less than this part of the picture cannot be touched with a finger (a square of 1 % by 1 %)
LEAST_AREA: Final = 0.0001
#: steps of the search for a point well inside
STEPS: Final = 24
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_WRITTEN = re.compile(r"[-\d.,;\s]*")
#: numbers beyond this are no part of any picture
_LONGEST: Final = 6000


class Fault(StrEnum):
    """Why a shape cannot be taken."""

    UNREADABLE = "unreadable"
    FEW = "few"
    MANY = "many"
    OUTSIDE = "outside"
    CROSSING = "crossing"
    FLAT = "flat"


def points_in(text: str) -> list[Point] | None:
    """Corners written as pairs of percent; None where that cannot be read."""
    if len(text) > _LONGEST or not _WRITTEN.fullmatch(text):
        return None
    numbers = [float(found) / 100 for found in _NUMBER.findall(text)]
    return list(zip(numbers[::2], numbers[1::2], strict=True)) if len(numbers) % 2 == 0 else None


def points_of(value: Any) -> list[Point] | None:
    """Corners of a list of pairs of numbers, as programs send them; None where it is something else."""
    if not isinstance(value, (list, tuple)):
        return None
    for pair in value:
        if not isinstance(pair, (list, tuple)) or len(pair) != 2 or not all(_is_number(part) for part in pair):
            return None
    return [(float(x), float(y)) for x, y in value]


def words_of(points: Sequence[Sequence[float]]) -> str:
    """The corners as people write them."""
    return "; ".join(f"{100 * x:.4g} {100 * y:.4g}" for x, y in points)


def tidied(points: Sequence[Point]) -> list[Point]:
    """To a ten-thousandth, each corner once in a row, the last not the first again."""
    rounded = [(round(x, 4), round(y, 4)) for x, y in points]
    return [point for n, point in enumerate(rounded) if point != rounded[n - 1] or len(rounded) == 1]


def fault_of(points: Sequence[Point]) -> Fault | None:
    """What is wrong with tidied corners, the plainest first; None where nothing is."""
    if len(points) < FEWEST:
        return Fault.FEW
    if len(points) > MOST:
        return Fault.MANY
    if not all(0 <= part <= 1 for point in points for part in point):
        return Fault.OUTSIDE
    if _crosses(points):
        return Fault.CROSSING
    return Fault.FLAT if area_of(points) < LEAST_AREA else None


def area_of(points: Sequence[Point]) -> float:
    """The part of the picture that lies within, 0 to 1, by the sum of trapezes."""
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in _edges(points))) / 2


def middle_of(points: Sequence[Point]) -> Point:
    """A point well inside: of a grid the one farthest from every edge, the middle of the corners where none is inside."""
    xs, ys = [x for x, _y in points], [y for _x, y in points]
    best, room = (sum(xs) / len(xs), sum(ys) / len(ys)), 0.0
    for m in range(1, STEPS):
        for n in range(1, STEPS):
            point = min(xs) + (max(xs) - min(xs)) * m / STEPS, min(ys) + (max(ys) - min(ys)) * n / STEPS
            here = min(_distance(point, a, b) for a, b in _edges(points)) if _inside(point, points) else 0.0
            if here > room + 1e-9:
                best, room = point, here
    return best


def _is_number(part: Any) -> bool:
    return isinstance(part, (int, float)) and not isinstance(part, bool) and abs(part) < 10


def _edges(points: Sequence[Point]) -> list[tuple[Point, Point]]:
    return list(zip(points, [*points[1:], points[0]], strict=True))


def _crosses(points: Sequence[Point]) -> bool:
    """Whether two edges meet elsewhere than in their common corner."""
    edges = _edges(points)
    for (m, one), (n, other) in combinations(enumerate(edges), 2):
        if n == m + 1 or (m == 0 and n == len(edges) - 1):
            if _folds_back(*((one[0], one[1], other[1]) if n == m + 1 else (other[0], other[1], one[1]))):
                return True
        elif _meet(*one, *other):
            return True
    return False


def _turn(a: Point, b: Point, c: Point) -> float:
    """Twice the area of a, b, c: positive to one hand, negative to the other, 0 on a line."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _folds_back(a: Point, b: Point, c: Point) -> bool:
    """Whether the way from a to b returns upon itself to c."""
    back = (a[0] - b[0]) * (c[0] - b[0]) + (a[1] - b[1]) * (c[1] - b[1])
    return abs(_turn(a, b, c)) < 1e-12 and back > 0


def _meet(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Whether the lines a to b and c to d touch."""
    turns = _turn(a, b, c), _turn(a, b, d), _turn(c, d, a), _turn(c, d, b)
    if turns[0] * turns[1] < 0 and turns[2] * turns[3] < 0:
        return True
    ends = ((a, b, c), (a, b, d), (c, d, a), (c, d, b))
    return any(abs(turn) < 1e-12 and _within(*end) for turn, end in zip(turns, ends, strict=True))


def _within(a: Point, b: Point, c: Point) -> bool:
    """Whether c, on the line through a and b, lies between them."""
    return min(a[0], b[0]) <= c[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= c[1] <= max(a[1], b[1])


def _inside(point: Point, points: Sequence[Point]) -> bool:
    x, y = point
    crossed = [a[0] + (y - a[1]) * (b[0] - a[0]) / (b[1] - a[1]) > x for a, b in _edges(points) if (a[1] > y) != (b[1] > y)]
    return sum(crossed) % 2 == 1


def _distance(point: Point, a: Point, b: Point) -> float:
    along = (b[0] - a[0], b[1] - a[1])
    length = along[0] ** 2 + along[1] ** 2
    share = 0.0 if length == 0 else max(0.0, min(1.0, ((point[0] - a[0]) * along[0] + (point[1] - a[1]) * along[1]) / length))
    return hypot(point[0] - a[0] - share * along[0], point[1] - a[1] - share * along[1])
