"""Who can do what today: qualifications on file and competences in force, asked by whoever must know.

A competence holds from its day to its last day, both included; one that rests on prior practice holds only once
another person has signed for it.
"""

from collections.abc import Iterable
from datetime import date
from typing import Any, Final
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from museum.people.models import Competence, CompetenceMark, Person, Qualification, RoleFact
from museum.people.permissions import Role

CONSERVATOR: Final = Qualification.Kind.CONSERVATOR

#: what a new volunteer is told on the first day, before any step of treatment
INDUCTION: Final[dict[str, Any]] = {
    "handling": _("Handling: two hands under the shell, gloves, one thing per trip, clear way and landing place"),
    "safety": _("The safety page: dangers in headgear, what to stop at, masks and gloves"),
    "salvage": _("The salvage sheet: where it hangs, what goes first in water or fire, people before things"),
    "whom_to_call": _("Whom to call: curator, keyholder, emergency"),
}


def qualifications(person_ids: Iterable[UUID], day: date) -> dict[UUID, set[str]]:
    """The qualifications that each of these people holds on that day: per kind the latest fact counts."""
    latest = {
        (row.person_id, row.kind): row
        for row in Qualification.objects.filter(person__in=list(person_ids), corrected_by=None, withdraws=False).order_by("recorded_at", "id")
    }
    held: dict[UUID, set[str]] = {}
    for (person, kind), row in latest.items():
        if row.given and row.happened_on <= day and (row.until is None or day <= row.until):
            held.setdefault(person, set()).add(kind)
    return held


def qualified(person_id: UUID, kind: str, day: date) -> bool:
    """Whether a person holds a qualification on that day."""
    return kind in qualifications([person_id], day).get(person_id, set())


def on_file(person_ids: Iterable[UUID] | None = None, *, step: str = "", ends: tuple[date, date] | None = None) -> list[Competence]:
    """What stands of competences, newest first: of these people, of this step, with their last day from one day to another; those ended left out."""
    rows = Competence.objects.with_marks().filter(corrected_by=None, withdraws=False).exclude(marks__sort=CompetenceMark.Sort.ENDED)
    if person_ids is not None:
        rows = rows.filter(person__in=list(person_ids))
    if step:
        rows = rows.filter(step=step)
    if ends is not None:
        rows = rows.filter(valid_to__range=ends)
    return list(rows.order_by("-happened_on", "-id"))


def holds(row: Competence, day: date) -> bool:
    """Whether a competence read `with_marks` counts on that day without anything further being asked."""
    supported = row.shown_by_id is not None or getattr(row, "signer", None) not in (None, row.person_id)
    return supported and getattr(row, "ended_on", None) is None and row.happened_on <= day <= row.valid_to


def can(person_id: UUID, step: str, day: date) -> bool:
    """Whether a person's competence for a step is in force."""
    return any(holds(row, day) for row in on_file([person_id], step=step))


def who_can_show(step: str, day: date, *, but: UUID | None = None) -> list[Person]:
    """The people who may teach a step today: competent in it, or conservators; leavers left out."""
    able = {row.person_id for row in on_file(step=step) if holds(row, day)}
    conservators = Qualification.objects.filter(kind=CONSERVATOR).values_list("person", flat=True).distinct()
    able |= {pk for pk, held in qualifications(conservators, day).items() if CONSERVATOR in held}
    people = Person.objects.filter(pk__in=able - {but}).order_by("name")
    return [person for person in people if person.is_active]


def unsigned() -> list[Competence]:
    """Prior practice that waits for another person's signature, oldest first."""
    rows = Competence.objects.with_marks().filter(shown_by=None, corrected_by=None, withdraws=False).exclude(marks__sort__in=CompetenceMark.Sort.values)
    return list(rows.order_by("happened_on", "id"))


def read_for(person_id: UUID) -> str:
    """On whose behalf a reader reads today, '' for nobody."""
    fact = RoleFact.objects.filter(person=person_id, role=Role.READER).order_by("recorded_at", "id").last()
    return fact.kind if fact is not None and fact.given else ""
