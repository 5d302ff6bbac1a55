"""Ageing, swings, types of control, loans: what must hold beside the reference's numbers."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from locations.climate.science import ageing, control, fluctuations, loans
from locations.climate.science.values import NoValue


@given(st.floats(-5, 34), st.floats(20, 69))
def test_warmer_and_damper_ages_faster(t: float, rh: float) -> None:
    for energy in (ageing.CELLULOSE, ageing.VARNISH):
        here = ageing.lifetime_multiplier(t, rh, energy)
        assert ageing.lifetime_multiplier(t + 1, rh, energy) < here
        assert ageing.lifetime_multiplier(t, rh + 1, energy) < here


@given(st.lists(st.tuples(st.floats(-5, 35), st.floats(20, 70)), min_size=1, max_size=50))
def test_the_mean_is_harmonic_and_never_flatters(air: list[tuple[float, float]]) -> None:
    t, rh = np.array(air).T
    multipliers = ageing.lifetime_multiplier(t, rh)
    found = ageing.ageing(t, rh, np.ones(len(t)))
    assert found.multiplier == pytest.approx(len(t) / (1 / multipliers).sum())
    assert found.multiplier <= multipliers.mean() + 1e-9
    assert found.outside == 0


def test_what_is_missing_is_left_out_and_told() -> None:
    t, rh = np.array([20.0, math.nan, 20]), np.array([50.0, 50, 90])
    found = ageing.ageing(t, rh, np.ones(3))
    assert (found.hours, found.outside) == (2, 50)
    with pytest.raises(NoValue, match="no_readings"):
        ageing.ageing(t[1:2], rh[1:2], np.ones(1))
    with pytest.raises(NoValue, match="outside_range"):
        ageing.lifetime_multiplier(20.0, 50.0, 0.1)
    assert math.isnan(ageing.lifetime_multiplier(61.0, 50.0))
    assert ageing.lifetime_multiplier(20.0, 1.0) == ageing.lifetime_multiplier(20.0, 10.0)


def test_a_year_without_a_season_is_refused() -> None:
    t, rh, weight = np.full(8760, 15.0), np.full(8760, 50.0), np.ones(8760)
    assert ageing.yearly_ageing(t, rh, weight, 1).word == "slower"
    with pytest.raises(NoValue, match="season_missing"):
        ageing.yearly_ageing(t, rh, weight, 800)
    with pytest.raises(NoValue, match="not_a_year"):
        ageing.yearly_ageing(t[:7000], rh[:7000], weight[:7000], 1)


@pytest.mark.parametrize(("multiplier", "word"), [(5, "much slower"), (2, "slower"), (1, "alike"), (0.5, "faster"), (0.1, "much faster")])
def test_five_words(multiplier: float, word: str) -> None:
    assert ageing.ageing_word(multiplier) == word


def test_the_band_wants_thirteen_months() -> None:
    with pytest.raises(NoValue, match="too_short") as refused:
        fluctuations.historic_band(np.full(394 * 24, 50.0))
    assert refused.value.data == {"days": 394.0, "need": 395.0}
    with pytest.raises(NoValue, match="too_short"):
        fluctuations.fluctuation_percentiles(np.full(720, 50.0))


def test_later_years_are_judged_by_the_band() -> None:
    h = np.arange(9481)
    band = fluctuations.historic_band(50 + 12 * np.sin(2 * np.pi * h / 24))
    later = fluctuations.fluctuations(50 + 20 * np.sin(2 * np.pi * h / 24))
    known = ~np.isnan(later)
    assert fluctuations.within_band(later, band.low, band.high)[known].mean() == pytest.approx(0.41, abs=0.02)


def test_control_needs_a_month_and_takes_a_year() -> None:
    with pytest.raises(NoValue, match="too_short"):
        control.control_shares(np.full(700, 50.0))
    with pytest.raises(NoValue, match="too_long"):
        control.control_shares(np.full(401 * 24, 50.0))
    steady = control.control_shares(np.full(9481, 50.0), np.full(9481, 18.0))
    assert steady == dict.fromkeys(["AA", "A1", "A2", "B", "C", "D"], 100.0)
    warm = control.control_shares(np.full(9481, 50.0), np.full(9481, 35.0))
    assert warm == {"AA": 0, "A1": 0, "A2": 0, "B": 0, "C": 100, "D": 100}
    assert control.meets(95)
    assert not control.meets(94.9)


@given(st.integers(0, 1000))
def test_windows_look_back_as_counted(seed: int) -> None:
    rng = np.random.default_rng(seed)
    values = rng.normal(50, 5, 80)
    values[rng.random(80) < 0.2] = np.nan
    spans, deviations = loans.rolling_range(values), loans.rolling_deviation(values)
    for hour in range(80):
        window = values[max(hour - 23, 0) : hour + 1]
        known = window[~np.isnan(window)]
        if hour < 23 or len(known) < 18:
            assert np.isnan(spans[hour])
            continue
        assert spans[hour] == pytest.approx(np.ptp(known))
        if not np.isnan(values[hour]):
            assert deviations[hour] == pytest.approx(abs(values[hour] - known.mean()))


def test_a_lender_is_told_which_reading_failed() -> None:
    h = np.arange(240)
    step = np.where(h < 120, 45.0, 56.0)
    found = loans.judge_loan(step, np.full(240, 20.0), loans.loan_terms("bizot"))
    assert found.failed == ("rh_deviation",)  # 11 from lowest to highest is within 20, but 10.5 from the mean is not within 10
    leather = loans.judge_loan(step, np.full(240, 26.0), loans.loan_terms("leather"))
    assert leather.failed == ("t", "rh_range")
    assert not leather.passed
    assert leather.rh_inside == 100
    with pytest.raises(NoValue, match="no_readings"):
        loans.judge_loan(np.full(30, np.nan), np.full(30, 20.0), loans.loan_terms("aiccm"))
    with pytest.raises(NoValue, match="too_short"):
        loans.judge_loan(np.full(20, 50.0), np.full(20, 20.0), loans.loan_terms("aiccm"))
    with pytest.raises(NoValue, match="unknown_code"):
        loans.loan_terms("nobody")
