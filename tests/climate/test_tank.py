"""The tank of the machine: litres a day, the leak, the machine that stopped (journey 8: mail on the second day). House rules, ours."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from locations.climate.science import tank
from locations.climate.science.values import NoValue

DAILY = np.arange(20)


def _risen(days: np.ndarray, emptied: np.ndarray, wetter: np.ndarray | None = None) -> bool:
    return tank.last_rise(days, emptied, wetter) is not None


def litres(*values: float) -> np.ndarray:
    return np.array(values, dtype=np.float64)


def test_litres_a_day_since_the_time_before() -> None:
    assert tank.rates(np.array([0, 1, 3, 10]), litres(4, 3, 6, 21)).tolist()[1:] == [3, 3, 3]
    assert np.isnan(tank.rates(np.array([0]), litres(4))[0])
    with pytest.raises(NoValue, match="out_of_order"):
        tank.rates(np.array([3, 3]), litres(1, 1))


def test_what_is_usual_needs_seven() -> None:
    assert tank.usual(DAILY, np.full(20, 4.0)) == tank.Usual(4, 1)
    assert tank.usual(7 * DAILY, np.full(20, 21.0)) == tank.Usual(3, 7)
    with pytest.raises(NoValue, match="too_few"):
        tank.usual(DAILY[:7], np.full(7, 4.0))


def test_a_daily_tank_that_nobody_wrote_of_is_noticed_on_the_second_day() -> None:
    full = np.full(20, 4.0)
    assert tank.stopped(DAILY, full, 19) is None
    assert tank.stopped(DAILY, full, 20) is None
    assert tank.stopped(DAILY, full, 21) == tank.Still(last=19, noticed=21, silent=True)


def test_next_to_nothing_in_the_tank_counts_as_nothing() -> None:
    low = np.concatenate((np.full(18, 4.0), [0.3, 0.0]))
    assert tank.stopped(DAILY, low, 18) is None
    assert tank.stopped(DAILY, low, 19) == tank.Still(last=17, noticed=19, silent=False)
    assert tank.stopped(DAILY, np.concatenate((np.full(18, 4.0), [0.3, 3.0])), 20) is None


def test_a_weekly_tank_gets_two_weeks() -> None:
    assert tank.stopped(7 * DAILY, np.full(20, 21.0), 7 * 19 + 13) is None
    assert tank.stopped(7 * DAILY, np.full(20, 21.0), 7 * 19 + 14) is not None


def test_a_sudden_rise_is_a_leak_until_shown_otherwise() -> None:
    usual = [4.0, 3.8, 4.2, 4.1, 3.9, 4.0, 4.3, 4.0, 3.7]
    days = np.arange(10)
    assert _risen(days, litres(*usual, 7.0))
    assert not _risen(days, litres(*usual, 5.0))
    # over a longer time it is the rate that counts
    assert not _risen(np.array([*range(9), 10]), litres(*usual, 8.0))
    with pytest.raises(NoValue, match="too_few"):
        _risen(np.arange(4), litres(4, 4, 4, 9))


def test_a_machine_that_suddenly_takes_more() -> None:
    usual = np.array([3.0, 3.4, 2.8, np.nan, 3.1, 3.3, 2.9, 3.2])
    assert not tank.sudden_rise(np.append(usual, 3.9))
    assert tank.sudden_rise(np.append(usual, 5.5))
    assert not tank.sudden_rise(np.append(usual, np.nan))
    with pytest.raises(NoValue, match="too_few"):
        tank.sudden_rise(usual)


def test_what_built_up_while_it_stood_still_is_no_leak() -> None:
    """Three times nothing, then three times the usual as the room dries; a leak is told by the second tank."""
    days, before = np.arange(13), [4.0, 4.2, 3.8, 4.0, 4.1, 3.9, 4.0, 4.0]
    assert not _risen(days[:12], litres(*before, 0, 0, 0, 12))
    assert not _risen(days, litres(*before, 0, 0, 0, 12, 5))
    assert _risen(days, litres(*before, 0, 0, 0, 12, 12))


def test_warm_wet_wind_is_no_leak_and_a_leak_in_dry_air_is_found() -> None:
    """By hand: 1 L/d and as much again for each g/m³ that the air outdoors held more. Alternating, the median is 1.5 and its spread 0.74."""
    # since when the water of the first had run nobody knows
    days, air = np.arange(12), litres(9, *[0, 1] * 5, 3)
    emptied = litres(9, *[1, 2] * 5, 4)
    assert _risen(days, emptied)
    assert not _risen(days, emptied, air)
    assert tank.last_rise(days, emptied, air) is None
    seeping = litres(9, *[1, 2] * 5, 3)
    assert not _risen(days, seeping), "3 is within 1.5 + 3 x 0.74"
    dry = litres(9, *[0, 1] * 5, 0)
    assert tank.last_rise(days, seeping, dry) == tank.Rise(day=11, rate=3, expected=1, weather=True, over=None)
    # as much as often, in air in which there should be next to none: no more than a quarter above the median is no rise
    assert not _risen(days, litres(9, *[1, 2] * 5, 1.8), litres(9, *[0, 1] * 5, -1))


def test_what_stands_out_is_over_half_of_the_usual_and_of_the_expected_and_three_times_the_spread() -> None:
    def rising(before: list[float], last: tuple[float, float], air: float | None = None) -> list[bool]:
        wetter = None if air is None else litres(np.nan, *[0, 1] * 5, air)
        return [tank.sudden_rise(litres(np.nan, *before * 5, one), wetter) for one in last]

    # now 2, now 6 litres: the median is 4, its spread 2.97
    assert rising([2, 6], (12.8, 13)) == [False, True]
    # the air outdoors lets expect 10 litres where 1.5 are usual, each time exactly; and 1.2
    assert rising([1, 2], (14.9, 15.1), air=9) == [False, True]
    assert rising([1, 2], (1.94, 1.96), air=0.2) == [False, True]


def test_wetter_air_brings_never_less_and_no_air_less_than_nothing() -> None:
    falling, air = litres(np.nan, *[2, 1] * 5, 2.2), litres(0, *[0, 1] * 5, 3)
    assert tank.expected(falling, air) == tank.Expected(1.5, pytest.approx(0.7413), 1.5, weather=True)
    assert not tank.sudden_rise(falling, air)
    assert tank.expected(litres(np.nan, *[1, 2] * 5, 1), np.append(air[:-1], -3)) == tank.Expected(0, 0, 1.5, weather=True)


def test_days_on_which_it_stood_still_tell_nothing_of_the_usual() -> None:
    assert not tank.sudden_rise(litres(np.nan, *[4] * 8, *[0] * 10, 4, 4.1))


def test_the_weather_counts_where_it_is_known_of_the_last_and_of_seven_before() -> None:
    days, emptied = np.arange(11), litres(*[1, 2] * 5, 4)
    air = litres(*[0, 1] * 5, 3)
    for unknown, counts in (([10], False), (range(4), False), (range(3), True)):
        some = air.copy()
        some[list(unknown)] = np.nan
        assert _risen(days, emptied, some) is not counts
    # the same air each day tells nothing of what more would do
    assert _risen(days, emptied, np.ones(11))


@given(st.lists(st.floats(1, 10), min_size=10, max_size=40), st.integers(1, 7))
def test_a_machine_that_runs_has_not_stopped(emptied: list[float], every: int) -> None:
    days = every * np.arange(len(emptied))
    rate = np.array(emptied) + 3 * float(np.median(emptied))
    assert tank.stopped(days, rate, int(days[-1])) is None


def test_each_stop_of_a_record_is_told_once_with_the_day_it_ran_again() -> None:
    low = np.concatenate((np.full(10, 4.0), [0.3, 0.0, 0.2], np.full(10, 4.0)))
    (stop,) = tank.stops(np.arange(23), low, 22)
    assert (stop.still.last, stop.again, stop.still.silent) == (9, 13, False)
    days = np.array([*range(10), *range(16, 26)])
    (stop,) = tank.stops(days, np.array([4.0] * 10 + [2.0] + [4.0] * 9), 25)
    assert (stop.still.last, stop.again, stop.still.silent) == (9, 17, True)


def test_days_that_nobody_wrote_of_are_no_stop_where_the_next_tank_held_their_litres() -> None:
    days = np.array([*range(10), *range(14, 20)])
    assert tank.stops(days, np.array([4.0] * 10 + [20.0] + [4.0] * 5), 20) == []
    assert [one.again for one in tank.stops(days, np.array([4.0] * 16), 25)] == [None], "and what goes on to the end has no end"
    assert tank.stops(DAILY[:5], np.full(5, 4.0), 40) == []


def test_a_leak_is_told_on_the_day_it_began() -> None:
    assert tank.leaks(DAILY, np.array([4.0] * 12 + [9.0, 9.0] + [4.0] * 6)) == [tank.Rise(12, 9.0, 4.0, weather=False, over=14)]
    assert [rise.over for rise in tank.leaks(DAILY, np.array([4.0] * 19 + [9.0]))] == [None]
    assert tank.leaks(DAILY, np.full(20, 4.0)) == []
    assert tank.leaks(DAILY[:0], np.empty(0)) == []


def test_a_leak_that_goes_on_does_not_become_the_usual() -> None:
    """Thirty times after it began it still runs, and no second one is told of; over is it when the litres are as before it. By hand: 4 L, then 9 L."""
    days = np.arange(80)
    assert tank.leaks(days, np.array([4.0] * 12 + [9.0] * 68)) == [tank.Rise(12, 9.0, 4.0, weather=False, over=None)]
    assert tank.leaks(days, np.array([4.0] * 12 + [9.0] * 60 + [5.0] * 8)) == [tank.Rise(12, 9.0, 4.0, weather=False, over=72)]
    assert tank.leaks(days, np.array([4.0] * 12 + [9.0] * 60 + [5.1] * 8)) == [tank.Rise(12, 9.0, 4.0, weather=False, over=None)]
    again = np.array([4.0] * 12 + [9.0] * 2 + [4.0] * 40 + [9.0] * 26)
    assert [(one.day, one.over) for one in tank.leaks(days, again)] == [(12, 14), (54, None)]


def test_a_leak_is_over_in_wet_weather_too() -> None:
    """Leakage of 0.5 L a day for each g/m³: at 4 g/m³ more, 3 L in place of 1 are what the weather brings. By hand."""
    wetter = np.array([0.0, 1.0] * 10 + [0.0, 0.0] + [4.0] * 4)
    litres = 1 + 0.5 * wetter + np.array([0.0] * 20 + [3.0, 3.0] + [0.0] * 4)
    assert [(one.day, one.over) for one in tank.leaks(np.arange(26), litres, wetter)] == [(20, 22)]
