"""Damp runs against a count by hand, the house alarms, wetness, readings at the dial."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from locations.climate.science.damp import alarms, damp_by_hand, house_alarms, longest_run, runs, time_of_wetness, wetness_class
from locations.climate.science.values import NoValue

humidities = st.lists(st.one_of(st.sampled_from([61.9, 62.0, 63.0, 65.0, 65.1, 70.0]), st.just(math.nan)), max_size=60)


def counted(rh: list[float], over: float, reset: float | None) -> list[tuple[int, int]]:
    """Begin and hours of runs, an hour at a time."""
    found, begin = [], None
    for hour, value in enumerate([*rh, math.nan]):
        still = value >= reset if reset is not None else value > over
        if begin is not None and not still:
            found.append((begin, hour - begin))
            begin = None
        if begin is None and value > over:
            begin = hour
    return found


@given(humidities, st.sampled_from([None, 62.0]))
def test_runs_as_counted(rh: list[float], reset: float | None) -> None:
    found = runs(np.array(rh, dtype=float), 65, reset)
    assert [(run.begin, run.hours) for run in found] == counted(rh, 65, reset)
    longest = longest_run(np.array(rh, dtype=float), 65, reset)
    assert (longest.hours if longest else 0) == max((run.hours for run in found), default=0)


def test_a_run_beside_the_unknown_is_at_least_that_long() -> None:
    nan = math.nan
    rh = np.array([60, 66, 66, nan, 66, 60, 66, 60, 66])
    assert [(run.hours, run.at_least) for run in runs(rh, 65)] == [(2, True), (1, True), (1, False), (1, True)]


def test_exactly_the_reset_does_not_end_it_and_below_does() -> None:
    assert [run.hours for run in runs(np.array([66, 62.0, 62, 66, 61.9, 64, 66]), 65, 62)] == [4, 1]
    with pytest.raises(NoValue, match="reset_above_limit"):
        runs(np.array([66.0]), 65, 70)


def test_house_alarms() -> None:
    assert [(rule.level, rule.over, rule.reset, rule.hours) for rule in house_alarms()] == [
        ("amber", 65, 62, 48),
        ("red", 70, None, 168),
        ("red", 75, None, 48),
        ("red", 85, None, 24),
    ]
    rh = np.concatenate((np.full(10, 50.0), np.full(60, 90.0), np.full(10, 64.0), np.full(100, 50.0)))
    found = alarms(rh)
    assert [(alarm.rule.level, alarm.rule.over, alarm.raised, alarm.ended) for alarm in found] == [
        ("red", 85, 34, 70),
        ("amber", 65, 58, 80),
        ("red", 75, 58, 70),
    ]
    assert [alarm.inspect for alarm in found] == [34 + 168, None, 58 + 168]


def test_an_alarm_that_still_holds_has_no_end() -> None:
    (alarm,) = alarms(np.full(48, 66.0))
    assert (alarm.raised, alarm.ended) == (48, None)
    assert alarms(np.full(47, 66.0)) == []


def test_wetness_is_scaled_only_when_told() -> None:
    t, rh = np.full(8000, 10.0), np.full(8000, 90.0)
    rh[:6000] = 50
    part = time_of_wetness(t, rh, np.ones(8000))
    assert (part.hours, part.known, part.yearly, part.code) == (2000, 8000, None, None)
    whole = time_of_wetness(t, rh, np.ones(8000), whole_year=True)
    assert whole.yearly == pytest.approx(2000 * 8766 / 8000)
    assert whole.code == "tau 3"
    t[7000:] = np.nan
    assert time_of_wetness(t, rh, np.ones(8000)).known == 7000


@pytest.mark.parametrize(("hours", "code"), [(0, "tau 1"), (10, "tau 1"), (10.1, "tau 2"), (2500, "tau 3"), (5500, "tau 4"), (5501, "tau 5")])
def test_wetness_classes(hours: float, code: str) -> None:
    assert wetness_class(hours) == code


@pytest.mark.parametrize(
    ("rh", "verdict", "in_a_row"),
    [([60, 66, 70, 68], "damp", 3), ([66, 67, 50], "watch", 2), ([50, 50, 66], "watch", 1), ([66, 50, 50], "dry", 1), ([50, 50, 50], "dry", 0)],
)
def test_a_hygrometer_on_a_string(rh: list[float], verdict: str, in_a_row: int) -> None:
    found = damp_by_hand(np.arange(len(rh)) * 7 * 86400, np.array(rh))
    assert (found.verdict, found.in_a_row) == (verdict, in_a_row)


def test_readings_far_apart_are_not_in_a_row() -> None:
    found = damp_by_hand(np.array([0, 30, 60]) * 86400, np.array([70.0, 70, 70]))
    assert (found.in_a_row, found.damp, found.verdict, found.going_on) == (1, 3, "watch", 1)
    with pytest.raises(NoValue, match="too_few"):
        damp_by_hand(np.array([0, 1]), np.array([70.0, 70]))
