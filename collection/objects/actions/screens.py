"""The ten questions of a lot and what is confirmed by them; openings, after which only a full answer counts."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Final
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from collection.objects import card
from collection.objects.actions.common import visible_object
from collection.objects.actions.hazards import open_suspected, whole_answers
from collection.objects.models import Kind, LotScreen, Object, Opening, Screen
from collection.objects.screens import ASKED_OF, FULL, OPENS_WHOLE, denied_by, denies, lots_for, standing_of
from museum import clock
from museum.errors import Invalid, NotFound
from museum.history.record import lock
from museum.people.action import Act, action

#: what a person tells; the others follow from what was told elsewhere
TOLD: Final = (Opening.Why.LINING, Opening.Why.OUT, Opening.Why.APART, Opening.Why.CAME_OFF, Opening.Why.SHOWED)


@action("objects.answer_screen", may="hazard.report")
def answer_screen(
    act: Act,
    object_id: UUID,
    *,
    answers: Mapping[str, str],
    opens: Mapping[str, int] | None = None,
    happened_on: date | None = None,
    happened_at: datetime | None = None,
) -> Screen:
    """Stores the answers and opens the hazards they point to; 'unsure' counts as suspected. Raises Invalid, NotFound.

    Answers to closer questions (1a, 9a) stand beside the ten. `opens` maps hazard code to level, as the rules read
    the answers; a hazard already at that level or above stays. Without a day they were given now. What was answered is
    kept also where it says 'no' to a material of the record: then the ten are to be asked anew.
    """
    thing = visible_object(act, object_id)
    whole_answers(answers)
    at = min(happened_at, act.now) if happened_at else None if happened_on else act.now
    screen = Screen.objects.create(
        act_id=act.id, object=thing, answers=dict(answers), by_id=act.actor.person, happened_on=happened_on or clock.day_of(act.now), happened_at=at,
        recorded_at=act.now,
    )  # fmt: skip
    act.wrote("screen.answered", screen, after={"answers": dict(answers)}, about=[("object", object_id)])
    open_suspected(act, thing, opens or {})
    for material in denied_by(thing.pk, answers):
        put_opening(act, thing, Opening.Why.MATERIAL, note=material)
    card.refresh([object_id])
    return screen


@action("objects.answer_lot", may="hazard.report")
def answer_lot(act: Act, lot_id: UUID, *, name: str, answers: Mapping[str, str], kind: str = "", corrects: UUID | None = None) -> LotScreen:
    """Answers the ten questions once for a lot, or anew for one that `corrects` names. Raises Invalid, NotFound."""
    whole_answers(answers)
    if not name.strip():
        raise Invalid(_("Say which lot it is: what its things have in common, and where they came from."), field="name")
    of_kind = Kind.objects.filter(code=kind).first()
    if kind and of_kind is None:
        raise Invalid(_("Choose a kind of the list, or none."), field="kind")
    if corrects is not None:
        lock(f"lot:{corrects}")
        if not LotScreen.objects.filter(pk=corrects, corrected_by=None, withdraws=False).exists():
            raise NotFound
    lot = LotScreen.objects.create(
        id=lot_id, act_id=act.id, name=name.strip(), kind=of_kind, answers=dict(answers), by_id=act.actor.person, corrects_id=corrects, recorded_at=act.now,
        happened_at=act.now,
    )  # fmt: skip
    act.wrote("lot.answered", lot, after={"name": lot.name, "kind": kind, "answers": lot.answers, "corrects": str(corrects or "")})
    return lot


@action("objects.confirm_screen", may="hazard.report")
def confirm_screen(act: Act, object_id: UUID, *, lot_id: UUID, opens: Mapping[str, int]) -> Screen:
    """Confirms the answers of its lot for one thing: looked at, nothing differs. Raises Invalid, NotFound.

    `opens` are the hazards to which the lot's answers point. After an opening the lot does not count any more, nor where its answers say
    'no' to a material that the record tells of this thing.
    """
    thing = visible_object(act, object_id)
    lot = lots_for(thing).filter(pk=lot_id).first()
    if lot is None:
        raise NotFound
    stands = standing_of(object_id)
    if stands.opening is not None or denied_by(object_id, lot.answers):
        raise Invalid(_("It was opened, or differs from its lot: the ten questions are answered for this thing itself now."), field="lot")
    if stands.state == FULL:
        raise Invalid(_("The ten questions are answered for this thing itself, which says more than its lot."), field="lot")
    screen = Screen.objects.create(
        act_id=act.id, object=thing, answers=lot.answers, full=False, lot=lot, by_id=act.actor.person, recorded_at=act.now, happened_at=act.now
    )
    act.wrote("screen.confirmed", screen, after={"lot": lot.name, "answers": lot.answers}, about=[("object", object_id)])
    open_suspected(act, thing, opens)
    card.refresh([object_id])
    return screen


@action("objects.open_whole", may="hazard.report")
def open_whole(act: Act, object_id: UUID, *, lot_id: UUID, unsure: bool, note: str = "") -> Opening:
    """Says that a thing differs from its lot, or that one cannot tell: the ten questions are to be answered for it. Raises NotFound."""
    thing = visible_object(act, object_id)
    lot = lots_for(thing).filter(pk=lot_id).first()
    if lot is None:
        raise NotFound
    differs, not_sure = OPENS_WHOLE
    said = ": ".join(filter(None, (lot.name, note.strip())))
    return put_opening(act, thing, not_sure if unsure else differs, note=said)


@action("objects.tell_opening", may="hazard.report")
def tell_opening(act: Act, object_id: UUID, *, why: str, note: str = "", happened_on: date | None = None) -> Opening:
    """Tells that a thing was opened, came apart or shows something new: the ten questions are asked again before work goes on."""
    return put_told(act, visible_object(act, object_id), why, note=note, happened_on=happened_on)


def put_told(act: Act, thing: Object, why: str, *, note: str = "", happened_on: date | None = None) -> Opening:
    """What `tell_opening` does, within another action on the same thing. Raises Invalid."""
    if why not in TOLD:
        raise Invalid(_("Say what was opened, or what showed."), field="why")
    if happened_on is not None and happened_on > clock.day_of(act.now):
        raise Invalid(_("This day lies in the future."), field="happened_on")
    return put_opening(act, thing, Opening.Why(why), note=note.strip(), happened_on=happened_on)


def put_opening(act: Act, thing: Object, why: Opening.Why, *, note: str = "", happened_on: date | None = None) -> Opening:
    """Writes an opening down, whoever told of it."""
    today = clock.day_of(act.now)
    on = happened_on or today
    opening = Opening.objects.create(
        act_id=act.id, object=thing, why=why, note=note, by_id=act.actor.person, happened_on=on, happened_at=act.now if on == today else None,
        recorded_at=act.now,
    )  # fmt: skip
    said = {"material": note} if why == Opening.Why.MATERIAL else {}
    act.wrote("opening.told", opening, after={"opened": str(why), "on": on} | said, reason="" if said else note, about=[("object", thing.pk)])
    return opening


def doubt_answers(act: Act, thing: Object, material: str) -> None:
    """Where the answers that count say there is no such material and it is told now, they are old."""
    stands = standing_of(thing.pk) if material in ASKED_OF else None
    if stands is not None and stands.passes and stands.screen is not None and denies(stands.screen.answers, material):
        put_opening(act, thing, Opening.Why.MATERIAL, note=material)
