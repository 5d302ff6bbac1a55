"""What of the care of things needs one person today: proposals to decide, signatures, cards to read, what is to be shown again."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

from django.db.models import QuerySet

from collection.objects.models import Card, Object
from conservation.checks.models import CardTest
from conservation.treatments import learning
from conservation.treatments.asking import waits_for_a_second
from conservation.treatments.learning import to_sign_off
from conservation.treatments.models import Batch, BatchMark, Proposal, Work
from conservation.treatments.reopened import reopened
from conservation.treatments.wording import zones_in
from museum import clock
from museum.people.actor import Actor
from museum.people.models import Competence, CompetenceMark, Person

#: so many proposals are shown with their photographs; the desk has all
SHOWN: Final = 5
COUNTED: Final = ("waiting", "returned", "work", "seconds", "practice", "cards", "tries", "reopened", "expired")


@dataclass(frozen=True, slots=True)
class Needs:
    """What waits for this person. `counts` by the names of COUNTED."""

    counts: Mapping[str, int]
    proposals: Sequence[Proposal]
    zones: Mapping[str, str]
    refreshers: Sequence[tuple[Person, learning.Told]]

    @property
    def empty(self) -> bool:
        return not (any(self.counts.values()) or self.refreshers)


def needs_of(actor: Actor, counts: Mapping[str, int]) -> Needs:
    """What waits for this person, with how much there is of what is `to_count`."""
    counts = {name: counts[name] for name in COUNTED if name in counts}
    waiting = Proposal.objects.filter(state=Proposal.State.WAITING, object__withdrawn="").exclude(proposed_by=actor.person)
    urgent = waiting.select_related("object__card", "proposed_by").order_by("-object__card__urgency", "sent_at")[:SHOWN]
    proposals = list(urgent) if counts.get("waiting") else []
    return Needs(counts, proposals, zones_in(proposals), _refreshers(actor, all_of_them=actor.may("competence.end")))


def to_count(actor: Actor) -> "dict[str, QuerySet[Any, Any]]":
    """What of a person's needs is only counted, by the names of COUNTED."""
    today, mine = clock.today(), Proposal.objects.filter(object__withdrawn="")
    found: dict[str, QuerySet[Any, Any]] = {
        "returned": mine.filter(state=Proposal.State.RETURNED, proposed_by=actor.person),
        "work": Work.objects.filter(person=actor.person, end=None, corrected_by=None, withdraws=False),
        "cards": CardTest.objects.filter(reading="", due_on__lte=today, object__in=Object.objects.visible_to(actor)),
        "reopened": reopened().select_related(None).filter(work__object__in=Object.objects.visible_to(actor)),
        "tries": to_sign_off().filter(beside=actor.person),
        "expired": Batch.objects.filter(expires_on__lt=today).exclude(marks__sort=BatchMark.Sort.USED_UP),
    }
    if actor.may("treatment.approve"):
        found["waiting"] = mine.filter(state=Proposal.State.WAITING).exclude(proposed_by=actor.person)
        found["seconds"] = waits_for_a_second().select_related(None).exclude(approved_by=actor.person)
        unsigned = Competence.objects.filter(shown_by=None, corrected_by=None, withdraws=False).exclude(marks__sort__in=CompetenceMark.Sort.values)
        found["practice"] = unsigned.exclude(person=actor.person)
    return found


def _refreshers(actor: Actor, *, all_of_them: bool) -> list[tuple[Person, learning.Told]]:
    if all_of_them:
        return learning.refreshers(clock.today())
    return [(person, told) for person, told in learning.refreshers(clock.today()) if person.pk == actor.person]


@dataclass(frozen=True, slots=True)
class Asked:
    """What a guest was invited to, with what is proposed for it; `zones` names where."""

    things: Sequence[tuple[Card, Sequence[Proposal]]]
    zones: Mapping[str, str]


def asked_of(actor: Actor) -> Asked | None:
    """What a guest was invited to: each thing, the most urgent first, with what is proposed for it."""
    if not actor.invited:
        return None
    proposals = Proposal.objects.filter(object__in=actor.invited).exclude(state=Proposal.State.WITHDRAWN).order_by("-sent_at")
    of_thing: dict[UUID, list[Proposal]] = {}
    for row in proposals:
        of_thing.setdefault(row.object_id, []).append(row)
    cards = Card.objects.visible_to(actor).order_by("-urgency", "number_sort")
    return Asked([(card, of_thing.get(card.object_id, [])) for card in cards], zones_in(proposals))
