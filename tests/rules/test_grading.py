"""Grade and urgency: each step of the scheme, and what must hold whatever is seen."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conservation.rules.grading import Context, Hazard, PlannedUse, Seen, extent_class, grade_object, urgency_of
from conservation.rules.ruleset import shipped_rules
from tests.rules.kit import PERCENTS, any_context, any_seen, seen

RULES = shipped_rules()
PLAIN = Context()


def urgency(observation: Seen, context: Context = PLAIN) -> int:
    return urgency_of(grade_object([observation], RULES), context, RULES).urgency


@pytest.mark.parametrize(("percent", "step"), [(0, 0), (0.1, 1), (1, 1), (1.01, 2), (10, 2), (10.1, 3), (33, 3), (33.1, 4), (100, 4)])
def test_a_bound_belongs_to_its_extent_class(percent: float, step: int) -> None:
    assert extent_class(percent, RULES) == step
    assert extent_class(Decimal(str(percent)), RULES) == step


@pytest.mark.parametrize("percent", [0, -1, 100.1])
def test_a_finding_covers_more_than_nothing_and_at_most_the_zone(percent: float) -> None:
    with pytest.raises(ValueError, match="more than 0"):
        seen(percent=percent)


@pytest.mark.parametrize("wrong", [{"severity": 0}, {"severity": 5}, {"activity": 4}, {"activity": -1}])
def test_steps_outside_the_scheme_are_refused(wrong: dict[str, int]) -> None:
    with pytest.raises(ValueError, match="goes from"):
        replace(seen(), **wrong)  # type: ignore[arg-type]


def test_activity_left_open_is_not_known_and_not_stable() -> None:
    assert grade_object([seen(activity=None)], RULES).activity == 1


def test_nothing_seen_is_grade_0_and_says_so() -> None:
    grade = grade_object([], RULES)
    assert (grade.grade, grade.activity, [reason.code for reason in grade.reasons]) == (0, 0, ["no_finding"])


@pytest.mark.parametrize(("activity", "grade"), [(0, 1), (1, 1), (2, 2), (3, 3)])
def test_activity_is_a_floor(activity: int, grade: int) -> None:
    assert grade_object([seen(percent=0.5, severity=1, activity=activity)], RULES).grade == grade


def test_a_broken_strap_does_not_make_a_sound_helmet_major() -> None:
    grade = grade_object([seen("CS", "STRAP_BREAK", severity=4)], RULES)
    assert (grade.zones["CS"], grade.grade) == (3, 2)
    assert "secondary" in [reason.code for reason in grade.reasons]


def test_live_larvae_in_a_sweatband_do() -> None:
    assert grade_object([seen("HB", "PEST_LIVE", 0.1, 1, 0)], RULES).grade == 3


@pytest.mark.parametrize("term", ["MOULD_ACTIVE", "PEST_LIVE", "RUST_WEEP", "CN_DEGRADE"])
def test_forcing_terms_count_as_fast_and_urgent_whatever_was_entered(term: str) -> None:
    observation = seen(term=term, percent=0.1, severity=1, activity=0)
    grade = grade_object([observation], RULES)
    assert (grade.grade, grade.activity, urgency(observation)) == (3, 3, 3)


@pytest.mark.parametrize(("entered", "counts"), [(None, 2), (0, 2), (1, 2), (2, 2), (3, 3)])
def test_red_rot_is_never_below_active_slow(entered: int | None, counts: int) -> None:
    assert grade_object([seen(term="RED_ROT", activity=entered)], RULES).activity == counts


def test_zones_of_two_components_with_one_code_stay_apart() -> None:
    shell = Seen("a/SH", "SH", "DENT", 50, 4, 0)
    liner = Seen("b/SH", "SH", "DENT", 1, 1, 0)
    assert grade_object([shell, liner], RULES).zones == {"a/SH": 3, "b/SH": 1}


def test_rust_of_a_zone_is_the_sum_of_its_rust_findings() -> None:
    found = [
        seen("RB", "RUST_SPOT", 0.1),
        seen("RB", "RUST_UNDER", 0.2),
        seen("RB", "RUST_STAIN", 40),
        seen("RB", "PITTING", 9),
    ]
    rusted = grade_object(found, RULES).rust["RB"]
    assert (rusted.percent, rusted.ri, rusted.d610) == (0.3, 2, 7)


def test_rust_of_a_zone_is_at_most_all_of_it() -> None:
    assert grade_object([seen("RB", "RUST_GEN", 80), seen("RB", "RUST_SCALE", 70)], RULES).rust["RB"].percent == 100


@pytest.mark.parametrize(("days", "wanted"), [(-1, 1), (0, 2), (90, 2), (91, 1)])
def test_a_plan_within_90_days_escalates_both_ends_included(days: int, wanted: int) -> None:
    assert urgency(seen(percent=50, activity=1), Context(planned=PlannedUse("loan", days))) == wanted


def test_escalation_is_once_however_many_reasons() -> None:
    everything = Context(planned=PlannedUse("move", 3), high_significance=True, unsecured_part=True)
    assert urgency(seen(percent=50, activity=1), everything) == 2


def test_nothing_escalates_from_nothing() -> None:
    assert urgency(seen(percent=0.5, severity=1), Context(high_significance=True)) == 0


def test_a_base_of_3_shows_no_escalation() -> None:
    judged = urgency_of(grade_object([seen(activity=3)], RULES), Context(high_significance=True), RULES)
    assert (judged.base, judged.urgency) == (3, 3)
    assert not {"escalated", "significance"} & {reason.code for reason in judged.reasons}


@pytest.mark.parametrize(("context", "forced"), [(Context(hazards=[Hazard("ASBESTOS", 3)]), "hold"), (Context(wet=True), "wet")])
def test_a_hold_and_wet_are_urgent_even_where_nothing_is_seen(context: Context, forced: str) -> None:
    judged = urgency_of(grade_object([], RULES), context, RULES)
    assert (judged.urgency, list(judged.forced)) == (3, [forced])


@pytest.mark.parametrize(("activity", "wet"), [(0, False), (1, False), (2, True), (3, True)])
def test_a_dry_tide_line_is_not_wet(activity: int, wet: bool) -> None:
    judged = urgency_of(grade_object([seen(term="WATER_DAMAGE", activity=activity)], RULES), Context(), RULES)
    assert ("wet" in judged.forced) == wet


def test_new_damage_on_a_loans_return_is_at_least_2() -> None:
    back = Context(loan_return_new_damage=True)
    assert urgency(seen(percent=0.5, severity=1), back) == 2
    assert urgency(seen(activity=3), back) == 3


@given(any_seen(), PERCENTS)
def test_more_percent_never_lowers_the_grade(observation: Seen, percent: float) -> None:
    less, more = sorted([observation.percent, percent])
    assert graded(observation, percent=less) <= graded(observation, percent=more)


@given(any_seen(), st.integers(1, 4))
def test_more_severity_never_lowers_the_grade(observation: Seen, severity: int) -> None:
    less, more = sorted([observation.severity, severity])
    assert graded(observation, severity=less) <= graded(observation, severity=more)


@given(any_seen(), any_context(), st.integers(0, 3), st.integers(0, 3))
def test_more_activity_never_lowers_grade_or_urgency(observation: Seen, context: Context, one: int, other: int) -> None:
    less, more = (replace(observation, activity=activity) for activity in sorted([one, other]))
    assert graded(less) <= graded(more)
    assert urgency(less, context) <= urgency(more, context)


@given(st.lists(any_seen(), max_size=5), any_seen(), any_context())
def test_one_more_finding_never_makes_it_better(found: list[Seen], one: Seen, context: Context) -> None:
    before, after = grade_object(found, RULES), grade_object([*found, one], RULES)
    assert before.grade <= after.grade
    assert before.activity <= after.activity
    assert urgency_of(before, context, RULES).urgency <= urgency_of(after, context, RULES).urgency


@given(st.lists(any_seen(), max_size=6).flatmap(lambda found: st.tuples(st.just(found), st.permutations(found))))
def test_the_order_of_findings_does_not_matter(both: tuple[list[Seen], list[Seen]]) -> None:
    one, other = (grade_object(found, RULES) for found in both)
    assert (one.grade, one.activity, one.zones, one.rust) == (other.grade, other.activity, other.zones, other.rust)


def graded(observation: Seen, **changed: float) -> int:
    return grade_object([replace(observation, **changed)], RULES).grade  # type: ignore[arg-type]
