"""Cumulative sums that notice a small lasting shift, and how long they run before they do.

Values are standardised: mean 0, standard deviation 1, independent, when nothing is wrong. A sum grows by what a value exceeds k,
never falls below 0, and signals above h. Sources: Page 1954, Biometrika 41, 100-115; run lengths by the integral equation solved
with Gauss-Legendre nodes (Vance 1986, Journal of Quality Technology 18, 189-193).
"""

import math
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np

from locations.climate.science.values import Floats, within

NODES: Final = 60
GENTLE: Final = 1e-3
#: beyond this the equation is too ill-conditioned to be solved
LONGEST: Final = 1e9


@dataclass(frozen=True, slots=True)
class Signal:
    """At value number `at` a sum passed the limit, upward (+1) or downward (-1); it had last been 0 just before number `since`."""

    at: int
    since: int
    direction: int


def first_signal(values: Floats, k: float, h: float) -> Signal | None:
    """The first signal of the two sums, None without one. NaN leaves both as they are. k >= 0 and h > 0, else NoValue."""
    within("k", k, 0)
    within("h", h, 1e-9)
    sums, since = [0.0, 0.0], [0, 0]
    for at, value in enumerate(values.tolist()):
        if math.isnan(value):
            continue
        for side, direction in enumerate((1, -1)):
            if sums[side] == 0:
                since[side] = at
            sums[side] = max(0.0, sums[side] + direction * value - k)
            if sums[side] > h:
                return Signal(at, since[side], direction)
    return None


def run_length(k: float, h: float, shift: float = 0, *, both: bool = True) -> float:
    """Average run length to a signal of values shifted by `shift`, from sums at 0: of the upward sum, or of `both` together.

    Range h 0.1..40, k 0..3, shift -6..6, a length up to 1e9, else NoValue. Error under 0.1 % of published tables (Lucas & Crosier 1982; Vance 1986).
    """
    within("h", h, 0.1, 40)
    within("k", k, 0, 3)
    rate = 1 / _upward(k, h, within("shift", shift, -6, 6))
    if both:
        rate += 1 / _upward(k, h, -shift)
    return within("length", 1 / rate if rate else math.inf, 1, LONGEST)


@cache
def decision_limit(k: float, length: float) -> float:
    """The h of two sums that run `length` values (10..1 000 000) on average when nothing is wrong. k 0..3. Error 0.001, by bisection."""
    within("length", length, 10, 1e6)
    low, high = 0.1, 0.2
    while run_length(k, high) < length:
        low, high = high, high * 1.5
    while high - low > GENTLE:
        middle = (low + high) / 2
        low, high = (middle, high) if run_length(k, middle) < length else (low, middle)
    return (low + high) / 2


def _upward(k: float, h: float, shift: float) -> float:
    """Solves L(u) = 1 + L(0) P(k - u) + the integral over 0..h of L(x) p(x + k - u), for u = 0."""
    points, weights = np.polynomial.legendre.leggauss(NODES)
    x, w = h * (points + 1) / 2, h * weights / 2
    x = np.concatenate(([0.0], x))
    kernel = np.exp(-((x[None, 1:] + k - x[:, None] - shift) ** 2) / 2) / np.sqrt(2 * np.pi) * w
    to_zero = _normal(k - x - shift)
    matrix = np.eye(NODES + 1) - np.column_stack((to_zero, kernel))
    length = float(np.linalg.solve(matrix, np.ones(NODES + 1))[0])
    return length if 1 <= length <= LONGEST else math.inf


def _normal(z: Floats) -> Floats:
    return np.array([math.erfc(-value / math.sqrt(2)) / 2 for value in z.tolist()])
