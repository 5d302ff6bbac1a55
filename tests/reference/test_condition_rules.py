"""Every number of the rules of the condition table against the shipped set. They are ours, no published standard."""

import re
from typing import Any

import pytest

from conservation.rules import intervals, rust
from conservation.rules.tables import zones
from tests.reference.condition import GIVEN, RULES, TABLE

SHIPPED: dict[str, Any] = {
    "extent_class_upper_pct": [*RULES.extent_upper_percent],
    "grade_matrix_rows_severity_1_4_cols_extent_1_4": [[*row] for row in RULES.grade_matrix],
    "activity_floor": {str(activity): grade for activity, grade in RULES.activity_floor.items()},
    "secondary_zone_cap": RULES.secondary_cap,
    "secondary_cap_lifted_by_activity": RULES.secondary_cap_lifted_by_activity,
    "urgency_by_grade_activity": {f"{grade},{activity}": value for (grade, activity), value in RULES.urgency.items()},
    "terms_forcing_activity_3_and_urgency_3": sorted(RULES.forcing_terms),
    "terms_never_below_activity_2": sorted(RULES.slow_terms),
    "escalation_needs_base_urgency_at_least": RULES.escalation_base_at_least,
    "full_check_interval_days_by_grade": {str(grade): days for grade, days in RULES.full_days_by_grade.items()},
    "full_check_material_cap_days": RULES.full_days_by_material,
    "quick_look_material_cap_days": RULES.quick_days_by_material,
    "quick_look_ceiling_days": RULES.quick_days_ceiling,
    "quick_look_location_cap_days": RULES.quick_days_by_place,
    "full_check_activity_cap_days": {str(activity): days for activity, days in RULES.full_days_by_activity.items()},
    "full_check_location_cap_days": RULES.full_days_by_place,
    "hazard_hold_full_check_cap_days": RULES.full_days_on_hold,
    "follow_up_days": {kind: [*days] for kind, days in RULES.follow_up_days.items()},
    "urgency_overrides": {
        f"hazard level {RULES.hold_level}": 3,
        "forcing term": 3,
        "wet": 3,
        "new damage on loan return": f"at least {RULES.loan_return_urgency_at_least}",
    },
    "escalate_once_by_1_if_any": [
        f"planned loan, move or display within {RULES.planned_use_days} days",
        "high significance",
        "unsecured loose part",
    ],
}


@pytest.mark.parametrize("name", [name for name in SHIPPED if name in GIVEN])
def test_rule_number(name: str) -> None:
    assert SHIPPED[name] == GIVEN[name]


def test_what_forces_is_activity_3_and_what_is_slow_activity_2() -> None:
    assert (RULES.forced_activity, RULES.slow_activity) == (3, 2)


@pytest.mark.parametrize(("name", "primary"), [("primary_zones", True), ("secondary_zones", False)])
def test_zone_classes(name: str, primary: bool) -> None:
    if wanted := TABLE.get("codes", {}).get(name):
        assert sorted(zone.code for zone in zones().values() if zone.primary == primary) == wanted


@pytest.mark.parametrize(("percent", "step"), re.findall(r"([\d.]+) Ri (\d)", GIVEN.get("ri_from_percent", "").replace("up to ", "")))
def test_upper_bounds_of_ri(percent: str, step: str) -> None:
    assert rust.ri(float(percent)) == int(step)
    assert rust.ri(float(percent) * 1.001) == int(step) + 1


def test_doses_that_ask_for_a_look() -> None:
    said = re.search(r"check within (\d+) days from ([\d.]+), presume .* from ([\d.]+)", GIVEN.get("mould_dose", ""))
    if said:
        days, look, presume = said.groups()
        assert (RULES.mould_look_days, RULES.mould_look_dose, RULES.mould_presume_dose) == (
            int(days),
            float(look),
            float(presume),
        )


@pytest.mark.parametrize("humidity", [65.1, 68, 70, 75, 79, 80, 80.1, 85, 90, 97])
def test_limit_days_by_the_formula_of_the_table(humidity: float) -> None:
    if "100*10^(-(RH-70)/10) from 65 to 80 percent RH, 10*0.2^((RH-80)/10) from 80 to 90" in GIVEN.get("mould_dose", ""):
        capped = min(humidity, 90)
        wanted = 100 * 10 ** (-(capped - 70) / 10) if capped <= 80 else 10 * 0.2 ** ((capped - 80) / 10)
        assert intervals.mould_limit_days(humidity) == pytest.approx(wanted)
