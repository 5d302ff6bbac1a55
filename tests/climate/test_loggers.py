"""Loggers that lie are found, honest ones are left alone: as counts over many made records."""

import numpy as np
import pytest

from locations.climate.science.clocks import clock_error, swapped
from locations.climate.science.drift import Drift, daily_differences, find_drift, usual, whitened
from locations.climate.science.faults import handled, in_exchanged_columns, looks_fahrenheit, mirrored, stuck
from locations.climate.science.psychrometrics import vapour_pressure
from locations.climate.science.values import NoValue
from tests.climate.air import logger, wandering, weather

HALF_YEAR, TWO_YEARS = 182, 730
#: memory from day to day and spread, %RH, of the difference of two loggers: one room; neighbouring rooms; rooms apart
PAIRS = [(0.3, 0.2), (0.6, 0.3), (0.6, 0.5)]


def _alarms(differences: np.ndarray) -> list[Drift]:  # type: ignore[type-arg]
    """Every alarm of a record, the usual being learnt anew after each, as after a look with salts."""
    found, begin = [], 0
    while len(differences) - begin > 100 and (one := find_drift(differences[begin:])):
        found.append(one)
        begin += one.day + 1
    return found


@pytest.mark.parametrize(("memory", "spread"), PAIRS)
def test_an_honest_logger_is_suspected_less_than_once_in_two_years(memory: float, spread: float) -> None:
    rng = np.random.default_rng(11)
    counts = [len(_alarms(wandering(rng, 60 + TWO_YEARS, memory, spread))) for _ in range(150)]
    print(f"memory {memory}, spread {spread}: {np.mean(counts):.2f} false alarms a logger in two years")
    assert np.mean(counts) < 1


@pytest.mark.parametrize(("memory", "spread", "days"), [(0.3, 0.2, 30), (0.6, 0.3, 60), (0.6, 0.5, 90)])
def test_two_per_cent_in_half_a_year_is_found(memory: float, spread: float, days: int) -> None:
    """The median of the days from its beginning; long before the two per cent are reached in all."""
    rng = np.random.default_rng(12)
    ramp = np.clip((np.arange(400) - 100) * 2 / HALF_YEAR, 0, 2)
    found = [one for _ in range(150) for one in [find_drift(wandering(rng, 400, memory, spread) + ramp)] if one and one.day >= 100]
    after = np.array([one.day - 100 for one in found])
    print(f"memory {memory}, spread {spread}: found after {np.median(after):.0f} days, 95 of 100 after {np.percentile(after, 95):.0f}; {len(found)} of 150")
    assert len(found) >= 135  # the others were suspected before it began
    assert np.median(after) <= days
    assert after.max() < HALF_YEAR + 30
    assert all(one.size > 0 for one in found if one.since > 100)


def test_drift_of_a_logger_beside_two_others() -> None:
    """From hours of three loggers in rooms of different temperature, one drifting by 2 % in half a year."""
    rng = np.random.default_rng(13)
    hours = 24 * 300
    t, e = weather(rng, hours)
    colder = t - 2
    neighbours = np.array([vapour_pressure(*logger(rng, room, e * np.exp(wandering(rng, hours, 0.95, 0.01)))) for room in (t, t + 1)])
    shown_t, shown_rh = logger(rng, colder, e * 0.99)
    honest = daily_differences(shown_t, shown_rh, neighbours)
    drifted = daily_differences(shown_t, shown_rh + np.clip((np.arange(hours) / 24 - 100) * 2 / HALF_YEAR, 0, None), neighbours)
    found = find_drift(drifted)
    assert find_drift(honest) is None
    assert found is not None
    assert 100 < found.day < 190
    assert found.size == pytest.approx((found.day - 107) * 2 / HALF_YEAR, abs=4 * found.error)


def test_whitening_leaves_white_noise() -> None:
    rng = np.random.default_rng(14)
    series = wandering(rng, 4000, 0.7, 0.5) + 3
    series[rng.random(4000) < 0.1] = np.nan
    normal = usual(series)
    new = whitened(series, normal)
    new = new[~np.isnan(new)]
    assert (normal.mean, normal.memory) == pytest.approx((3, 0.7), abs=0.1)
    assert new.mean() == pytest.approx(0, abs=0.05)
    assert new.std() == pytest.approx(1, abs=0.05)
    assert np.corrcoef(new[1:], new[:-1])[0, 1] == pytest.approx(0, abs=0.05)


def test_no_verdict_without_enough_of_the_usual() -> None:
    rng = np.random.default_rng(15)
    with pytest.raises(NoValue, match="too_short"):
        find_drift(rng.normal(0, 1, 39))
    with pytest.raises(NoValue, match="too_noisy"):
        find_drift(rng.normal(0, 5, 300))


def test_a_clock_an_hour_wrong_is_found() -> None:
    rng = np.random.default_rng(16)
    right, false = 0, 0
    for _ in range(200):
        t, e = weather(rng, 24 * 21 + 1)
        one, _ = logger(rng, t[1:], e[1:])
        late, _ = logger(rng, t[:-1], e[:-1])
        other, _ = logger(rng, t[1:] + 0.7 + wandering(rng, len(one), 0.9, 0.1), e[1:])
        found, honest = clock_error(late, other), clock_error(one, other)
        right += found.certain and round(found.late) == 1
        false += honest.certain
    print(f"clock an hour wrong: {right} of 200 found, {false} of 200 honest ones suspected")
    assert right >= 198
    assert false <= 2


def test_the_sign_of_a_clock_error_and_its_fraction() -> None:
    rng = np.random.default_rng(17)
    t = np.cumsum(rng.normal(0, 1, 2000))
    assert clock_error(t[3:1003], t[:1000]).late == pytest.approx(-3, abs=0.1)
    assert clock_error(t[:1000], t[5:1005]).late == pytest.approx(5, abs=0.1)


def test_records_without_anything_in_common_have_no_lag() -> None:
    rng = np.random.default_rng(18)
    with pytest.raises(NoValue, match="nothing_in_common"):
        clock_error(rng.normal(size=600), rng.normal(size=600))
    with pytest.raises(NoValue, match="too_short"):
        clock_error(np.zeros(50), np.zeros(50))


def test_a_swapped_pair_is_found() -> None:
    rng = np.random.default_rng(19)
    hours = 24 * 14
    right, false = 0, 0
    for _ in range(200):
        t, e = weather(rng, 2 * hours)
        warmer = t + 1.5 + wandering(rng, 2 * hours, 0.9, 0.4)
        store, hall = (np.array([a, vapour_pressure(a, b)]) for a, b in (logger(rng, t, e), logger(rng, warmer, e * 1.05)))
        before, after = (store[:, :hours], hall[:, :hours]), (store[:, hours:], hall[:, hours:])
        right += swapped(before, (after[1], after[0])).suspected
        false += swapped(before, after).suspected
    print(f"swapped pair: {right} of 200 found, {false} of 200 honest pairs suspected")
    assert right >= 198
    assert false <= 2


def test_rooms_alike_cannot_be_told_apart() -> None:
    rng = np.random.default_rng(20)
    t, e = weather(rng, 24 * 28)
    one, two = (np.array([a, vapour_pressure(a, b)]) for a, b in (logger(rng, t, e), logger(rng, t, e)))
    with pytest.raises(NoValue, match="rooms_alike"):
        swapped((one[:, :336], two[:, :336]), (one[:, 336:], two[:, 336:]))
    with pytest.raises(NoValue, match="too_short"):
        swapped((one[:, :48], two[:, :48]), (one[:, 336:], two[:, 336:]))


def test_a_stuck_sensor_is_found() -> None:
    rng = np.random.default_rng(21)
    right, false = 0, 0
    at = np.arange(24 * 30) * 3600
    for _ in range(200):
        t, rh = logger(rng, *weather(rng, len(at)))
        false += bool(stuck(at, t, rh))
        begin = int(rng.integers(1, 600))
        rh[begin : begin + 30] = rh[begin]
        found = stuck(at, t, rh)
        right += any(one.first <= begin and one.last >= begin + 29 for one in found)
    print(f"stuck sensor: {right} of 200 found, {false} of 200 honest ones suspected")
    assert right >= 198
    assert false == 0


def test_still_air_is_not_stuck() -> None:
    at = np.arange(60) * 3600
    still = np.full(60, 20.0)
    assert stuck(at, still, np.full(60, 50.0)) == []
    moving = 20 + np.arange(60) / 10
    assert [(one.first, one.last, one.hours) for one in stuck(at, moving, np.full(60, 50.0))] == [(0, 59, 59)]
    assert stuck(at[:25], moving[:25], np.full(25, 50.0)) == []


def test_the_same_value_before_and_after_a_hole_is_not_stuck() -> None:
    """A battery was empty for three days: what stood on both sides of them tells nothing of what lies between."""
    at = 3600 * np.concatenate((np.arange(20), 92 + np.arange(20)))
    rh = np.concatenate((np.linspace(45, 50, 20), np.linspace(50, 55, 20)))
    assert stuck(at, np.repeat([10.0, 14.0], 20), rh) == []
    # of a logger that writes twice a day its own step is no hole
    assert [(one.first, one.last) for one in stuck(12 * 3600 * np.arange(10), np.linspace(10, 14, 10), np.full(10, 50.0))] == [(0, 9)]


def test_mirrored_channels() -> None:
    rng = np.random.default_rng(22)
    t, rh = logger(rng, *weather(rng, 500))
    assert mirrored(t, 100 - t)
    assert mirrored(t, t)
    assert not mirrored(t, rh)
    assert not mirrored(t[:10], 100 - t[:10])


def test_other_signs_of_a_slip() -> None:
    assert in_exchanged_columns(np.full(9, 60.0), np.full(9, 18.0))
    assert not in_exchanged_columns(np.full(9, 18.0), np.full(9, 60.0))
    assert looks_fahrenheit(np.full(9, 64.0))
    assert not looks_fahrenheit(np.full(9, 24.0))
    assert handled(np.arange(5) * 3600, placed=3600) == [1, 2]
