"""What can be learnt, who was shown it, what is due again: competences read against the tables in force."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final
from uuid import UUID, uuid5

from django.db.models import Exists, OuterRef, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from conservation.rules.guidance import Lesson, shipped_lessons
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.rules.treatment_tables import Step
from conservation.treatments.models import Practice
from museum import clock
from museum.people import competence
from museum.people.models import Competence, Person, Qualification
from museum.people.permissions import Role

#: lessons have codes, papers are about keys: the key of a lesson is made of its code
LESSONS: Final = UUID("0199c2a4-7f10-7000-8000-6c6573736f6e")
#: a competence that ends within so many days is due to be shown again (ours)
REFRESH_DAYS: Final = 90
#: one that ended is asked for so long (ours)
PAST_DAYS: Final = 365
QUALIFICATIONS: Final = Qualification.Kind

STANDS: Final = {
    "in_force": gettext_lazy("in force"),
    "unsigned": gettext_lazy("waits for a second signature"),
    "later": gettext_lazy("not yet begun"),
    "past": gettext_lazy("ended"),
    "none": gettext_lazy("not yet shown"),
}


@dataclass(frozen=True, slots=True)
class Subject:
    """Something that can be shown: a step that asks for competence, or a topic of the induction."""

    code: str
    name: str
    gentle: bool = False
    lesson: bool = False

    @property
    def step(self) -> bool:
        """Whether it is a step of treatment."""
        return self.code not in competence.INDUCTION

    @property
    def short(self) -> str:
        """Its name without what is said after it."""
        return self.name.partition(":")[0]


@dataclass(frozen=True, slots=True)
class Told:
    """How one person stands with one subject: the record that counts, or the last one."""

    subject: Subject
    row: Competence | None
    stands: str
    soon: bool = False

    @property
    def words(self) -> str:
        """How it stands, in words."""
        return str(STANDS[self.stands])


def lesson_of(step: str) -> Lesson | None:
    """The lesson that teaches a step."""
    return next((lesson for lesson in shipped_lessons() if lesson.step == step), None)


def key_of(lesson: Lesson) -> UUID:
    """The key of a lesson, the same in every house."""
    return uuid5(LESSONS, lesson.step)


def panels(lesson: Lesson) -> list[tuple[str, str]]:
    """The drawings of a lesson: the template that holds each, and the words under it."""
    return [(f"treatments/drawings/{lesson.step}-{n}.svg", _(words)) for n, words in enumerate(lesson.drawings, start=1)]


def subjects() -> list[Subject]:
    """Everything that can be put on file: the topics of the first day, then the steps that ask for competence."""
    topics = [Subject(code, str(words)) for code, words in competence.INDUCTION.items()]
    steps = [step for step in treatment_rules_in_force().steps.values() if step.competence]
    return topics + [Subject(step.code, _name(step.code, step.problem, step.material), step.gentle, lesson_of(step.code) is not None) for step in steps]


def subject(code: str) -> Subject | None:
    """One of them; None for what asks for no competence."""
    return next((one for one in subjects() if one.code == code), None)


def _name(code: str, problem: str, material: str) -> str:
    lesson = lesson_of(code)
    return _(lesson.title) if lesson else f"{_(problem)}: {material}"


def standing(person: UUID, day: date, of: Iterable[Subject] | None = None) -> list[Told]:
    """How a person stands with each subject today."""
    rows: dict[str, list[Competence]] = {}
    for row in competence.on_file([person]):
        rows.setdefault(row.step, []).append(row)
    return [_told(one, rows.get(one.code, []), day) for one in (subjects() if of is None else of)]


def _told(one: Subject, rows: Sequence[Competence], day: date) -> Told:
    if not rows:
        return Told(one, None, "none")
    holding = [row for row in rows if competence.holds(row, day)]
    if holding:
        last = max(holding, key=lambda row: row.valid_to)
        return Told(one, last, "in_force", soon=last.valid_to <= day + timedelta(days=REFRESH_DAYS))
    row = rows[0]
    return Told(one, row, "later" if row.happened_on > day else "past" if row.valid_to < day else "unsigned")


def induction(person: UUID, day: date) -> list[Told]:
    """What a person is told on the first day, and what they have been told."""
    return standing(person, day, [one for one in subjects() if not one.step])


def volunteers() -> list[Person]:
    """Whoever works with the things and is here."""
    hands = {Role.VOLUNTEER, Role.CURATOR, Role.REGISTRAR}
    return [person for person in Person.objects.with_roles().order_by("name") if person.is_active and person.roles() & hands]


def refreshers(day: date) -> list[tuple[Person, Told]]:
    """Who must be shown what again: what ends within three months, or ended within the last year, soonest first."""
    # Whose every record ends later, or ended earlier, need not be known: on most days that is everybody.
    if not competence.on_file(ends=(day - timedelta(days=PAST_DAYS), day + timedelta(days=REFRESH_DAYS))):
        return []
    here, known = {person.pk: person for person in volunteers()}, {one.code: one for one in subjects()}
    rows: dict[tuple[UUID, str], list[Competence]] = {}
    for row in competence.on_file(here):
        if row.step in known:
            rows.setdefault((row.person_id, row.step), []).append(row)
    told = [(here[person], _told(known[step], of_step, day)) for (person, step), of_step in rows.items()]
    due = [(person, one) for person, one in told if one.soon or (one.stands == "past" and one.row is not None and (day - one.row.valid_to).days <= PAST_DAYS)]
    return sorted(due, key=lambda pair: pair[1].row.valid_to if pair[1].row else day)


def gaps_of_induction(day: date) -> list[tuple[Person, list[Told]]]:
    """Who has not been told everything of the first day, or not since it ended; curators, who tell it, are not asked for."""
    learners = [person for person in volunteers() if Role.CURATOR not in person.roles()]
    found = [(person, [told for told in induction(person.pk, day) if told.stands != "in_force"]) for person in learners]
    return [(person, missing) for person, missing in found if missing]


def teachers(day: date, *, but: UUID | None = None) -> Mapping[str, list[Person]]:
    """Subject to the people who can show it today."""
    curators = [person for person in volunteers() if Role.CURATOR in person.roles() and person.pk != but]
    known = subjects()
    found = who_can_show([one.code for one in known], day, but=but)
    return {one.code: found[one.code] if one.step else sorted({*found[one.code], *curators}, key=lambda person: person.name) for one in known}


def who_can_show(codes: Collection[str], day: date, *, but: UUID | None = None) -> dict[str, list[Person]]:
    """The same as `competence.who_can_show` of several at once, in the same few questions however many they are."""
    able: dict[str, set[UUID]] = {code: set() for code in codes}
    for row in competence.on_file():
        if row.step in able and competence.holds(row, day):
            able[row.step].add(row.person_id)
    qualified = Qualification.objects.filter(kind=competence.CONSERVATOR).values_list("person", flat=True).distinct()
    conservators = {key for key, held in competence.qualifications(qualified, day).items() if competence.CONSERVATOR in held}
    wanted = conservators.union(*able.values()) - {but}
    people = [person for person in Person.objects.filter(pk__in=wanted).order_by("name") if person.is_active]
    return {code: [person for person in people if person.pk in conservators or person.pk in able[code]] for code in codes}


def missing_hands(gate: str, step: Step | None) -> bool:
    """Whether a refusal by this gate ends once somebody shows the step, or stands beside."""
    return step is not None and step.competence and (gate == "COMPETENCE" or (gate == "ROLE" and step.gentle))


def to_sign_off() -> "QuerySet[Practice]":
    """Practice that no sign-off of that step has followed, the oldest first."""
    signed = Competence.objects.filter(person=OuterRef("person"), step=OuterRef("step"), recorded_at__gt=OuterRef("recorded_at"), corrected_by=None)
    rows = Practice.objects.filter(corrected_by=None, withdraws=False).filter(~Exists(signed))
    return rows.select_related("person", "beside").order_by("recorded_at")


def held_by(person: UUID) -> list[tuple[str, Qualification]]:
    """The qualifications of a person that count today, in words, with the row that says so."""
    held = competence.qualifications([person], clock.today()).get(person, set())
    rows = {row.kind: row for row in Qualification.objects.filter(person=person, given=True).select_related("by").order_by("recorded_at", "id")}
    return [(str(QUALIFICATIONS(kind).label), rows[kind]) for kind in sorted(held)]
