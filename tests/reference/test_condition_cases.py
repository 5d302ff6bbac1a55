"""The worked cases of the condition table (an invented society): grade, urgency, rust codes, intervals, looks.

Numbers, codes and days are compared; the sentences of the table are examples.
"""

import re
from typing import Any

import pytest

from conservation.rules import intervals
from conservation.rules.tables import terms
from tests.reference.condition import CASES, RULES, day, expecting, judged, work_of, written

Case = dict[str, Any]


def each(*keys: str) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("case", expecting(*keys), ids=lambda case: case["id"])


@each("zone_grades")
def test_zone_grades(case: Case) -> None:
    assert judged(case).grade.zones == case["expected"]["zone_grades"]


@each("object_grade")
def test_object_grade(case: Case) -> None:
    assert judged(case).grade.grade == case["expected"]["object_grade"]


@each("object_activity")
def test_object_activity(case: Case) -> None:
    assert judged(case).grade.activity == case["expected"]["object_activity"]


@each("urgency")
def test_urgency(case: Case) -> None:
    assert judged(case).urgency.urgency == case["expected"]["urgency"]


@each("urgency_reason")
def test_base_urgency_and_its_escalation(case: Case) -> None:
    said, urgency = case["expected"]["urgency_reason"], judged(case).urgency
    base = re.match(r"base urgency (\d)", said)
    if base:
        assert urgency.base == int(base[1])
    assert ("escalated once" in said) == ("escalated" in [reason.code for reason in urgency.reasons])


@each("hazard_hold")
def test_hazard_hold(case: Case) -> None:
    assert judged(case).urgency.hold == case["expected"]["hazard_hold"]


@each("rust")
def test_rust_codes(case: Case) -> None:
    found = {zone: {"pct": rusted.percent, "iso4628_3": f"Ri {rusted.ri}", "astm_d610": rusted.d610} for zone, rusted in judged(case).grade.rust.items()}
    assert found == case["expected"]["rust"]


@each("interval_days")
def test_days_to_the_next_full_check(case: Case) -> None:
    assert judged(case).full.days == case["expected"]["interval_days"]


@each("quick_look_days")
def test_days_to_the_next_quick_look(case: Case) -> None:
    assert judged(case).quick.days == case["expected"]["quick_look_days"]


@each("triggers")
def test_triggers(case: Case) -> None:
    """Number for number: days and dose."""
    found = [reason.sentence() for reason in judged(case).triggers]
    assert [numbers(text) for text in found] == [numbers(text) for text in case["expected"]["triggers"]]


def numbers(text: str) -> list[float]:
    return [float(number) for number in re.findall(r"\d+(?:\.\d+)?", text)]


@each("follow_up_days")
def test_follow_up_days(case: Case) -> None:
    assert judged(case).follow_up_days == case["expected"]["follow_up_days"]


@each("full_check_due", "quick_look_due")
def test_due_dates(case: Case) -> None:
    judgement, checked = judged(case), day(case, "checked_on")
    due = intervals.due_dates(came_in=checked, last_full=checked, last_any=checked, full=judgement.full.days, quick=judgement.quick.days)
    assert written(due) == [case["expected"]["full_check_due"], case["expected"]["quick_look_due"]]


@each("follow_ups_due")
def test_follow_ups_on_opening_days(case: Case) -> None:
    """Counted from the day the work ended; new damage from the day of the check."""
    opening = case["context"].get("opening_days") or ()
    days = intervals.follow_up_days(work_of(case), RULES)
    due = set(intervals.follow_ups_due(day(case, "treated_on"), days, opening)) if days else set()
    if case["context"].get("loan_return_new_damage"):
        days = intervals.follow_up_days(["loan_return_new_damage"], RULES)
        due |= set(intervals.follow_ups_due(day(case, "checked_on"), days, opening))
    assert written(sorted(due)) == case["expected"]["follow_ups_due"]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["id"])
def test_terms_are_offered_on_the_material_they_were_found_on(case: Case) -> None:
    for row in case.get("observations", []):
        if "material" in row:
            assert terms()[row["term"]].fits([row["material"]]), row
