"""Run lengths of cumulative sums against published tables, and the sums against a count of their own."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from locations.climate.science.cusum import Signal, decision_limit, first_signal, run_length
from locations.climate.science.values import NoValue

#: Lucas & Crosier 1982, Technometrics 24, 199-205, table 1: both sums, k 0.5, h 4
LUCAS_CROSIER = {0: 168, 0.25: 74.2, 0.5: 26.6, 0.75: 13.3, 1: 8.38, 1.5: 4.75, 2: 3.34, 2.5: 2.62, 3: 2.19, 4: 1.71, 5: 1.31}
#: Vance 1986, Journal of Quality Technology 18, 189-193, table 1: upward sum, k 0, h 10
VANCE = {-0.25: 2071.51, -0.125: 400.28, 0: 124.66, 0.125: 59.30, 0.25: 36.71, 0.5: 20.37, 0.75: 14.06, 1: 10.75}
#: upward sum, k 0.5, h 3: Brook & Evans 1972, Biometrika 59, 539-548, section 4.3 (0 and 1.5); Waldmann 1986, Technometrics 28, 61-67, tables 3 and 5.
#: Of no shift Waldmann prints 117.4, Brook and Evans 117.59; ours is 117.60.
UPWARD = {-0.5: 1963, 0: 117.59, 0.5: 17.35, 1.5: 3.75}
#: Hawkins' table as quoted by Montgomery, Introduction to Statistical Quality Control: k and h for a run length of 370, both sums
HAWKINS = {0.25: 8.01, 0.5: 4.77, 0.75: 3.34, 1.0: 2.52, 1.25: 1.99, 1.5: 1.61}


@pytest.mark.parametrize(("shift", "length"), LUCAS_CROSIER.items())
def test_both_sums(shift: float, length: float) -> None:
    assert run_length(0.5, 4, shift) == pytest.approx(length, rel=0.003)


def test_both_sums_know_no_side() -> None:
    assert run_length(0.5, 4, -3) == pytest.approx(run_length(0.5, 4, 3))


@pytest.mark.parametrize(("shift", "length"), VANCE.items())
def test_upward_sum_without_allowance(shift: float, length: float) -> None:
    assert run_length(0, 10, shift, both=False) == pytest.approx(length, rel=0.0005)


@pytest.mark.parametrize(("shift", "length"), UPWARD.items())
def test_upward_sum(shift: float, length: float) -> None:
    assert run_length(0.5, 3, shift, both=False) == pytest.approx(length, rel=0.0015)


@pytest.mark.parametrize(("k", "h"), HAWKINS.items())
def test_limits_for_a_run_length(k: float, h: float) -> None:
    assert decision_limit(k, 370) == pytest.approx(h, abs=0.015)


def test_sums_run_as_long_as_computed() -> None:
    rng = np.random.default_rng(5)
    runs = [found.at + 1 for _ in range(2000) if (found := first_signal(rng.normal(0.5, 1, 600), 0.5, 4))]
    error = float(np.std(runs)) / len(runs) ** 0.5
    assert np.mean(runs) == pytest.approx(run_length(0.5, 4, 0.5), abs=4 * error)


def test_a_signal_says_when_it_began() -> None:
    values = np.array([0.0, -1, math.nan, 2, 2, 2, math.nan, 2])
    assert first_signal(values, 0.5, 4) == Signal(5, 3, 1)
    assert first_signal(-values, 0.5, 4) == Signal(5, 3, -1)
    assert first_signal(values, 0.5, 7) is None


@given(st.lists(st.floats(-0.5, 0.5), max_size=100))
def test_what_stays_within_the_allowance_never_signals(values: list[float]) -> None:
    assert first_signal(np.array(values), 0.5, 0.1) is None


OUTSIDE = [
    lambda: run_length(0.5, 0),
    lambda: run_length(4, 4),
    lambda: run_length(1.5, 30),
    lambda: decision_limit(0.5, 1),
    lambda: first_signal(np.zeros(1), -1, 4),
]


@pytest.mark.parametrize("number", range(len(OUTSIDE)))
def test_outside_there_is_no_value(number: int) -> None:
    with pytest.raises(NoValue, match="outside_range"):
        OUTSIDE[number]()
