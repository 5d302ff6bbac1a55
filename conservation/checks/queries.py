"""Questions about checks that pages, actions and papers ask."""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import QuerySet

from collection.objects.models import Card
from conservation.checks.models import Call, ConditionCheck, Finding, Observation, Unjudged
from conservation.checks.standing import Look, standing
from museum.history.models import Fact
from museum.prepared import ANY_KEY, Prepared

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


_CHECKS = Prepared(lambda key: ConditionCheck.objects.filter(object_id=key, corrected_by=None, withdraws=False).order_by(*Fact.ORDER), ANY_KEY)
_SEEN = Prepared(lambda key: Observation.objects.filter(of_check__object_id=key).select_related("finding").order_by("position", "id"), ANY_KEY)


def checks_in_force(object_id: UUID) -> list[ConditionCheck]:
    """The checks of an object with what they saw, in the order of what happened, less those corrected or withdrawn. Two queries."""
    checks = _CHECKS(object_id)
    by_key = {check.pk: check for check in checks}
    for check in checks:
        check.seen = []
    for row in _SEEN(object_id) if checks else ():
        if row.of_check_id in by_key:
            row.of_check = by_key[row.of_check_id]
            row.of_check.seen.append(row)
    return checks


def looks_of(checks: Iterable[ConditionCheck]) -> list[Look[Standing]]:
    """The checks as looks, in the same order."""
    return [Look(check.looks, [Standing(row) for row in check.seen]) for check in checks]


def standing_observations(checks: UUID | Sequence[ConditionCheck]) -> dict[str, list[Observation]]:
    """Zone to the observations that stand today, of an object or of its checks in force where they are at hand."""
    stood = standing(looks_of(checks_in_force(checks) if isinstance(checks, UUID) else checks))
    return {zone: [seen.row for seen in found] for zone, found in stood.items()}


def open_findings(checks: UUID | Sequence[ConditionCheck]) -> list[Observation]:
    """The last observation of every finding that stands, zone by zone; `checks` as above."""
    stood = standing_observations(checks)
    return [row for zone in sorted(stood) for row in stood[zone]]


def open_calls(object_ids: Iterable[UUID]) -> QuerySet[Call]:
    """The calls of these objects that nothing has answered yet."""
    return Call.objects.filter(object_id__in=list(object_ids), answer=None, corrected_by=None, withdraws=False)


_OPEN = Prepared(lambda key: open_calls([key]).order_by("due_on", "id"), ANY_KEY)


def open_calls_of(object_id: UUID) -> list[Call]:
    """The same of one object, the soonest first."""
    return _OPEN(object_id)


def unjudged() -> QuerySet[Card]:
    """The things at which judging or dating broke off; what is shown of them may be out of date."""
    return Card.objects.filter(object__in=Unjudged.objects.values("object")).order_by("number_sort")[:MOST_NAMED]


def history_of(finding: Finding) -> QuerySet[Observation]:
    """All that was seen of one finding, oldest first."""
    return finding.observations.select_related("of_check").order_by("of_check__happened_on", "of_check__recorded_at")
