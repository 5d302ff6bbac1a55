"""What can be done to people and their roles."""

from collections.abc import Iterable
from datetime import date
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from museum import clock
from museum.errors import Invalid
from museum.history.record import lock
from museum.ids import uuid7
from museum.people.action import Act, Personal, action
from museum.people.actions.common import (
    PEOPLE_LOCK,
    changed,
    email_of,
    filled,
    found,
    hashed,
    language_of,
    set_password,
)
from museum.people.models import Person, RoleFact, Society
from museum.people.permissions import ROLE_WORDS, Role
from museum.people.secret import Secret


@action("people.first_act", may="people.manage")
def first_act(act: Act, *, name: str, email: str, password: Secret, society: str, language: str = "en") -> Person:
    """The house begins: its society, and one administrator who is registrar too. Refused once anybody is here."""
    lock(PEOPLE_LOCK)
    if Person.objects.exists():
        raise Invalid(_("Somebody is here already. An administrator adds further people on the page 'People'."))
    house = Society.objects.create(id=Society.KEY, name=filled(society, "society"), language=language_of(language))
    act.wrote("society.made", house, after={"name": house.name, "language": language})
    person = new_person(act, name, email, language, password)
    for role in (Role.ADMINISTRATOR, Role.REGISTRAR):
        _give(act, person, role)
    return person


@action("people.add_person", may="people.manage")
def add_person(
    act: Act,
    *,
    name: str,
    email: str,
    password: Secret,
    language: str = "en",
    roles: Iterable[str] = (),
    kind: str = "",
) -> Person:
    """Somebody new, with a first password and their roles. `kind` says on whose behalf a reader reads."""
    person = new_person(act, name, email, language, password)
    for role in sorted({_role(name) for name in roles}):
        _give(act, person, role, kind=kind if role is Role.READER else "")
    return person


@action("people.change_person", may="people.manage")
def change_person(act: Act, person_id: UUID, *, version: int, name: str, email: str) -> Person:
    """Another name or e-mail. VersionConflict when somebody else changed the person meanwhile."""
    mine = {"name": filled(name, "name"), "email": email_of(email, but=person_id)}
    return changed(act, person_id, version, mine)


@action("people.give_role", may="people.manage")
def give_role(act: Act, person_id: UUID, role: str, *, kind: str = "", until: date | None = None) -> RoleFact:
    """A role, from today, perhaps to a day. A reader's kind says on whose behalf they read."""
    return _give(act, found(person_id), _role(role), kind=kind, until=until)


@action("people.end_role", may="people.manage")
def end_role(act: Act, person_id: UUID, role: str, *, reason: str = "") -> RoleFact:
    """Takes a role back. The last administrator keeps theirs."""
    lock(PEOPLE_LOCK)
    person, ended = found(person_id), _role(role)
    if ended not in person.roles():
        raise Invalid(_("%(name)s does not hold this role."), field="role", name=person.name)
    if ended is Role.ADMINISTRATOR:
        _demand_another_administrator(person)
    fact = RoleFact.objects.create(act_id=act.id, person=person, role=ended.value, given=False, recorded_at=act.now)
    act.wrote("role.ended", person, before={"role": ended}, reason=reason, about=[person])
    return fact


@action("people.mark_left", may="people.manage")
def mark_left(act: Act, person_id: UUID, *, version: int, on: date, reason: str = "") -> Person:
    """From this day on the person cannot sign in; wherever they are signed in, they are signed out. Their acts stay."""
    lock(PEOPLE_LOCK)
    person = found(person_id)
    if Role.ADMINISTRATOR in person.roles():
        _demand_another_administrator(person)
    return changed(act, person_id, version, {"left_on": on}, what="person.left", reason=reason)


@action("people.mark_back", may="people.manage")
def mark_back(act: Act, person_id: UUID, *, version: int, reason: str = "") -> Person:
    """The person is here again, with the roles that they held."""
    return changed(act, person_id, version, {"left_on": None}, what="person.back", reason=reason)


@action("people.give_password", may="people.manage")
def give_password(act: Act, person_id: UUID, *, password: Secret) -> Person:
    """A new password for somebody who has forgotten theirs; all their sessions end."""
    person = found(person_id)
    return set_password(act, person, password, "password")


def _role(name: str) -> Role:
    try:
        return Role(name)
    except ValueError:
        roles = ", ".join(Role)
        raise Invalid(_("'%(given)s' is no role. The roles are: %(roles)s."), field="role", given=name, roles=roles) from None


def new_person(act: Act, name: str, email: str, language: str, password: Secret, *, key: UUID | None = None) -> Person:
    """Somebody new without a role, in an act that gives it or needs none. Raises Invalid."""
    person = Person(id=key or uuid7(), name=filled(name, "name"), email=email_of(email), language=language_of(language))
    person.password = hashed(password, person, "password")
    person.save(force_insert=True)
    after = {"name": Personal(person.name), "email": Personal(person.email), "language": language}
    act.wrote("person.added", person, after=after, about=[person])
    return person


def _give(act: Act, person: Person, role: Role, *, kind: str = "", until: date | None = None) -> RoleFact:
    if role is Role.READER and kind not in RoleFact.Reader:
        raise Invalid(
            _("Say on whose behalf this person reads: trustee, insurer, auditor, borrower or conservator."),
            field="kind",
        )
    if until is not None and until < clock.today():
        raise Invalid(_("This day has passed. Until when does the role hold?"), field="until")
    fact = RoleFact.objects.create(
        act_id=act.id,
        person=person,
        role=role.value,
        kind=kind if role is Role.READER else "",
        until=until,
        recorded_at=act.now,
    )
    act.wrote("role.given", person, after={"role": role, "kind": fact.kind, "until": until}, about=[person])
    return fact


def _demand_another_administrator(but: Person) -> None:
    """The caller holds the lock of people, taken before the person's own as everywhere."""
    others = Person.objects.with_roles().exclude(pk=but.pk)
    if not any(person.is_active and Role.ADMINISTRATOR in person.roles() for person in others):
        raise Invalid(
            _("%(name)s is the only %(role)s. Give somebody else that role first, so that people can still be added."),
            name=but.name, role=ROLE_WORDS[Role.ADMINISTRATOR],
        )  # fmt: skip
