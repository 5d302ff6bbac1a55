"""How the ten questions stand for a thing: answered in full, confirmed from its lot, missing, or outdated by an opening.

The order is ours, on the rules of the screen: answered before the first treatment, again after every opening; the answers
of a lot are confirmed for each thing by who looked at it, and after an opening only the full ten count.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Final, TypeVar
from uuid import UUID

from django.db.models import Q, QuerySet

from collection.objects.models import Card, LotScreen, Object, Opening, Screen
from collection.objects.queries import in_force, materials_of
from museum.people.actor import Actor
from museum.prepared import ANY_KEY, Prepared

_OPENINGS = Prepared(lambda key: in_force(Opening.objects.filter(object_id=key)).values_list("pk", flat=True)[:1], ANY_KEY)
Told = TypeVar("Told", Screen, Opening)
FULL: Final = "full"
CONFIRMED: Final = "confirmed"
MISSING: Final = "missing"
OUTDATED: Final = "outdated"
#: what opens the ten whole instead of making an answer old: until they are answered there is none
OPENS_WHOLE: Final = (Opening.Why.DIFFERS, Opening.Why.UNSURE)
#: material to the number of the question that asks of it: 'no' there is not true once the material is told
ASKED_OF: Final[Mapping[str, str]] = {
    "mineral_fibre": "1", "felt": "4", "fur": "4", "wool": "4", "plume": "4", "cellulose_nitrate": "6", "cellulose_acetate": "6", "cadmium_plate": "7",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Standing:
    """How it stands and on what: the answers that count, the opening after which none does."""

    state: str
    screen: Screen | None = None
    opening: Opening | None = None

    @property
    def passes(self) -> bool:
        """Whether work may go on by it."""
        return self.state in (FULL, CONFIRMED)


def standing_of(object_id: UUID) -> Standing:
    """How the ten questions stand for one thing; two questions to the database."""
    return standings_of([object_id])[object_id]


def outdated_by(object_id: UUID) -> Opening | None:
    """The opening after which the answers of a thing count no more, if there is one; mostly one question."""
    if not _OPENINGS(object_id):
        return None
    stands = standing_of(object_id)
    return stands.opening if stands.state == OUTDATED else None


def standings_of(object_ids: Collection[UUID]) -> dict[UUID, Standing]:
    """The same for many things at once."""
    screens, openings = _by_object(Screen.objects.select_related("lot__corrected_by", "by"), object_ids), _by_object(Opening.objects.all(), object_ids)
    return {key: _stands(screens.get(key, []), openings.get(key, [])) for key in object_ids}


def denies(answers: Mapping[str, str], material: str) -> bool:
    """Whether the answers say that there is none of a material of which they ask."""
    return material in ASKED_OF and answers.get(ASKED_OF[material]) == "no"


def denied_by(object_id: UUID, answers: Mapping[str, str]) -> list[str]:
    """The materials of a thing's record of which these answers say that there is none."""
    return sorted(material for material in materials_of([object_id]).get(object_id, ()) if denies(answers, material))


def _by_object(rows: "QuerySet[Told]", object_ids: Iterable[UUID]) -> dict[UUID, list[Told]]:
    found: dict[UUID, list[Told]] = {}
    for row in in_force(rows.filter(object_id__in=list(object_ids))):
        found.setdefault(row.object_id, []).append(row)
    return found


def _stands(screens: Sequence[Screen], openings: Sequence[Opening]) -> Standing:
    opening = max(openings, key=_when, default=None)
    full = max((row for row in screens if row.full), key=_when, default=None)
    if full is not None and (opening is None or _when(full) > _when(opening)):
        return Standing(FULL, full)
    if opening is not None:
        return Standing(MISSING if opening.why in OPENS_WHOLE or not screens else OUTDATED, full or (screens[-1] if screens else None), opening)
    confirmed = [row for row in screens if row.lot is not None and not hasattr(row.lot, "corrected_by")]
    return Standing(CONFIRMED, confirmed[-1]) if confirmed else Standing(MISSING, screens[-1] if screens else None)


def _when(row: Screen | Opening) -> tuple[date, datetime]:
    """What was told of a day without its hour counts from when it was told: rather asked once more than believed."""
    return row.happened_on, row.happened_at or row.recorded_at


def lots_for(thing: Object) -> "QuerySet[LotScreen]":
    """The lots by whose answers a thing of this kind may be confirmed, the newest first."""
    return LotScreen.objects.filter(Q(kind=None) | Q(kind=thing.kind_id), corrected_by=None, withdraws=False).select_related("by").order_by("-recorded_at")


@dataclass(frozen=True, slots=True)
class Lot:
    """The answers of a lot that count, the things confirmed by them, and those confirmed only by answers that they replaced."""

    screen: LotScreen
    confirmed: list[Card]
    to_confirm: list[Card]


def lots_seen(actor: Actor) -> list[Lot]:
    """Every lot with its things that this person may see, in the order of their numbers; the newest lot first. Four questions for all."""
    every = {row.pk: row for row in LotScreen.objects.filter(withdraws=False).select_related("kind", "by").order_by("-recorded_at")}
    replaced_by = {row.corrects_id: row for row in every.values() if row.corrects_id}
    looked = Screen.objects.filter(lot__in=every, corrected_by=None, withdraws=False).order_by("recorded_at").values_list("object_id", "lot_id")
    things = {key: _last_word(every[lot], replaced_by) for key, lot in looked}
    cards, stands = Card.objects.visible_to(actor).filter(object__in=things).order_by("number_sort", "object"), standings_of(things)
    lots = {row.pk: Lot(row, [], []) for row in every.values() if row.pk not in replaced_by}
    for card in cards:
        lot, state = lots[things[card.pk].pk], stands[card.pk].state
        if state in (CONFIRMED, MISSING):
            (lot.confirmed if state == CONFIRMED else lot.to_confirm).append(card)
    return list(lots.values())


def _last_word(lot: LotScreen, replaced_by: Mapping[UUID, LotScreen]) -> LotScreen:
    while lot.pk in replaced_by:
        lot = replaced_by[lot.pk]
    return lot
