"""Every rule number and every worked case of the condition table, and the published scales it stands on.

Grade, urgency and interval numbers are ours; ISO 4628-3, ASTM D610-08 and CCI Notes 8/1 are named at their checks.
"""

from datetime import date
from typing import Any

import pytest

from conservation.rules import grading, intervals, rust
from conservation.rules.ruleset import shipped_rules
from conservation.rules.tables import terms
from tests.reference.tables import reference_table

TABLE: dict[str, Any] = reference_table("condition_cases.json")
GIVEN: dict[str, Any] = TABLE.get("rules", {})
CASES: list[dict[str, Any]] = TABLE.get("cases", [])
RULES = shipped_rules()


def numbered(table: dict[str, int]) -> dict[int, int]:
    return {int(key): value for key, value in table.items()}


SAME = {
    "extent_class_upper_pct": lambda: RULES.extent_upper_percent,
    "grade_matrix_rows_severity_1_4_cols_extent_1_4": lambda: RULES.grade_matrix,
    "secondary_zone_cap": lambda: RULES.secondary_cap,
    "secondary_cap_lifted_by_activity": lambda: RULES.secondary_cap_lifted_by_activity,
    "terms_forcing_activity_3_and_urgency_3": lambda: sorted(RULES.forcing_terms),
    "terms_never_below_activity_2": lambda: sorted(RULES.never_below_2_terms),
    "escalation_needs_base_urgency_at_least": lambda: RULES.escalation_base_at_least,
    "full_check_material_cap_days": lambda: RULES.full_days_by_material,
    "quick_look_material_cap_days": lambda: RULES.quick_days_by_material,
    "quick_look_ceiling_days": lambda: RULES.quick_days_ceiling,
    "quick_look_location_cap_days": lambda: RULES.quick_days_by_place,
    "full_check_location_cap_days": lambda: RULES.full_days_by_place,
    "hazard_hold_full_check_cap_days": lambda: RULES.full_days_on_hold,
    "follow_up_days": lambda: RULES.follow_up_days,
}


@pytest.mark.parametrize("name", [name for name in SAME if name in GIVEN])
def test_rule_number(name: str) -> None:
    assert SAME[name]() == GIVEN[name]


def test_numbers_by_step() -> None:
    assert RULES.activity_floor == numbered(GIVEN["activity_floor"])
    assert RULES.full_days_by_grade == numbered(GIVEN["full_check_interval_days_by_grade"])
    assert RULES.full_days_by_activity == numbered(GIVEN["full_check_activity_cap_days"])
    assert {f"{grade},{activity}": value for (grade, activity), value in RULES.urgency.items()} == GIVEN["urgency_by_grade_activity"]
    assert set(TABLE["codes"]["secondary_zones"]) == RULES.secondary_zones


def context_of(case: dict[str, Any]) -> grading.Context:
    given = case["context"]
    planned = given.get("planned_use")
    return grading.Context(
        materials=frozenset(given["materials"]), place=given["location"], high_significance=given["significance"] == "high",
        planned=grading.PlannedUse(planned["type"], planned["in_days"]) if planned else None,
        unsecured_part=bool(given.get("unsecured_loose_part")), wet=bool(given.get("wet")),
        loan_return_new_damage=bool(given.get("loan_return_new_damage")),
        hazards=[grading.Hazard(row["code"], row["level"]) for row in case["hazards"]],
    )  # fmt: skip


def grade_of(case: dict[str, Any]) -> grading.Grade:
    return grading.grade_object(
        [
            grading.Seen(
                row["zone"], row["zone"], row["term"], row["extent_pct"], row["severity"], row.get("activity"), row["material"],
                bool(row.get("new_since_last_report")),
            )
            for row in case["observations"]
        ],
        RULES,
    )  # fmt: skip


def kinds(treated: Any) -> list[str]:
    return [treated] if isinstance(treated, str) else list(treated or [])


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["id"])
def test_case_grades(case: dict[str, Any]) -> None:
    wanted, grade = case["expected"], grade_of(case)
    assert dict(grade.zones) == wanted["zone_grades"]
    assert grade.grade == wanted["object_grade"]
    assert grade.activity == wanted["object_activity"]
    codes = {zone: {"pct": r.percent, "iso4628_3": f"Ri {r.ri}", "astm_d610": r.d610} for zone, r in grade.rust.items()}
    assert codes == wanted["rust"]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["id"])
def test_case_urgency(case: dict[str, Any]) -> None:
    wanted = case["expected"]
    urgency = grading.urgency_of(grade_of(case), context_of(case), RULES)
    assert urgency.urgency == wanted["urgency"]
    assert urgency.hold == wanted["hazard_hold"]
    assert f"base urgency {urgency.base}" in wanted["urgency_reason"]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["id"])
def test_case_intervals(case: dict[str, Any]) -> None:
    wanted, given = case["expected"], case["context"]
    hold = any(row["level"] == 3 for row in case["hazards"])
    full = intervals.full_check_days(wanted["object_grade"], wanted["object_activity"], given["materials"], given["location"], hold, RULES)
    quick = intervals.quick_look_days(full.days, given["materials"], given["location"], RULES)
    assert (full.days, quick.days) == (wanted["interval_days"], wanted["quick_look_days"])
    if "full_check_due" in wanted:
        checked = date.fromisoformat(given["checked_on"])
        due = intervals.due_dates(came_in=checked, last_full=checked, last_any=checked, full=full.days, quick=quick.days)
        assert [day.isoformat() for day in due] == [wanted["full_check_due"], wanted["quick_look_due"]]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["id"])
def test_case_follow_ups(case: dict[str, Any]) -> None:
    wanted, given = case["expected"], case["context"]
    work = kinds(given.get("treated"))
    if given.get("loan_return_new_damage"):
        work.append("loan_return_new_damage")
    days = intervals.follow_up_days(work, RULES)
    assert days == wanted["follow_up_days"]
    if "follow_ups_due" in wanted:
        due = intervals.follow_ups_due(date.fromisoformat(given["treated_on"]), days, given.get("opening_days", ()))
        assert [day.isoformat() for day in due] == wanted["follow_ups_due"]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["id"])
def test_case_triggers(case: dict[str, Any]) -> None:
    given = case["context"]
    dose = intervals.mould_dose((row["rh_pct"], row["days"]) for row in given.get("rh_events", []))
    trigger = intervals.mould_trigger(dose, given["materials"], RULES)
    assert ([trigger.sentence()] if trigger else []) == case["expected"]["triggers"]


@pytest.mark.parametrize(("percent", "degree"), [(0, 0), (0.05, 1), (0.5, 2), (1, 3), (8, 4), (40, 5), (50, 5)])
def test_ri_of_the_areas_in_iso_4628_3(percent: float, degree: int) -> None:
    """ISO 4628-3, degree of rusting and rusted area."""
    assert rust.ri(percent) == degree


@pytest.mark.parametrize(("percent", "degree"), [(0.158, 1), (0.707, 2), (2.83, 3), (17.9, 4), (17.91, 5)])
def test_a_ri_bound_belongs_to_the_lower_step(percent: float, degree: int) -> None:
    """Ours: nearest step on a log scale."""
    assert rust.ri(percent) == degree


@pytest.mark.parametrize(
    ("percent", "grade"), [(0, 10), (0.01, 10), (0.03, 9), (0.1, 8), (0.3, 7), (1, 6), (3, 5), (10, 4), (16, 3), (33, 2), (50, 1), (51, 0)]
)
def test_d610(percent: float, grade: int) -> None:
    """ASTM D610-08, upper bounds of percent of surface rusted."""
    assert rust.d610(percent) == grade


@pytest.mark.parametrize(("humidity", "days"), [(70, 100), (80, 10), (90, 2), (100, 2)])
def test_mould_limit_passes_through_published_points(humidity: float, days: float) -> None:
    """CCI Notes 8/1: about 100 days at 70, 10 at 80, 2 at 90 to 100 percent."""
    assert intervals.mould_limit_days(humidity) == pytest.approx(days)


def test_dry_air_adds_nothing() -> None:
    assert intervals.mould_limit_days(65) is None


@pytest.mark.parametrize("row", reference_table("deterioration_terms.csv"), ids=lambda row: row["code"])
def test_every_term_is_live(row: dict[str, str]) -> None:
    term = terms()[row["code"]]
    assert (term.name, term.asks) == (row["term"], row["asks"])
