"""What judging and dating read of one object, each asked for once."""

from functools import cached_property
from uuid import UUID

from collection.objects.models import Card
from collection.objects.queries import hazards_in_force
from conservation.checks.models import ConditionCheck, Judgement, Observation
from conservation.checks.queries import checks_in_force, standing_observations
from locations.places.queries import Whereabouts, where_is
from museum.prepared import ANY_KEY, Prepared

_CARD = Prepared(lambda key: Card.objects.select_related("object").filter(pk=key)[:1], ANY_KEY)
_LAST = Prepared(lambda key: Judgement.objects.filter(object_id=key).order_by("-recorded_at", "-id")[:1], ANY_KEY)


class Facts:
    """The facts of one object as they stand when they are first asked for; made anew after something else wrote."""

    def __init__(self, object_id: UUID) -> None:
        self.object_id = object_id

    @cached_property
    def card(self) -> Card | None:
        """Its card, with the object; none before there is one."""
        return _CARD.first(self.object_id)

    @cached_property
    def checks(self) -> list[ConditionCheck]:
        """The checks in force with what they saw, in the order of what happened."""
        return checks_in_force(self.object_id)

    @cached_property
    def standing(self) -> dict[str, list[Observation]]:
        """Zone to the observations that stand."""
        return standing_observations(self.checks)

    @cached_property
    def where(self) -> Whereabouts:
        """Where its main component is."""
        return where_is(self.object_id)

    @cached_property
    def hazards(self) -> dict[str, int]:
        """Danger to level; none that is closed."""
        return hazards_in_force([self.object_id]).get(self.object_id, {})

    @cached_property
    def judgement(self) -> Judgement | None:
        """The judgement that stands; who judges sets the new one."""
        return _LAST.first(self.object_id)

    def seen_in(self, check: ConditionCheck) -> list[Observation]:
        """What one of its checks in force saw."""
        return [row for known in self.checks if known.pk == check.pk for row in known.seen]
