"""Deciding on humidities that do not meet: once for a thing and a place, with the reason; taken back; shown with what it counts for."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from collection.objects.models import Object
from collection.objects.queries import in_force, words_of_materials
from conservation.rules.placing import Objection
from locations.places import placing
from locations.places.models import HumidityDecision, Place
from museum import clock
from museum.errors import Invalid, NotFound
from museum.history.record import lock
from museum.people.action import Act, action


@action("places.decide_humidity", may="movement.record")
def decide_humidity(act: Act, object_id: UUID, *, reason: str) -> HumidityDecision:
    """Somebody decided that a thing stays where it stands, though no humidity suits all there: who, and why. Raises Invalid, NotFound."""
    _locked(act, object_id)
    if not reason.strip():
        raise Invalid(_("Say who decided so, and why."), field="reason")
    spot = placing.spots_of([object_id], clock.now()).get(object_id)
    against = placing.judged({object_id: spot[0]}, happened=True)[object_id] if spot else []
    if spot is None or not placing.of_humidity(against):
        raise Invalid(_("Where it stands now, one humidity suits all: there is nothing to decide."), field="reason")
    if not open_still(against, shown(object_id)):
        raise Invalid(_("Somebody decided on it already. If it is to be decided otherwise, take that decision back first."), field="reason")
    decision = put_decision(act, object_id, spot[0], against, reason)
    placing.restate([object_id])
    return decision


@action("places.withdraw_humidity", may="movement.record")
def withdraw_humidity(act: Act, object_id: UUID, decision_id: UUID, *, reason: str) -> HumidityDecision:
    """Takes a decision on a thing back: what stands so is urgent again, what is planned is asked of again. Raises Invalid, NotFound."""
    _locked(act, object_id)
    old = in_force(HumidityDecision.objects.filter(pk=decision_id, object=object_id)).first()
    if old is None:
        raise NotFound
    if not reason.strip():
        raise Invalid(_("Say why it is taken back."), field="reason")
    fact = HumidityDecision.objects.create(
        act_id=act.id, object_id=old.object_id, place_id=old.place_id, pairs=old.pairs, reason=reason.strip(), by_id=act.actor.person, corrects=old,
        withdraws=True, recorded_at=act.now,
    )  # fmt: skip
    act.wrote("humidity.withdrawn", fact, after={"place": old.place.code}, reason=fact.reason, about=[("object", old.object_id)])
    placing.restate([old.object_id])
    return fact


def put_decision(act: Act, object_id: UUID, spot: placing.Spot, against: Iterable[Objection], reason: str) -> HumidityDecision:
    """Writes down what was decided of the humidities among these objections, within another action."""
    place = next(place for place in spot.path if place.pk == spot.decided_at)
    decision = HumidityDecision.objects.create(
        act_id=act.id, object_id=object_id, place=place, pairs=placing.pairs_in(against), reason=reason.strip(), by_id=act.actor.person, recorded_at=act.now
    )
    act.wrote("humidity.decided", decision, after={"place": place.code, "pairs": decision.pairs}, reason=decision.reason, about=[("object", object_id)])
    return decision


def _locked(act: Act, object_id: UUID) -> None:
    lock(f"object:{object_id}")
    if not Object.objects.visible_to(act.actor).filter(pk=object_id).exists():
        raise NotFound


@dataclass(frozen=True, slots=True)
class Shown:
    """A decision as people read it. `counts` = the thing stands there and what was decided on is so still."""

    decision: HumidityDecision
    place: Place
    pairs: Sequence[tuple[str, str]]
    counts: bool


def shown(object_id: UUID) -> list[Shown]:
    """The decisions on a thing that nobody took back, the newest first."""
    rows = list(in_force(HumidityDecision.objects.filter(object=object_id).select_related("place", "by")))
    if not rows:
        return []
    spot = placing.spots_of([object_id], clock.now()).get(object_id)
    here = placing.pairs_in(placing.judged({object_id: spot[0]}, happened=True)[object_id]) if spot else []
    names = words_of_materials({code for row in rows for one, other, _asks in row.pairs for code in (one, other)})
    return [
        Shown(
            row, row.place, list(dict.fromkeys((names.get(one, one), names.get(other, other)) for one, other, _asks in row.pairs)),
            counts=spot is not None and spot[0].decided_at == row.place_id and any(pair in here for pair in row.pairs),
        )
        for row in sorted(rows, key=lambda row: row.recorded_at, reverse=True)
    ]  # fmt: skip


def open_still(against: Iterable[Objection], decisions: Iterable[Shown]) -> bool:
    """Whether among these objections are humidities on which none of the decisions that count decides."""
    told = [pair for one in decisions if one.counts for pair in one.decision.pairs]
    return any(pair not in told for pair in placing.pairs_in(against))
