"""Inviting somebody from outside to certain things: asked, accepted, taken back."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Final
from uuid import UUID

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.utils.translation import gettext_lazy as _

from museum import clock
from museum.errors import Invalid, NotFound
from museum.people import competence
from museum.people.action import Act, action, claim_version
from museum.people.actions.common import filled, found
from museum.people.actions.competence import put_qualification
from museum.people.actions.people import new_person
from museum.people.models import Invitation, Person, Qualification
from museum.people.secret import Secret

#: no invitation lasts longer
LONGEST: Final = timedelta(days=366)


@action("people.invite", may="invitation.make")
def invite(act: Act, *, invitation_id: UUID, name: str, email: str, things: Sequence[UUID], until: date, evidence: str, words: str = "") -> Invitation:
    """Asks a conservator from outside to these things. Whoever holds a role here needs no invitation. Raises Invalid."""
    address, until = invited_address(email), invited_until(until)
    if not evidence.strip():
        raise Invalid(_("Say how you know that this is a conservator: the training, the register."), field="evidence")
    if not things:
        raise Invalid(_("Choose what the invitation is about."), field="things")
    row = Invitation.objects.create(
        id=invitation_id, name=filled(name, "name"), email=address, things=sorted(set(things)), words=words.strip(), evidence=evidence.strip(), until=until,
        made_by_id=act.actor.someone, made_at=act.now,
    )  # fmt: skip
    _tell(act, row, "invitation.made", after={"until": until})
    return row


@action("people.accept_invitation", may="account.own")
def accept_invitation(act: Act, invitation_id: UUID, *, name: str = "", password: Secret | None = None) -> Invitation:
    """Accepts an invitation for oneself; who is not here yet comes in with a name and a password of their own, and without a role.

    The qualification goes on file for as long as the invitation, in the name of who invited. Raises NotFound, Invalid.
    """
    row = Invitation.objects.select_for_update(of=("self",)).select_related("made_by").filter(pk=invitation_id).first()
    if row is None or not row.is_open:
        raise NotFound
    if row.person_id is not None:
        raise Invalid(_("This invitation is accepted already. Sign in with your e-mail and your password."))
    row.person = Person.objects.filter(pk=act.actor.someone).first() or _comes_in(act, row, name, password)
    if row.person.email != row.email:
        raise NotFound
    if not _qualified_until(row.person, row.until):
        kind = Qualification.Kind.CONSERVATOR
        row.qualification = put_qualification(act, row.person, row.made_by, kind, given=True, evidence=row.evidence, until=row.until)
    row.accepted_at, row.name, row.email, row.version = act.now, "", "", row.version + 1
    row.save()
    _tell(act, row, "invitation.accepted", about=[row.person])
    return row


@action("people.end_invitation", may="invitation.make")
def end_invitation(act: Act, invitation_id: UUID, *, version: int, reason: str = "") -> Invitation:
    """Takes an invitation back: from now on it opens nothing, and what it put on file of the person ends with it. What they did stays."""
    row = claim_version(Invitation.objects.all(), invitation_id, version, {"ended_at": act.now})
    if row.ended_at is not None:
        raise Invalid(_("This invitation was taken back before."))
    row.ended_at, row.name, row.email, row.version = act.now, "", "", row.version + 1
    row.save()
    _tell(act, row, "invitation.ended", reason=reason.strip(), about=[row.person] if row.person else [])
    if row.person is not None and _brought_by_invitation(row.person):
        _settle_qualification(act, row.person)
    return row


def invited_until(until: date) -> date:
    """A last day that an invitation can have. Raises Invalid."""
    if not clock.today() <= until <= clock.today() + LONGEST:
        raise Invalid(_("Choose a last day from today on, at most a year away."), field="until")
    return until


def invited_address(email: str) -> str:
    """The address of somebody who can be invited. Raises Invalid."""
    address = _address(email)
    holder = Person.objects.with_roles().filter(email__iexact=address).first()
    if holder is not None and holder.roles():
        raise Invalid(_("%(name)s has a role here already, and an invitation opens things only to somebody without one."), field="email", name=holder.name)
    return address


def _address(email: str) -> str:
    address = email.strip().lower()
    try:
        validate_email(address)
    except ValidationError:
        raise Invalid(_("'%(given)s' is no e-mail address. One looks like name@example.org."), field="email", given=address) from None
    return address


def _comes_in(act: Act, row: Invitation, name: str, password: Secret | None) -> Person:
    if password is None:
        raise Invalid(_("Choose a password, so that you can come back."), field="password")
    return new_person(act, name or row.name, row.email, row.made_by.language, password, key=act.actor.someone)


def _qualified_until(person: Person, day: date) -> bool:
    """Whether the person is a conservator on file today and on that day."""
    kind = competence.CONSERVATOR
    return competence.qualified(person.pk, kind, clock.today()) and competence.qualified(person.pk, kind, day)


def _brought_by_invitation(person: Person) -> bool:
    """Whether what is on file of the person's qualification came with an invitation."""
    rows = Qualification.objects.filter(person=person, kind=competence.CONSERVATOR, corrected_by=None, withdraws=False).order_by("recorded_at", "id")
    last = rows.last()
    return last is not None and last.given and Invitation.objects.filter(qualification=last).exists()


def _settle_qualification(act: Act, person: Person) -> None:
    """The qualification holds as long as the longest invitation that still stands; with none it ends."""
    left = Invitation.objects.in_force().filter(person=person).order_by("until").last()
    by, kind = found(act.actor.someone), Qualification.Kind.CONSERVATOR
    if left is None:
        put_qualification(act, person, by, kind, given=False, evidence=str(_("the invitation ended")), until=None)
    else:
        left.qualification = put_qualification(act, person, left.made_by, kind, given=True, evidence=left.evidence, until=left.until)
        left.save(update_fields=["qualification"])


def _tell(act: Act, row: Invitation, what: str, *, after: object = None, reason: str = "", about: Sequence[Person] = ()) -> None:
    """Names and addresses stay out of the history: it is never erased."""
    act.wrote(what, row, after=after, reason=reason, about=[*(("object", key) for key in row.things), *about])
