"""The published scales that the rules stand on, each with its source."""

from itertools import pairwise
from math import sqrt

import pytest

from conservation.rules import intervals, rust
from conservation.rules.ruleset import shipped_rules

#: ISO 4628-3, degree of rusting and rusted area in percent (40 to 50 for Ri 5)
ISO_4628_3 = {0: 0, 1: 0.05, 2: 0.5, 3: 1, 4: 8, 5: 40}
#: ASTM D610-08, rust grade and upper bound of the percent of surface rusted
ASTM_D610 = {10: 0.01, 9: 0.03, 8: 0.1, 7: 0.3, 6: 1, 5: 3, 4: 10, 3: 16, 2: 33, 1: 50}


@pytest.mark.parametrize(("degree", "area"), [*ISO_4628_3.items(), (5, 50), (5, 100)])
def test_ri_of_the_areas_in_iso_4628_3(degree: int, area: float) -> None:
    assert rust.ri(area) == degree


def test_ri_bounds_are_the_middle_of_the_iso_4628_3_areas_on_a_log_scale() -> None:
    """Ours: the nearest step; the bounds are printed with three figures and used as they stand."""
    middles = [sqrt(low * high) for low, high in pairwise([0.05, 0.5, 1, 8, 40])]
    assert [float(f"{middle:.3g}") for middle in middles] == list(rust.RI_UPPER[1:])


@pytest.mark.parametrize(("grade", "bound"), ASTM_D610.items())
def test_upper_bounds_of_astm_d610_08(grade: int, bound: float) -> None:
    assert rust.d610(bound) == grade
    assert rust.d610(bound * 1.0001) == grade - 1


def test_no_rust_is_ri_0_and_grade_10() -> None:
    """ISO 4628-3 and ASTM D610-08."""
    assert (rust.ri(0), rust.d610(0)) == (0, 10)


@pytest.mark.parametrize(("area", "grade"), [(0.05, 8), (0.5, 6), (1, 6), (8, 4), (50, 1)])
def test_d610_by_the_area_of_each_ri(area: float, grade: int) -> None:
    """A published comparison table of ISO 4628-3 and ASTM D610, paired by area."""
    assert rust.d610(area) == grade


@pytest.mark.parametrize(("humidity", "days"), [(70, 100), (80, 10), (90, 2), (100, 2)])
def test_mould_grows_in_the_days_of_cci_notes_8_1(humidity: float, days: float) -> None:
    """CCI Notes 8/1: about 100 days at 70 percent RH, 10 at 80, 2 at 90 to 100."""
    assert intervals.mould_limit_days(humidity) == pytest.approx(days)


def test_no_mould_at_65_percent_and_below() -> None:
    """CCI Notes 8/1: growth needs more than about 65 percent RH."""
    assert intervals.mould_limit_days(65) is None
    assert intervals.mould_dose([(65, 1000), (20, 1000)]) == 0


@pytest.mark.parametrize("material", ["leather", "felt", "wool", "fur", "plume", "textile"])
def test_leather_and_its_like_are_looked_at_twice_a_year(material: str) -> None:
    """CCI Notes 8/1: leather at least twice a year; WA Museum: preferably every six months. The rest is ours."""
    look = intervals.quick_look_days(730, [material], "store", shipped_rules())
    assert 365 / look.days >= 2
