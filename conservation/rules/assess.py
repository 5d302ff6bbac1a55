"""One question, one answer: what do the rules make of these observations of one object?"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from conservation.rules import grading, intervals
from conservation.rules.grading import Context, Grade, Seen, Urgency
from conservation.rules.intervals import Interval
from conservation.rules.reasons import Reason
from conservation.rules.ruleset import RuleSet
from conservation.rules.who import Needed, who_is_needed


@dataclass(frozen=True, slots=True)
class Overruled:
    """A person's own grade or urgency, each by itself; None = as computed."""

    grade: int | None = None
    urgency: int | None = None


@dataclass(frozen=True, slots=True)
class Judgement:
    """All that the rules say of an object.

    The values in force drive the intervals; the computed ones stay in `grade` and `urgency`. `neighbours`: the terms
    that call for a look at what stands beside it the same day, with the days to a look at the whole room (None = not).
    """

    rules_version: str
    grade: Grade
    urgency: Urgency
    grade_in_force: int
    urgency_in_force: int
    in_force_reasons: Sequence[Reason]
    full: Interval
    quick: Interval
    who: Needed
    triggers: Sequence[Reason]
    follow_up_days: Sequence[int]
    neighbours: Mapping[str, int | None]

    def reasons(self) -> dict[str, list[Reason]]:
        """Every reason by what it explains, in the order in which they are shown."""
        return {
            "grade": [*self.grade.reasons],
            "urgency": [*self.urgency.reasons],
            "in_force": [*self.in_force_reasons],
            "full": [*self.full.reasons],
            "quick": [*self.quick.reasons],
            "triggers": [*self.triggers],
            "who": [*self.who.reasons],
        }


def assess(observations: Iterable[Seen], context: Context, rules: RuleSet, overruled: Overruled = Overruled()) -> Judgement:
    """Grade, urgency, days to the next looks, who is needed, what else is called for; each with its reasons."""
    grade = grading.grade_object(observations, rules)
    urgency = grading.urgency_of(grade, context, rules)
    grade_now, why_grade = in_force(grade.grade, overruled.grade, fixed="forcing_term" in urgency.forced)
    urgency_now, why_urgency = in_force(urgency.urgency, overruled.urgency, fixed=bool(urgency.forced))
    full = intervals.full_check_days(grade_now, grade.activity, context.materials, context.place, urgency.hold, rules)
    trigger = intervals.mould_trigger(intervals.mould_dose(context.damp_spells), context.materials, rules)
    triggers = [trigger] if trigger else []
    work = [*context.work, *(["loan_return_new_damage"] if context.loan_return_new_damage else [])]
    return Judgement(
        rules_version=rules.version,
        grade=grade,
        urgency=urgency,
        grade_in_force=grade_now,
        urgency_in_force=urgency_now,
        in_force_reasons=[*why_grade, *why_urgency],
        full=full,
        quick=intervals.quick_look_days(full.days, context.materials, context.place, rules),
        who=who_is_needed(grade.findings, context, urgency=urgency_now, event=bool(triggers)),
        triggers=triggers,
        follow_up_days=intervals.follow_up_days(work, rules),
        neighbours=_spreading(grade, rules),
    )


def in_force(computed: int, overruled: int | None, *, fixed: bool) -> tuple[int, list[Reason]]:
    """The value that counts. What is fixed (a forcing term, for urgency also a hold or wet) no number overrules."""
    if overruled is None or overruled == computed:
        return computed, []
    if fixed:
        return computed, [Reason("not_overruled")]
    return overruled, [Reason("overruled", {"value": overruled, "computed": computed})]


def _spreading(grade: Grade, rules: RuleSet) -> dict[str, int | None]:
    terms = dict.fromkeys(found.seen.term for found in grade.findings)
    return {term: rules.neighbour_terms[term] for term in terms if term in rules.neighbour_terms}
