"""Loggers that lie are found, honest ones are left alone: as counts over many made records."""

import numpy as np
import pytest

from locations.climate.science.clocks import clock_error, swapped
from locations.climate.science.drift import MOST_OF_A_DAY, Before, Compared, Drift, compared, find_drift, usual, usual_before, whitened
from locations.climate.science.faults import handled, in_exchanged_columns, looks_fahrenheit, mirrored, stuck
from locations.climate.science.psychrometrics import vapour_pressure
from locations.climate.science.values import NoValue
from tests.climate.air import Floats, logger, wandering, weather

HALF_YEAR, TWO_YEARS = 182, 730
#: memory from day to day and spread, %RH, of the difference of two loggers: one room; neighbouring rooms; rooms apart
PAIRS = [(0.3, 0.2), (0.6, 0.3), (0.6, 0.5)]


def days(more: Floats, humidity: Floats | float = 55.0) -> Compared:
    return Compared(more, np.broadcast_to(humidity, more.shape))


def _alarms(of: Compared) -> list[Drift]:
    """Every alarm of a record; after each a look with salts finds it right."""
    found = list[Drift]()
    while one := find_drift(of, [before.day + 1 for before in found]):
        found.append(one)
    return found


@pytest.mark.parametrize(("memory", "spread"), PAIRS)
def test_an_honest_logger_is_suspected_less_than_once_in_two_years(memory: float, spread: float) -> None:
    rng = np.random.default_rng(11)
    counts = [len(_alarms(days(wandering(rng, 60 + TWO_YEARS, memory, spread)))) for _ in range(150)]
    print(f"memory {memory}, spread {spread}: {np.mean(counts):.2f} false alarms a logger in two years")
    assert np.mean(counts) < 1


@pytest.mark.parametrize(("memory", "spread", "most"), [(0.3, 0.2, 30), (0.6, 0.3, 45), (0.6, 0.5, 65)])
def test_two_per_cent_in_half_a_year_is_found(memory: float, spread: float, most: int) -> None:
    """The median of the days from its beginning; long before the two per cent are reached in all."""
    rng = np.random.default_rng(12)
    ramp = np.clip((np.arange(400) - 100) * 2 / HALF_YEAR, 0, 2)
    found = [one for _ in range(150) for one in [find_drift(days(wandering(rng, 400, memory, spread) + ramp))] if one and one.day >= 100]
    after = np.array([one.day - 100 for one in found])
    print(f"memory {memory}, spread {spread}: found after {np.median(after):.0f} days, 95 of 100 after {np.percentile(after, 95):.0f}; {len(found)} of 150")
    assert len(found) >= 135  # the others were suspected before it began
    assert np.median(after) <= most
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
    honest = compared(shown_t, shown_rh, neighbours)
    drifted = compared(shown_t, shown_rh + np.clip((np.arange(hours) / 24 - 100) * 2 / HALF_YEAR, 0, None), neighbours)
    found = find_drift(drifted)
    assert find_drift(honest) is None
    assert found is not None
    assert 100 < found.day < 190
    assert found.size == pytest.approx((found.day - 107) * 2 / HALF_YEAR, abs=4 * found.error)


def gaps(rng: np.random.Generator, values: Floats, share: float = 0.1) -> Floats:
    return np.where(rng.random(len(values)) < share, np.nan, values)


def test_whitening_leaves_white_noise() -> None:
    """Of many records with gaps and a slope, from the first days on: what is not known is allowed for, but for the memory, of which forty days tell little."""
    rng = np.random.default_rng(14)
    new = []
    for _ in range(300):
        air = wandering(rng, 400, 0.8, 6) + np.linspace(45, 65, 400)
        of = days(gaps(rng, wandering(rng, 400, 0.6, 0.5) + 3 + 0.02 * air), air)
        new.append(whitened(of, usual_before(of)))
    for part, near in ((slice(50, 80), 0.1), (slice(300, 400), 0.05)):
        some = np.array(new)[:, part]
        assert np.nanmean(some) == pytest.approx(0, abs=0.05)
        assert np.nanstd(some) == pytest.approx(1, abs=near)
        assert np.nanmean(some[:, 1:] * some[:, :-1]) == pytest.approx(0, abs=near)


def test_two_days_whitened_by_hand() -> None:
    """Memory 0.5, spread 0.4, slope 0.05 above 50 %, known of 60 days whose humidity varied by 1000 (%RH)².

    Day 1, damper by 4: (0.4 - 0.05·4) / sqrt(0.16/0.75 + 0.8²·(1/60 + 16/1500)). Day 2, of which half of day 1 is expected, so new is 0.8 and
    damper 10 - 0.5·4 = 8: (0.8 - 0.05·8) / sqrt(0.16 + 0.8²·(0.25/60 + 64/1500)).
    """
    every = {"mean": 3.0, "memory": 0.5, "spread": 0.4, "days": 60.0, "slope": 0.05, "humidity": 50.0, "swing": 1000.0}
    before = Before(**{name: np.full(2, value) for name, value in every.items()})
    assert whitened(days(np.array([3.4, 4.0]), np.array([54.0, 60.0])), before).tolist() == pytest.approx([0.41628, 0.91773], abs=1e-5)


def test_what_is_usual_is_what_was_put_in() -> None:
    rng = np.random.default_rng(17)
    air = wandering(rng, 4000, 0.8, 6) + 55
    found = usual(days(gaps(rng, wandering(rng, 4000, 0.7, 0.5) + 3 + 0.03 * (air - 55)), air))
    assert (found.mean, found.memory, found.spread) == pytest.approx((3, 0.7, 0.5 * 0.51**0.5), abs=0.08)
    assert found.slope == pytest.approx(0.03, abs=0.006)


@pytest.mark.parametrize("day", [45, 90, 200, 300])
def test_each_day_is_held_against_the_days_before_it(day: int) -> None:
    """Against a count of its own with numpy, of a record with gaps, humidity and a fresh start on day 70."""
    rng = np.random.default_rng(18)
    air = np.linspace(40, 60, 320) + rng.normal(0, 4, 320)
    more = gaps(rng, wandering(rng, 320, 0.5, 0.4) + 0.02 * air + np.where(np.arange(320) < 70, 0, 1.5))
    before = usual_before(days(more, air), [70])
    parts = [part[~np.isnan(more[part])] for part in (np.arange(0, min(day, 70)), np.arange(70, day)) if len(part)]
    off = np.full((2, 320), np.nan)
    for part in parts:
        off[:, part] = more[part] - more[part].mean(), air[part] - air[part].mean()
    slope = np.nansum(off[0] * off[1]) / (np.nansum(off[1] ** 2) + 500)
    left = off[0] - slope * off[1]
    left[day:] = np.nan
    known = sum(len(part) for part in parts)
    pairs = (left[1:] * left[:-1])[np.arange(1, 320) != 70]
    raw = np.nanmean(pairs) / (np.nansum(left**2) / (known - len(parts)))
    memory = raw + (1 + 3 * raw) / (known - len(parts) + 1)
    assert before.slope[day] == pytest.approx(slope)
    assert before.memory[day] == pytest.approx(memory)
    assert before.mean[day] == pytest.approx(more[parts[-1]].mean())


def test_a_slope_of_its_own_is_no_drift() -> None:
    """Two honest sensors whose slopes differ by 3 %, through two years of seasons of +-15 %RH."""
    rng = np.random.default_rng(19)
    counts = []
    for _ in range(60):
        air = 55 + 15 * np.sin(2 * np.pi * (np.arange(60 + TWO_YEARS) - rng.integers(365)) / 365) + wandering(rng, 60 + TWO_YEARS, 0.7, 4)
        counts.append(len(_alarms(days(wandering(rng, 60 + TWO_YEARS, 0.3, 0.3) + rng.choice([-1, 1]) * 0.03 * (air - 55), air))))
    print(f"slopes differ by 3 %: {np.mean(counts):.2f} false alarms a logger in two years")
    assert np.mean(counts) <= 1


def test_where_it_stands_after_a_look_is_no_drift() -> None:
    """What was looked into and found right is learnt anew by where it stands; how it moves is kept, so that a drift is found soon."""
    rng, again, soon = np.random.default_rng(20), 0, []
    for _ in range(60):
        stands = wandering(rng, 400, 0.3, 0.3) + np.where(np.arange(400) < 205, 0.0, 1.0)
        again += find_drift(days(stands), [215]) is not None
        drifts = find_drift(days(stands + np.clip((np.arange(400) - 250) * 2 / HALF_YEAR, 0, None)), [215])
        soon.append(drifts.day - 250 if drifts else np.inf)
    assert find_drift(days(stands)) is not None
    assert again <= 10
    assert np.median(soon) <= 60


def test_a_look_at_another_of_the_room_loses_nothing_that_is_known() -> None:
    rng, soon = np.random.default_rng(22), []
    for _ in range(60):
        drifts = days(wandering(rng, 330, 0.3, 0.3) + np.clip((np.arange(330) - 200) * 2 / HALF_YEAR, 0, None))
        found = find_drift(drifts, looked=225)
        assert found is not None
        soon.append(found.day - 225)
    assert min(soon) >= 0
    assert np.median(soon) <= 20


def test_no_single_day_is_a_drift_and_a_step_is_one_within_a_week() -> None:
    rng = np.random.default_rng(21)
    more = wandering(rng, 300, 0.3, 0.2)
    freak, step = more.copy(), more.copy()
    freak[150] += 20
    step[150:] += 3
    assert find_drift(days(more)) is None
    assert find_drift(days(freak)) is None
    found = find_drift(days(step))
    assert found is not None
    assert 150 + 8 / MOST_OF_A_DAY < found.day <= 157
    assert found.size > 0.5


def test_no_verdict_without_enough_of_the_usual() -> None:
    rng = np.random.default_rng(15)
    with pytest.raises(NoValue, match="too_short"):
        find_drift(days(rng.normal(0, 1, 39)))
    with pytest.raises(NoValue, match="too_noisy"):
        find_drift(days(rng.normal(0, 5, 300)))
    assert find_drift(days(rng.normal(0, 0.1, 100)), [100, 120]) is None


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
