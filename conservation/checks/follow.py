"""Reads what lower parts of the house changed since last time, and judges and dates those objects again.

A move, a material, a hazard or a significance changes what is due; the parts that hold them know
nothing of checks, so this part reads their history entries since its own mark.
"""

from uuid import UUID

from django.db import transaction

from conservation.checks import derived, judging
from conservation.checks.models import Mark
from museum.history.models import About, Change

NAME = "checks"
#: what changes a judgement or a date, by the first word of the history entry
CONCERNS = ("object", "component", "made_of", "hazard", "screen", "statement", "movement", "place", "zone", "ownership")
AT_ONCE = 2_000


def catch_up() -> int:
    """Brings up to date every object that lower parts touched since the last call; answers how many."""
    total = 0
    while True:
        with transaction.atomic():
            touched, more = _touched()
            for object_id in sorted(touched):
                judging.judge_again(object_id)
            derived.refresh(touched)
        total += len(touched)
        if not more:
            return total


def _touched() -> tuple[set[UUID], bool]:
    """Objects named by the next entries, the mark moved past them, and whether more entries wait."""
    Mark.objects.get_or_create(name=NAME)
    mark = Mark.objects.select_for_update().get(name=NAME)
    entries = list(Change.objects.filter(n__gt=mark.n).order_by("n").values_list("n", "what")[:AT_ONCE])
    if not entries:
        return set(), False
    concerned = [n for n, what in entries if what.partition(".")[0] in CONCERNS]
    touched = set(About.objects.filter(change_id__in=concerned, kind="object").values_list("key", flat=True))
    mark.n = entries[-1][0]
    mark.save(update_fields=["n"])
    return touched, len(entries) == AT_ONCE
