"""Judging again without a look, where the facts beside the findings changed."""

from collections.abc import Sequence
from uuid import UUID

from conservation.checks import judging
from conservation.checks.facts import Facts
from museum.history.record import lock
from museum.people.action import Act, action


@action("checks.judge_anew", may="check.record")
def judge_anew(act: Act, object_ids: Sequence[UUID]) -> int:
    """Stores what the rules say now of each of these things, where it differs from what stands; answers how many."""
    made = 0
    for object_id in object_ids:
        lock(f"object:{object_id}")
        facts = Facts(object_id)
        before = facts.judgement
        after = judging.judge_again(facts, act=act)
        if after is not None and before is not None and after != before:
            act.wrote("object.judged", after, before=_said(before.result), after=_said(after.result), about=[("object", object_id)])
            made += 1
    return made


def _said(result: dict[str, int]) -> dict[str, int]:
    return {name: result[name] for name in ("grade", "activity", "urgency")}
