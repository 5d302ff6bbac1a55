"""Qualifications put on file, and what people were shown: by whom, on what day, how long it holds."""

from datetime import date
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from museum import clock
from museum.errors import Forbidden, Invalid, NotFound
from museum.history.record import lock
from museum.people import competence
from museum.people.action import Act, action
from museum.people.actions.common import found
from museum.people.models import Competence, CompetenceMark, Person, Qualification, RoleFact
from museum.people.permissions import Role


@action("people.give_qualification", may="qualification.give")
def give_qualification(act: Act, person_id: UUID, kind: str, *, evidence: str, until: date | None = None) -> Qualification:
    """Puts on file that a person is a conservator or a licensed specialist, and what was seen of it; another person does so."""
    person, by = _two(act, person_id)
    if not evidence.strip():
        raise Invalid(_("Say what was seen: the training, the register, the licence."), field="evidence")
    if until is not None and until < clock.today():
        raise Invalid(_("This day has passed. Until when does it hold?"), field="until")
    return put_qualification(act, person, by, _kind(kind), given=True, evidence=evidence.strip(), until=until)


@action("people.end_qualification", may="qualification.give")
def end_qualification(act: Act, person_id: UUID, kind: str, *, reason: str) -> Qualification:
    """Takes it off file from today; what was done under it stays."""
    person, by = _two(act, person_id)
    if not competence.qualified(person.pk, _kind(kind), clock.today()):
        raise Invalid(_("%(name)s does not hold this qualification."), field="kind", name=person.name)
    return put_qualification(act, person, by, kind, given=False, evidence=_reason(reason), until=None)


@action("people.record_shown", may="competence.show")
def record_shown(act: Act, person_id: UUID, step: str, *, shown_by: UUID, on: date, valid_to: date, evidence: str = "") -> Competence:
    """A teacher's sign-off: this person was shown this step and can do it.

    The teacher is another person, competent in the step on that day or a conservator, and signs themselves; a
    curator may write down what somebody else showed, with the evidence. Topics of the induction are told by a curator or
    by whoever was told them.
    """
    person, teacher = found(person_id), _person(shown_by)
    _days(on, valid_to)
    if teacher.pk == person.pk:
        raise Invalid(_("Nobody signs for themselves. Name the person who showed it."), field="shown_by")
    if act.actor.someone != teacher.pk:
        _demand_scribe(act, person, evidence)
    if not _may_teach(teacher, step, on):
        raise Invalid(
            _("%(name)s cannot sign for this: on that day their own competence was not in force, and they are no conservator."),
            field="shown_by",
            name=teacher.name,
        )
    return _competence(act, person, step, on, valid_to, shown_by=teacher, evidence=evidence.strip())


@action("people.record_practice", may="competence.show")
def record_practice(act: Act, person_id: UUID, step: str, *, on: date, valid_to: date, practice: str, second_later: bool = False) -> Competence:
    """What a person has long done: the evidence in words. It counts once another person has signed.

    The one curator of a society may let the second signature follow, and only for themselves.
    """
    person = found(person_id)
    _days(on, valid_to)
    if act.actor.someone != person.pk and Role.CURATOR not in act.actor.roles:
        raise Forbidden(_("A person tells of their own practice, or a curator does."))
    if not practice.strip():
        raise Invalid(_("Say what was done and how long, and where pictures of it are."), field="practice")
    if second_later:
        _demand_one_curator(act, person)
    return _competence(act, person, step, on, valid_to, practice=practice.strip(), second_later=second_later)


@action("people.sign_practice", may="competence.sign")
def sign_practice(act: Act, competence_id: UUID) -> CompetenceMark:
    """Another person signs for somebody's prior practice: a curator, a board member, a conservator."""
    row, by = _on_file(competence_id), _person(act.actor.someone)
    if row.person_id == by.pk:
        raise Invalid(_("Nobody signs for themselves."))
    if Role.CURATOR not in act.actor.roles and competence.read_for(by.pk) not in (RoleFact.Reader.TRUSTEE, RoleFact.Reader.CONSERVATOR):
        raise Forbidden(_("A curator, a board member or a conservator signs for prior practice."))
    if row.shown_by_id is not None:
        raise Invalid(_("Somebody has shown this and signed for it already."))
    return _mark(act, row, by, CompetenceMark.Sort.SIGNED)


@action("people.end_competence", may="competence.end")
def end_competence(act: Act, competence_id: UUID, *, reason: str) -> CompetenceMark:
    """Ends a competence from today, with the reason. What was done under it stays."""
    return _mark(act, _on_file(competence_id), _person(act.actor.someone), CompetenceMark.Sort.ENDED, _reason(reason))


def _two(act: Act, person_id: UUID) -> tuple[Person, Person]:
    person, by = found(person_id), _person(act.actor.someone)
    if person.pk == by.pk:
        raise Invalid(_("Nobody puts their own qualification on file. Another curator or administrator does."))
    return person, by


def _person(person_id: UUID) -> Person:
    person = Person.objects.filter(pk=person_id).first()
    if person is None:
        raise NotFound
    return person


def _kind(kind: str) -> str:
    if kind not in Qualification.Kind:
        raise Invalid(_("'%(given)s' is no qualification that this program knows."), field="kind", given=kind)
    return kind


def _reason(reason: str) -> str:
    if not reason.strip():
        raise Invalid(_("Say why."), field="reason")
    return reason.strip()


def _days(on: date, valid_to: date) -> None:
    if on > clock.today():
        raise Invalid(_("This day is still to come. On what day was it?"), field="on")
    if valid_to < on:
        raise Invalid(_("It would end before it began. To what day does it hold?"), field="valid_to")


def _demand_scribe(act: Act, person: Person, evidence: str) -> None:
    if Role.CURATOR not in act.actor.roles or act.actor.someone == person.pk:
        raise Forbidden(_("The person who showed it signs for it; a curator may write down what somebody else showed."))
    if not evidence.strip():
        raise Invalid(_("You sign for somebody else: say what you know it from, a workshop's paper or a letter."), field="evidence")


def _may_teach(teacher: Person, step: str, on: date) -> bool:
    if competence.can(teacher.pk, step, on):
        return True
    if step in competence.INDUCTION:
        return Role.CURATOR in teacher.roles()
    return competence.qualified(teacher.pk, competence.CONSERVATOR, on)


def _demand_one_curator(act: Act, person: Person) -> None:
    curators = [one for one in Person.objects.with_roles() if one.is_active and Role.CURATOR in one.roles()]
    if [one.pk for one in curators] != [person.pk] or act.actor.someone != person.pk:
        raise Invalid(_("The second signature may follow later only where a society has one curator, for that curator's own practice."), field="second_later")


def _on_file(competence_id: UUID) -> Competence:
    row = Competence.objects.filter(pk=competence_id, corrected_by=None, withdraws=False).first()
    if row is None or row.marks.filter(sort=CompetenceMark.Sort.ENDED).exists():
        raise NotFound
    return row


def put_qualification(act: Act, person: Person, by: Person, kind: str, *, given: bool, evidence: str, until: date | None) -> Qualification:
    row = Qualification.objects.create(act_id=act.id, person=person, by=by, kind=kind, given=given, evidence=evidence, until=until, recorded_at=act.now)
    what = "qualification.given" if given else "qualification.ended"
    act.wrote(what, person, after={"kind": kind, "until": until}, reason="" if given else evidence, about=[person])
    return row


def _competence(
    act: Act,
    person: Person,
    step: str,
    on: date,
    valid_to: date,
    *,
    shown_by: Person | None = None,
    practice: str = "",
    second_later: bool = False,
    evidence: str = "",
) -> Competence:
    row = Competence.objects.create(
        act_id=act.id, person=person, step=step, happened_on=on, valid_to=valid_to, shown_by=shown_by, practice=practice,
        second_later=second_later, evidence=evidence, recorded_at=act.now,
    )  # fmt: skip
    after = {"step": step, "on": on, "valid_to": valid_to, "shown_by": shown_by.pk if shown_by else None}
    act.wrote("competence.shown" if shown_by else "competence.practised", row, after=after, about=[person, *([shown_by] if shown_by else [])])
    return row


def _mark(act: Act, row: Competence, by: Person, sort: str, reason: str = "") -> CompetenceMark:
    lock(f"competence:{row.pk}")
    if (before := row.marks.filter(sort=sort).first()) is not None:
        return before
    mark = CompetenceMark.objects.create(act_id=act.id, competence=row, sort=sort, by=by, reason=reason, recorded_at=act.now)
    act.wrote(f"competence.{sort}", row, after={"step": row.step}, reason=reason, about=[("person", row.person_id), by])
    return mark
