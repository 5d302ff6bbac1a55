"""Calls: looks that somebody or something asked for, and what answers them."""

from collections.abc import Iterable, Sequence
from datetime import date
from uuid import UUID

from django.utils import translation
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from collection.objects.models import Object
from conservation.checks import derived
from conservation.checks.models import Call, CallAnswer, ConditionCheck
from conservation.checks.opening import next_open_day
from conservation.checks.queries import open_calls, open_calls_of
from conservation.rules.tables import EventRule
from museum import clock
from museum.errors import Invalid, NotFound
from museum.history.record import lock
from museum.people.action import Act, action
from museum.people.models import Society

#: which kinds of look a check stands for: a full check is a quick look too
STANDS_FOR = {
    ConditionCheck.Sort.FULL: ("full", "follow_up", "quick"),
    ConditionCheck.Sort.FOLLOW_UP: ("follow_up", "quick"),
    ConditionCheck.Sort.QUICK: ("quick",),
}

#: the code of the call for the reading of a card, and of the look after an alarm of the climate
CARD, CLIMATE = "card", "climate"


def call_for(act: Act, object_ids: Iterable[UUID], *, why: str, sort: str, due_on: date, reason: str, source: UUID, zones: Sequence[str] = ()) -> list[Call]:
    """Asks for a look at each of the objects, unless the same source asked for the same already and did not take it back."""
    wanted = sorted(set(object_ids))
    standing = Call.objects.filter(corrected_by=None, withdraws=False, source=source, why=why, object_id__in=wanted, due_on=due_on)
    asked = set(standing.values_list("object_id", flat=True))
    calls = [
        Call(
            act_id=act.id, object_id=pk, why=why, sort=sort, due_on=due_on, reason=reason, zones=list(zones), source=source,
            happened_on=due_on if why == "follow_up" else clock.day_of(act.now), recorded_at=act.now,
        )
        for pk in wanted
        if pk not in asked
    ]  # fmt: skip
    Call.objects.bulk_create(calls)
    for call in calls:
        act.wrote("call.made", call, after={"why": why, "sort": sort, "due": due_on, "reason": reason}, about=[("object", call.object_id)])
    return calls


def said_already(object_ids: Iterable[UUID], rule: EventRule, due_on: date) -> set[UUID]:
    """Those of which an open look after damp says no less and is due no later; where gloves and mask are called for, that says so too."""
    calls = open_calls(object_ids).filter(why=CLIMATE, due_on__lte=due_on)
    if rule.days == 0:
        calls = calls.filter(reason__endswith=in_house_language(rule.reason))
    return set(calls.values_list("object_id", flat=True))


def in_house_language(text: str) -> str:
    """A sentence that is stored: in the language of the society, whoever reads it."""
    with translation.override(Society.load().language):
        return gettext(text)


def withdraw_calls(act: Act, calls: Iterable[Call], *, reason: str) -> None:
    """Takes back looks that nothing asks for any more; what was asked stays readable."""
    for call in calls:
        fact = Call.objects.create(
            act_id=act.id, object_id=call.object_id, why=call.why, sort=call.sort, due_on=call.due_on, reason=reason, zones=call.zones, source=call.source,
            corrects=call, withdraws=True, happened_on=clock.day_of(act.now), recorded_at=act.now,
        )  # fmt: skip
        act.wrote("call.withdrawn", fact, before={"why": call.why, "due": call.due_on}, reason=reason, about=[("object", call.object_id)])


def answer_calls(act: Act, check: ConditionCheck) -> list[Call]:
    """Closes what this look stands for: what is due by the next opening day is done on one visit.

    After an alarm of the climate any look within the days is the one asked for. A card is read by itself, and its reading is no look at the whole.
    """
    if check.purpose == ConditionCheck.Purpose.CARD:
        return []
    horizon = next_open_day(check.happened_on, Society.load().opening_days)
    stood_for = STANDS_FOR[ConditionCheck.Sort(check.sort)]
    calls = [
        call for call in open_calls_of(check.object_id)
        if call.sort in stood_for and call.recorded_at <= act.now and (call.why == CLIMATE or (call.why != CARD and call.due_on <= horizon))
    ]  # fmt: skip
    CallAnswer.objects.bulk_create(CallAnswer(act_id=act.id, call=call, of_check=check, recorded_at=act.now) for call in calls)
    return calls


@action("checks.answer_call", may="look.close")
def answer_call(act: Act, call_id: UUID, *, reason: str) -> CallAnswer:
    """Closes a look asked for without looking, with the reason why none is needed. Raises Invalid, NotFound."""
    call = Call.objects.filter(pk=call_id, corrected_by=None, withdraws=False, object__in=Object.objects.visible_to(act.actor)).first()
    if call is None:
        raise NotFound()
    lock(f"object:{call.object_id}")
    if (before := CallAnswer.objects.filter(call=call).first()) is not None:
        return before
    if call.why == CARD:
        raise Invalid(_("A card laid out is read, or read as taken away. Open it under Cards laid out."), field="call")
    if not reason.strip():
        raise Invalid(_("Say why no look is needed."), field="reason")
    answer = CallAnswer.objects.create(act_id=act.id, call=call, reason=reason.strip(), recorded_at=act.now)
    act.wrote("call.answered", call, before={"sort": call.sort, "due": call.due_on}, reason=reason.strip(), about=[("object", call.object_id)])
    derived.refresh([call.object_id])
    return answer
