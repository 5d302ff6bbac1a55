"""When to look again."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conservation.rules import intervals
from conservation.rules.ruleset import shipped_rules

RULES = shipped_rules()
DAYS = st.dates(date(2000, 1, 1), date(2099, 12, 31))
WEEKDAYS = st.sets(st.integers(1, 7))
MONDAY = date(2025, 3, 3)


def full(grade: int = 0, activity: int = 0, materials: tuple[str, ...] = (), place: str = "store", hold: bool = False) -> int:
    return intervals.full_check_days(grade, activity, materials, place, hold, RULES).days


def test_the_smallest_of_what_applies_counts() -> None:
    assert full(1, 1, ("cellulose_nitrate",), "display") == 90
    assert full(1, 3, ("cellulose_nitrate",), "display") == 30


def test_organic_material_shortens_the_quick_look_and_not_the_full_check() -> None:
    assert full(materials=("leather",)) == 730
    assert intervals.quick_look_days(730, ["leather"], "store", RULES).days == 180


def test_a_hold_is_looked_at_from_outside_every_90_days() -> None:
    assert full(hold=True) == 90


def test_quarantine_is_looked_at_weekly() -> None:
    assert intervals.quick_look_days(30, ["felt"], "quarantine", RULES).days == 7


def test_an_interval_names_what_made_it_so_and_leaves_out_what_did_not() -> None:
    interval = intervals.full_check_days(2, 2, ["leather"], "display", False, RULES)
    assert [reason.code for reason in interval.reasons] == ["grade_days", "activity_days"]


@given(st.integers(0, 3), st.integers(0, 3), st.sets(st.sampled_from(["leather", "steel", "cellulose_acetate"])))
def test_a_quick_look_never_comes_later_than_the_full_check(grade: int, activity: int, materials: set[str]) -> None:
    for place in ("store", "display", "on_loan", "quarantine"):
        days = intervals.full_check_days(grade, activity, materials, place, False, RULES).days
        assert intervals.quick_look_days(days, materials, place, RULES).days <= min(days, 365)


def test_never_checked_is_due_on_the_day_it_came_in() -> None:
    due = intervals.due_dates(came_in=MONDAY, last_full=None, last_any=None, full=730, quick=180)
    assert due == (MONDAY, MONDAY)


def test_a_quick_look_moves_only_its_own_date() -> None:
    looked = MONDAY + timedelta(days=100)
    due = intervals.due_dates(came_in=MONDAY, last_full=MONDAY, last_any=looked, full=365, quick=180)
    assert due == (MONDAY + timedelta(days=365), looked + timedelta(days=180))


def test_several_kinds_of_work_together_ask_for_all_their_days_each_once() -> None:
    assert intervals.follow_up_days(["dry", "damp_at_bare_iron", "pest_or_mould"], RULES) == [1, 7, 30, 90, 180]
    assert intervals.follow_up_days([], RULES) == []


def test_day_1_on_a_closed_day_is_the_day_of_the_work() -> None:
    assert intervals.follow_ups_due(MONDAY, [1, 7], [1]) == [MONDAY, MONDAY + timedelta(days=7)]


def test_two_follow_ups_on_one_opening_day_are_one() -> None:
    saturday = date(2025, 3, 8)
    assert intervals.follow_ups_due(MONDAY, [2, 3, 5], [6]) == [saturday]


@given(DAYS, st.sets(st.integers(2, 400), min_size=1), WEEKDAYS)
def test_follow_ups_fall_on_opening_days_within_a_week(ended: date, days: set[int], opening: set[int]) -> None:
    due = intervals.follow_ups_due(ended, days, opening)
    assert due == sorted(set(due))
    assert all(not opening or one.isoweekday() in opening for one in due)
    for wanted in (ended + timedelta(days=day) for day in days):
        assert any(0 <= (one - wanted).days < 7 for one in due)


@given(st.floats(0, 100), st.floats(0, 100))
def test_damper_air_never_gives_more_time(one: float, other: float) -> None:
    dry, damp = (intervals.mould_limit_days(humidity) or float("inf") for humidity in sorted([one, other]))
    assert damp <= dry


@pytest.mark.parametrize(
    ("dose", "materials", "code"),
    [
        (0.49, ["felt"], None),
        (0.5, ["felt"], "mould_look"),
        (0.99, ["vulcanised_fibre"], "mould_look"),
        (1.0, ["paper"], "mould_presume"),
        (5.0, ["steel", "glass"], None),
    ],
)
def test_a_dose_asks_for_a_look_only_where_mould_can_feed(dose: float, materials: list[str], code: str | None) -> None:
    reason = intervals.mould_trigger(dose, materials, RULES)
    assert (reason.code if reason else None) == code


@pytest.mark.parametrize("humidity", [-1, 101])
def test_no_such_humidity(humidity: float) -> None:
    with pytest.raises(ValueError, match="no relative humidity"):
        intervals.mould_limit_days(humidity)
