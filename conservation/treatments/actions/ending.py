"""The end of a session: photographs from the same views, what came off and was kept, when somebody looks again."""

from collections.abc import Iterable, Sequence
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from collection.objects import card
from collection.objects.actions.parts import put_component
from collection.objects.actions.screens import put_opening
from collection.objects.models import Component, Opening
from conservation.checks import derived
from conservation.checks.actions.calls import call_for
from conservation.checks.models import ConditionCheck
from conservation.rules import intervals
from conservation.rules.candidates import kind_of_work
from conservation.rules.ruleset import rules_in_force
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments import asking
from conservation.treatments.actions.common import locked_object, locked_work, pictures_of
from conservation.treatments.actions.working import open_steps
from conservation.treatments.models import Kept, Work, WorkEnd, WorkStep
from conservation.treatments.refusal import own_refusal
from museum import clock
from museum.errors import Forbidden, Invalid
from museum.people.action import Act, action
from museum.people.models import Society
from museum.people.permissions import Role


@action("treatments.end_work", may="treatment.work")
def end_work(act: Act, work_id: UUID, *, end_id: UUID, after: Sequence[UUID] = (), note: str = "") -> WorkEnd:
    """Ends a session: its worker, or a curator where that person is gone. The looks that follow are asked for.

    Where something was touched, photographs from after show every view of those from before. Raises Refused, Forbidden.
    """
    work = locked_work(act, work_id)
    if work.person_id != act.actor.someone and Role.CURATOR not in act.actor.roles:
        raise Forbidden(_("%(name)s is at this work and ends it; a curator can too."), name=work.person.name)
    if (before := WorkEnd.objects.filter(work=work).first()) is not None:
        return before
    pictures = pictures_of(work.object_id, after)
    kinds = _kinds(work, open_steps(work))
    if kinds or any(row.result == WorkStep.Result.STOPPED for row in open_steps(work)):
        _demand_views(work, [row.view for row in pictures], any_at_all=bool(pictures))
    end = WorkEnd.objects.create(
        id=end_id, act_id=act.id, work=work, after=[str(row.pk) for row in pictures], kinds=kinds, note=note.strip(), recorded_at=act.now, happened_at=act.now
    )
    act.wrote("work.ended", work, after={"zone": work.zone, "kinds": kinds, "after": end.after}, reason=end.note, about=[("object", work.object_id)])
    _look_again(act, work, end)
    return end


@action("treatments.keep_part", may="treatment.work")
def keep_part(act: Act, work_id: UUID, *, name: str, because: str, bag: str = "", opened: bool = False) -> Kept:
    """What came off is a part of its own from now on, with a letter, kept and never thrown away.

    `opened`: something lies open now that was covered, so the ten questions are asked anew before work goes on.
    """
    work = locked_work(act, work_id)
    if work.person_id != act.actor.someone:
        raise Forbidden(_("%(name)s is at this work and keeps what comes off."), name=work.person.name)
    if not because.strip():
        raise Invalid(_("Say why it came off."), field="because")
    thing = locked_object(act, work.object_id)
    part = put_component(act, thing, sort=Component.Sort.RETAINED, name=name, lettered=True)
    kept = Kept.objects.create(act_id=act.id, work=work, component=part, because=because.strip(), bag=bag.strip(), recorded_at=act.now)
    after = {"part": name.strip(), "letter": part.letter, "removed_from": work.zone, "on": clock.day_of(act.now), "bag": kept.bag}
    act.wrote("work.kept", work, after=after, reason=kept.because, about=[thing, part])
    if opened:
        put_opening(act, thing, Opening.Why.CAME_OFF, note=part.name)
    card.refresh([thing.pk])
    return kept


def _kinds(work: Work, steps: Iterable[WorkStep]) -> list[str]:
    """What kinds of work were done, for the days of the looks: of every step that touched, stopped ones too."""
    facts, rules = asking.facts_of(work.object), treatment_rules_in_force()
    answers = next((row.term for row in facts.findings.get(work.zone_key, ()) if row.finding_id == work.finding_id), None)
    kinds = set()
    for row in steps:
        step = rules.steps.get(row.step)
        if step is None or step.touches:
            agents = set(row.agents) | (step.agents if step else frozenset())
            kinds.add(kind_of_work(agents, facts.surface(work.zone_key, row.surface), rules, answers=answers))
    return sorted(kinds)


def _demand_views(work: Work, views: Sequence[str], *, any_at_all: bool) -> None:
    before = {row.view for row in pictures_of(work.object_id, [UUID(key) for key in work.before])}
    missing = sorted(before - set(views) - {""})
    if missing or not any_at_all:
        raise own_refusal("AFTER", views=", ".join(missing) or str(_("at least one")))


def _look_again(act: Act, work: Work, end: WorkEnd) -> None:
    rules = rules_in_force()
    days = intervals.follow_up_days(end.kinds, rules)
    for due in intervals.follow_ups_due(end.happened_on, days, Society.load().opening_days):
        call_for(
            act, [work.object_id], why="follow_up", sort=ConditionCheck.Sort.FOLLOW_UP, due_on=due,
            reason=str(_("after work on %(zone)s: the same views again")) % {"zone": work.zone}, source=work.pk, zones=[work.zone_key],
        )  # fmt: skip
    derived.refresh([work.object_id])
