"""Readings through time against numpy and scipy, and the hours made of them."""

import math

import numpy as np
import pytest
import scipy.ndimage
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from locations.climate.science import series
from locations.climate.science.fluctuations import HALF_WINDOW, thirty_day_mean
from locations.climate.science.psychrometrics import vapour_pressure
from locations.climate.science.series import HOUR
from locations.climate.science.traps import poisson_limits
from locations.climate.science.values import NoValue

instants = st.lists(st.integers(0, 10**7), min_size=1, max_size=60, unique=True).map(sorted).map(lambda at: np.array(at, dtype=np.int64))


def hours(n: int) -> NDArray[np.int64]:
    return np.arange(n, dtype=np.int64) * HOUR


def test_regular_readings_weigh_one_each() -> None:
    assert series.weights(hours(5), HOUR).tolist() == [1] * 5
    assert series.weights(np.arange(9) * 600, 600) == pytest.approx(np.full(9, 1 / 6))


@given(instants, st.sampled_from([600, 900, HOUR]))
def test_no_reading_outweighs_one_and_a_half(at: NDArray[np.int64], interval: int) -> None:
    weight = series.weights(at, interval)
    assert len(weight) == len(at)
    assert (weight > 0).all()
    assert (weight <= 1.5 * interval / HOUR + 1e-12).all()
    assert weight.sum() * HOUR <= at[-1] - at[0] + interval + 1e-6


def test_a_gap_does_not_grow() -> None:
    """Readings at 0, 1, 7 and 8 h: those beside the gap weigh 1.5 h, not 3.5."""
    at = np.array([0, 1, 7, 8]) * HOUR
    assert series.weights(at, HOUR).tolist() == [1, 1.5, 1.5, 1]
    assert [(gap.begin, gap.end, gap.hours) for gap in series.gaps(at, 3 * HOUR)] == [(HOUR, 7 * HOUR, 6)]
    assert series.gaps(at, 6 * HOUR) == []
    assert series.longest_gap(at) == 6
    assert series.coverage(at, HOUR) == pytest.approx(100 * 4 / 9)


@given(st.lists(st.floats(-40, 60), min_size=2, max_size=200), st.randoms())
def test_statistics_are_numpys(values: list[float], random: object) -> None:
    rng = np.random.default_rng(len(values))
    at = np.cumsum(rng.integers(600, 9000, len(values)))
    numbers = np.array(values)
    weight = series.weights(at, HOUR)
    found = series.statistics(at, numbers, HOUR)
    assert found.mean == pytest.approx(np.average(numbers, weights=weight), abs=1e-9)
    assert (found.n, found.low, found.high) == (len(values), numbers.min(), numbers.max())


@given(st.lists(st.floats(-40, 60), min_size=1, max_size=200), st.floats(0, 100))
def test_percentiles_of_equal_weights_are_numpys(values: list[float], q: float) -> None:
    assert series.percentile(np.array(values), np.ones(len(values)), q) == pytest.approx(np.percentile(values, q), abs=1e-6)


def test_a_missing_value_is_not_a_reading() -> None:
    found = series.statistics(hours(4), np.array([1.0, math.nan, math.nan, 4]), HOUR)
    assert (found.n, found.mean, found.coverage, found.longest_gap) == (2, 2.5, 50, 3)
    with pytest.raises(NoValue, match="no_readings"):
        series.statistics(hours(2), np.full(2, math.nan), HOUR)


def test_shares_of_time_need_a_month() -> None:
    rh = np.tile([50.0, 70.0], 360)
    at, weight = hours(720), np.ones(720)
    assert series.share_where(rh > 65, at, weight) == 50
    assert series.hours_where(rh > 65, weight) == 360
    with pytest.raises(NoValue, match="too_short"):
        series.share_where(rh[:600] > 65, at[:600], weight[:600])


def test_out_of_order_is_refused() -> None:
    for wrong in ([0, 0], [HOUR, 0]):
        with pytest.raises(NoValue, match="out_of_order"):
            series.weights(np.array(wrong), HOUR)
    with pytest.raises(NoValue, match="no_readings"):
        series.weights(np.array([], dtype=np.int64), HOUR)
    with pytest.raises(NoValue, match="no_time"):
        series.coverage(hours(3), HOUR, 5, 5)


def test_what_may_be_judged() -> None:
    assert series.usable(75.0)
    assert not series.usable(74.9)
    assert series.month_usable([1, 2, 3, 10, 20])
    assert not series.month_usable([1, 2, 3, 4])
    assert not series.month_usable([1, 3, 5, 7, 9, 11])
    assert series.year_usable([100.0] * 11 + [75.0])
    assert not series.year_usable([100.0] * 11 + [74.0])
    assert not series.year_usable([89.0] * 12)
    assert not series.year_usable([100.0] * 11)


def test_hours_of_ten_minutes() -> None:
    """Mean t, mean vapour: not the mean of rh."""
    at = np.arange(12, dtype=np.int64) * 600
    t = np.array([10.0, 25] * 6)
    rh = np.array([90.0, 40] * 6)
    made = series.hourly(at, t, rh, 600)
    e = vapour_pressure(t, rh)[:6].mean()
    assert made.t.tolist() == [17.5, 17.5]
    assert made.rh[0] == pytest.approx(100 * e / vapour_pressure(17.5, 100.0))
    assert made.rh[0] == pytest.approx(59, abs=0.5)  # the reference's example; the mean of rh is 65
    few = series.hourly(np.delete(at, [1, 2]), np.delete(t, [1, 2]), np.delete(rh, [1, 2]), 600)
    assert np.isnan(few.t[0])  # 4 of 6 are under 75 %
    assert not np.isnan(few.t[1])


def test_single_readings_stay_as_they_are() -> None:
    rh = np.array([80.0, 80.1, 79.9, 101.5, 65.0])
    made = series.hourly(hours(5) + 37 * 60, np.full(5, 17.3), rh, HOUR)
    assert made.rh.tolist() == rh.tolist()
    assert made.begin == 0


def test_short_gaps_are_filled_by_vapour_and_long_ones_stay_open() -> None:
    at = np.array([0, 3, 7, 8]) * HOUR
    t, rh = np.array([10.0, 22, 20, 20]), np.array([90.0, 45, 50, 50])
    made = series.hourly(at, t, rh, HOUR)
    assert made.filled.tolist() == [False, True, True, False, False, False, False, False, False]
    assert made.t[1:3].tolist() == [14, 18]
    e = vapour_pressure(t, rh)
    assert vapour_pressure(made.t, made.rh)[1] == pytest.approx(e[0] + (e[1] - e[0]) / 3)
    assert np.isnan(made.t[4:7]).all()
    assert np.isnan(made.read_rh[1:3]).all()
    assert made.instant(7) == 7 * HOUR
    assert np.isnan(series.hourly(at, t, rh, HOUR, fill=False).t[1:3]).all()


@given(instants)
def test_hours_keep_what_was_read(at: NDArray[np.int64]) -> None:
    rng = np.random.default_rng(len(at))
    t, rh = rng.uniform(0, 30, len(at)), rng.uniform(20, 99, len(at))
    made = series.hourly(at, t, rh, HOUR)
    assert np.nanmin(made.t) >= t.min() - 1e-9
    assert np.nanmax(made.t) <= t.max() + 1e-9
    read = np.unique(at // HOUR * HOUR)
    assert {made.instant(i) for i in np.flatnonzero(~np.isnan(made.read_t))} == set(read.tolist())


def test_steps_are_told_of_neighbours_only() -> None:
    at = np.array([0, 1, 2, 6, 7]) * HOUR
    t = np.array([10.0, 21, 21, 40, 40])
    rh = np.array([50.0, 50, 50, 50, 81])
    assert series.steps(at, t, rh, HOUR) == [1, 4]


def test_moving_mean_is_scipys() -> None:
    """The 30-day mean against a convolution with the same window."""
    values = np.random.default_rng(1).normal(50, 10, 2000)
    window = np.ones(721)
    window[[0, -1]] = 0.5
    truth = scipy.ndimage.convolve1d(values, window / 720)
    found = thirty_day_mean(values)
    assert found[HALF_WINDOW:-HALF_WINDOW] == pytest.approx(truth[HALF_WINDOW:-HALF_WINDOW])
    assert np.isnan(found[:HALF_WINDOW]).all()
    assert np.isnan(found[-HALF_WINDOW:]).all()


def test_moving_mean_needs_three_quarters() -> None:
    values = np.full(900, 50.0)
    values[200:370] = np.nan
    assert thirty_day_mean(values)[450] == pytest.approx(50)
    values[200:390] = np.nan
    assert np.isnan(thirty_day_mean(values)[450])
    assert np.isnan(thirty_day_mean(np.full(900, np.nan))).all()
    assert np.isnan(thirty_day_mean(np.full(720, 50.0))).all()


def test_trap_limits_are_scipys() -> None:
    for count in (0, 1, 2, 5, 12, 60):
        low, high = poisson_limits(count)
        assert high == pytest.approx(scipy.stats.chi2.ppf(0.975, 2 * count + 2) / 2)
        if count:
            assert low == pytest.approx(scipy.stats.chi2.ppf(0.025, 2 * count) / 2)
