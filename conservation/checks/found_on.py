"""What was found on things, as the rules of placing ask it: told to the part that knows where they stand."""

from collections.abc import Collection, Mapping, Sequence
from uuid import UUID

from django.db.models import Prefetch

from conservation.checks.models import ConditionCheck, Observation
from conservation.checks.queries import open_findings
from conservation.rules.contraindications import Found
from museum.history.models import Fact


def found_on(object_ids: Collection[UUID]) -> Mapping[UUID, Sequence[tuple[str, Found]]]:
    """Object to pairs of a material and a finding that stands; two queries for all."""
    seen = Observation.objects.select_related("finding").order_by("position", "id")
    rows = ConditionCheck.objects.filter(object_id__in=list(object_ids), corrected_by=None, withdraws=False)
    checks: dict[UUID, list[ConditionCheck]] = {}
    for check in rows.order_by(*Fact.ORDER).prefetch_related(Prefetch("observations", queryset=seen)):
        checks.setdefault(check.object_id, []).append(check)
    return {key: [(row.material, Found(row.term, row.activity)) for row in open_findings(own)] for key, own in checks.items()}
