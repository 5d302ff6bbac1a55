"""Ends approvals whose zone or rule changed: reads the history since its own mark, as the checks do."""

import zlib
from collections.abc import Iterable
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet

from conservation.checks.models import Mark
from conservation.rules.book import held
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments.actions.deciding import lapse
from conservation.treatments.asking import approvals_standing
from conservation.treatments.models import Approval
from museum import clock
from museum.history.models import About, Change
from museum.people.actor import PROGRAM

NAME = "treatments"
RULES = "treatment rules"
AT_ONCE = 2_000


def catch_up() -> int:
    """Asks again every approval whose object was touched, or all where a rule changed; answers how many lapsed."""
    with held():
        return _by_rules() + _by_objects()


def _by_objects() -> int:
    total = 0
    while True:
        with transaction.atomic():
            mark = _mark(NAME)
            numbers = list(Change.objects.filter(n__gt=mark.n).order_by("n").values_list("n", flat=True)[:AT_ONCE])
            if not numbers:
                return total
            touched = set(About.objects.filter(change_id__in=numbers, kind="object").values_list("key", flat=True))
            total += _ask_again(approvals_in_force().filter(object__in=touched).values_list("pk", flat=True))
            mark.n = numbers[-1]
            mark.save(update_fields=["n"])


def _by_rules() -> int:
    with transaction.atomic():
        mark, version = _mark(RULES), zlib.crc32(treatment_rules_in_force().version.encode())
        if mark.n == version:
            return 0
        total = _ask_again(approvals_in_force().values_list("pk", flat=True))
        mark.n = version
        mark.save(update_fields=["n"])
    return total


def approvals_in_force() -> "QuerySet[Approval]":
    """Approvals that nothing ended and whose day has not gone."""
    return approvals_standing().filter(until__gte=clock.today())


def _ask_again(keys: Iterable[UUID]) -> int:
    return sum(1 for key in list(keys) if lapse(PROGRAM, key) is not None)


def _mark(name: str) -> Mark:
    """The mark of this name, locked: two workers never do the same."""
    Mark.objects.get_or_create(name=name)
    return Mark.objects.select_for_update().get(name=name)
