"""Questions about checks that pages, actions and papers ask."""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import Prefetch, QuerySet

from collection.objects.models import Card
from conservation.checks.models import ConditionCheck, Finding, Observation, Unjudged
from conservation.checks.standing import Look, standing
from museum.history.models import Fact

MOST_NAMED = 20


@dataclass(frozen=True, slots=True)
class Standing:
    """An observation as `standing` reads it."""

    row: Observation

    @property
    def finding_key(self) -> Hashable:
        return self.row.finding_id

    @property
    def zone_key(self) -> str:
        return f"{self.row.finding.component_id}/{self.row.finding.zone}"

    @property
    def change(self) -> str:
        return self.row.change


def checks_in_force(object_id: UUID) -> QuerySet[ConditionCheck]:
    """The checks of an object in the order of what happened, less those corrected or withdrawn."""
    seen = Observation.objects.select_related("finding").order_by("position", "id")
    return (
        ConditionCheck.objects.filter(object_id=object_id, corrected_by=None, withdraws=False)
        .order_by(*Fact.ORDER)
        .prefetch_related(Prefetch("observations", queryset=seen))
    )


def looks_of(checks: Iterable[ConditionCheck]) -> list[Look[Standing]]:
    """The checks as looks, in the same order."""
    return [Look(check.looks, [Standing(row) for row in check.observations.all()]) for check in checks]


def standing_observations(checks: UUID | Sequence[ConditionCheck]) -> dict[str, list[Observation]]:
    """Zone to the observations that stand today, of an object or of its checks in force where they are at hand."""
    stood = standing(looks_of(checks_in_force(checks) if isinstance(checks, UUID) else checks))
    return {zone: [seen.row for seen in found] for zone, found in stood.items()}


def open_findings(checks: UUID | Sequence[ConditionCheck]) -> list[Observation]:
    """The last observation of every finding that stands, zone by zone; `checks` as above."""
    stood = standing_observations(checks)
    return [row for zone in sorted(stood) for row in stood[zone]]


def unjudged() -> list[Card]:
    """The things at which judging or dating broke off; what is shown of them may be out of date."""
    return list(Card.objects.filter(object__in=Unjudged.objects.values("object")).order_by("number_sort")[:MOST_NAMED])


def history_of(finding: Finding) -> QuerySet[Observation]:
    """All that was seen of one finding, oldest first."""
    return finding.observations.select_related("of_check").order_by("of_check__happened_on", "of_check__recorded_at")
