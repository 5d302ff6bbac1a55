"""How each action from a finding to looking again is done: by itself, by its address for programs, by its page."""

from typing import Any

from museum import clock
from museum.ids import uuid7
from museum.people.actor import Actor
from tests.treatments.ways.people import of_people
from tests.treatments.ways.proposing import of_decisions, of_proposals
from tests.treatments.ways.round_it import of_checks, of_places, of_rules
from tests.treatments.ways.working import of_stock, of_work
from tests.treatments.ways.world import Ways, World

__all__ = ["Ways", "World", "ways"]


def ways(action: str, w: World, by: Actor, *, hands: bool) -> Ways:
    """How the action is done by this person; what must be theirs is, where they may make it (`hands`)."""
    day, me = clock.today().isoformat(), by.someone
    area, _part, name = action.partition(".")
    sent: dict[str, Any] = {"id": str(uuid7())}
    deed = {"zone": w.zone, "surface": "steel", "aim": "loose rust off", "finding": str(w.rust.finding)}
    if name in ("propose", "resubmit", "withdraw", "return_proposal", "approve"):
        return of_proposals(name, w, by, deed, sent, hands=hands)
    if name in ("start_work", "record_spot", "begin_wait", "record_step", "stop_step", "keep_part", "tell_opened", "end_work", "look_again"):
        return of_work(name, w, by, sent, hands=hands)
    if name in ("add_batch", "change_batch", "record_batch_test", "mark_batch", "record_use", "file_sheet", "recall_batch", "lift_recall", "call_recalled"):
        return of_stock(name, w, day, sent)
    if area == "places":
        return of_places(name, w, sent)
    if area == "people" or name in ("sign_off", "tell_practice"):
        return of_people(name, w, me, day)
    if area in ("checks", "objects"):
        return of_checks(name, w, sent)
    if area == "rules":
        return of_rules(name, w, sent)
    if how := of_decisions(name, w, day, sent):
        return how
    raise AssertionError(f"nobody says how {action} is done")
