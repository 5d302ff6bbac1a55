"""Rebuilds what this part derives."""

from collection.objects import card
from collection.objects.models import Object


def rebuild() -> int:
    """Every card anew; answers how many."""
    keys = list(Object.objects.values_list("pk", flat=True))
    card.refresh(keys)
    return len(keys)
