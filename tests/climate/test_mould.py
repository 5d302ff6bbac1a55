"""The mould index: against the algorithm written out plainly, however the hours are cut, and with hours unknown."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from locations.climate.science import mould
from locations.climate.science.values import NoValue

Floats = NDArray[np.float64]
CODES = ("VS", "S", "MR", "R")


def plainly(t: Floats, rh: Floats, kind: mould.MouldClass, decline: float) -> tuple[float, float, int]:
    """The rule hour by hour as the reference words it: index, highest index, dry hours."""
    index, highest, dry = 0.0, 0.0, 0
    for warmth, humidity in zip(t.tolist(), rh.tolist(), strict=True):
        if math.isnan(warmth) or math.isnan(humidity) or not 0 < humidity <= 103 or not -40 <= warmth <= 60:
            continue
        humid = min(humidity, 100.0)
        critical = max(-0.00267 * warmth**3 + 0.160 * warmth**2 - 3.13 * warmth + 100, kind.rh_min) if warmth <= 20 else kind.rh_min
        if 0 < warmth <= 50 and humid >= critical:
            dry = 0
            x = (critical - humid) / (critical - 100)
            ceiling = kind.a + kind.b * x - kind.c * x**2
            k1 = kind.k1_below_1 if index < 1 else kind.k1_from_1
            k2 = max(1 - math.exp(2.3 * (index - ceiling)), 0)
            daily = k1 * k2 / (7 * math.exp(-0.68 * math.log(warmth) - 13.9 * math.log(humid) + 66.02))
            index += daily / 24
        else:
            dry += 1
            index -= decline * (0.032 / 24 if dry <= 6 else 0 if dry <= 24 else 0.016 / 24)
        index = min(max(index, 0.0), 6.0)
        highest = max(highest, index)
    return index, highest, dry


def weather(seed: int, hours: int = 3000) -> tuple[Floats, Floats]:
    """A damp store: season, day and weather; some hours missing, freezing, above 100 %."""
    rng = np.random.default_rng(seed)
    h = np.arange(hours)
    t = 12 + 10 * np.sin(2 * np.pi * h / 2000) + 2 * np.sin(2 * np.pi * h / 24) + rng.normal(0, 0.5, hours)
    rh = 84 + 12 * np.sin(2 * np.pi * h / 310) + rng.normal(0, 2, hours)
    rh[rng.random(hours) < 0.02] = np.nan
    return t, np.clip(rh, 1, 103)


@pytest.mark.parametrize("code", CODES)
@pytest.mark.parametrize("decline", [1.0, 0.25, 0.1])
def test_as_written_out_plainly(code: str, decline: float) -> None:
    for seed in range(3):
        t, rh = weather(seed)
        state = mould.mould_index(mould.surface_hours(t, rh), mould.mould_class(code), decline=decline)
        index, highest, dry = plainly(t, rh, mould.mould_class(code), decline)
        assert state.index == pytest.approx(index, abs=1e-9)
        assert state.highest == pytest.approx(highest, abs=1e-9)
        assert state.dry_hours == dry
        assert state.unknown_hours == np.isnan(rh).sum()


@settings(max_examples=30)
@given(st.integers(0, 100), st.integers(0, 3000), st.sampled_from(CODES))
def test_cut_anywhere_and_carried_on(seed: int, cut: int, code: str) -> None:
    t, rh = weather(seed)
    kind = mould.mould_class(code)
    whole = mould.mould_index(mould.surface_hours(t, rh), kind)
    first = mould.mould_index(mould.surface_hours(t[:cut], rh[:cut]), kind)
    second = mould.mould_index(mould.surface_hours(t[cut:], rh[cut:]), kind, start=first)
    assert (second.index, second.highest) == pytest.approx((whole.index, whole.highest), abs=1e-9)
    assert (second.dry_hours, second.hours, second.growth_hours, second.unknown_hours, second.highest_hour) == (
        whole.dry_hours,
        whole.hours,
        whole.growth_hours,
        whole.unknown_hours,
        whole.highest_hour,
    )


@given(st.lists(st.tuples(st.floats(-60, 80), st.floats(-10, 120)), max_size=200))
def test_never_outside_its_bounds(air: list[tuple[float, float]]) -> None:
    t, rh = np.array(air, dtype=float).reshape(-1, 2).T
    for code in CODES:
        state = mould.mould_index(mould.surface_hours(t, rh), mould.mould_class(code))
        assert 0 <= state.index <= state.highest <= 6


@given(st.floats(1, 50), st.floats(80, 100), st.integers(1, 60))
def test_damper_is_never_better(t: float, rh: float, days: int) -> None:
    hours = np.full(24 * days, t)
    for code in CODES:
        kind = mould.mould_class(code)
        drier, damper = (mould.mould_index(mould.surface_hours(hours, np.full(len(hours), one)), kind).index for one in (rh, min(rh + 2, 100)))
        assert damper >= drier - 1e-9


def test_sensitive_classes_come_first() -> None:
    t, rh = weather(1)
    found = [mould.mould_index(mould.surface_hours(t, rh), mould.mould_class(code)).highest for code in CODES]
    assert found == sorted(found, reverse=True)


def test_unknown_hours_hold_it_and_are_told() -> None:
    t, rh = np.full(1000, 20.0), np.full(1000, 95.0)
    damp = mould.mould_index(mould.surface_hours(t, rh), mould.mould_class("VS"))
    held = mould.mould_index(mould.surface_hours(t, np.full(1000, np.nan)), mould.mould_class("VS"), start=damp)
    assert (held.index, held.dry_hours) == (damp.index, damp.dry_hours)
    assert held.at_least
    assert not damp.at_least
    assert held.unknown_hours == 1000


def test_above_what_the_air_allows_it_stands_still() -> None:
    grown = mould.MouldState(index=5)
    after = mould.mould_index(mould.surface_hours(np.full(100, 20.0), np.full(100, 82.0)), mould.mould_class("VS"), start=grown)
    assert after.index == 5


def test_outside_there_is_no_value() -> None:
    kind = mould.mould_class("VS")
    assert math.isnan(mould.critical_rh(0.0, kind))
    assert math.isnan(mould.critical_rh(50.1, kind))
    assert math.isnan(mould.days_to_first_growth(20.0, 79.9))
    assert math.isnan(mould.highest_index(20.0, 101.0, kind))
    with pytest.raises(NoValue, match="unknown_code"):
        mould.mould_class("X")
    with pytest.raises(NoValue, match="outside_range"):
        mould.mould_index(mould.surface_hours(np.zeros(1), np.zeros(1)), kind, decline=2)


def test_no_hours_change_nothing() -> None:
    state = mould.MouldState(index=2, dry_hours=7, highest=3, highest_hour=5, hours=9)
    assert mould.mould_index(mould.surface_hours(np.empty(0), np.empty(0)), mould.mould_class("S"), start=state) == state


def test_the_course_ends_where_the_whole_does() -> None:
    t, rh = weather(4)
    kind = mould.mould_class("VS")
    course = mould.mould_course(t, rh, kind, every=100)
    assert len(course) == 30
    assert course[-1] == pytest.approx(mould.mould_index(mould.surface_hours(t, rh), kind).index)
    assert course[4] == pytest.approx(mould.mould_index(mould.surface_hours(t[:500], rh[:500]), kind).index)
