"""What the actions of this part share."""

from typing import Any, Final, TypeVar
from uuid import UUID

from django.conf import settings
from django.contrib.auth.hashers import make_password
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.utils.translation import gettext_lazy as _

from museum.errors import Invalid, NotFound
from museum.history.models import Record
from museum.history.record import lock
from museum.people.action import Act, Personal, claim_version
from museum.people.models import Person
from museum.people.secret import Secret

#: held by whatever could leave the house without an administrator, or with two first ones
PEOPLE_LOCK: Final = "people"

R = TypeVar("R", bound=Record)


def found(person_id: UUID | None) -> Person:
    """The person, locked."""
    person = Person.objects.select_for_update().filter(pk=person_id).first() if person_id is not None else None
    if person is None:
        raise NotFound
    return person


def filled(text: str, field: str) -> str:
    """The text with single spaces. Raises Invalid where nothing is left."""
    if not (text := " ".join(text.split())):
        raise Invalid(_("This is empty. A name is needed to go on."), field=field)
    return text


def email_of(text: str, *, but: UUID | None = None) -> str:
    """A usable address that nobody else here has."""
    text = text.strip().lower()
    try:
        validate_email(text)
    except ValidationError:
        raise Invalid(_("'%(given)s' is no e-mail address. One looks like name@example.org."), field="email", given=text) from None
    lock(PEOPLE_LOCK)
    holder = Person.objects.filter(email__iexact=text).first()
    if holder is not None and holder.pk != but:
        raise Invalid(_("Somebody with this e-mail is here already. Two people cannot share one."), field="email")
    return text


def language_of(code: str) -> str:
    """A language that the program speaks."""
    if code not in dict(settings.LANGUAGES):
        raise Invalid(_("The program does not speak '%(given)s'."), field="language", given=code)
    return code


def hashed(password: Secret, person: Person, field: str) -> str:
    """The password as it is kept. Raises Invalid where it is too weak for this person."""
    try:
        validate_password(password.text, person)
    except ValidationError as error:
        raise Invalid(" ".join(error.messages).replace("%", "%%"), field=field) from None
    return make_password(password.text)


def set_password(act: Act, person: Person, password: Secret, field: str) -> Person:
    """Another password; every session of the person ends with it. Raises Invalid."""
    person.password = hashed(password, person, field)
    person.save(update_fields=["password"])
    act.wrote("person.password", person, about=[person])
    return person


def changed(act: Act, person_id: UUID, version: int, mine: dict[str, Any], *, what: str = "person.changed", reason: str = "") -> Person:
    """A change of the person from the version that was seen. Raises NotFound, VersionConflict."""
    found(person_id)
    return written(act, claim_version(Person.objects.all(), person_id, version, mine), mine, what, reason)


def written(act: Act, row: R, mine: dict[str, Any], what: str, reason: str = "") -> R:
    """Takes over what differs, and tells the history before and after of just that."""
    before = {name: getattr(row, name) for name, value in mine.items() if getattr(row, name) != value}
    if not before:
        return row
    for name in before:
        setattr(row, name, mine[name])
    row.version += 1
    row.save()
    after = {name: mine[name] for name in before}
    act.wrote(what, row, before=_told(row, before), after=_told(row, after), reason=reason, about=[row])
    return row


def _told(row: Record, values: dict[str, Any]) -> dict[str, Any]:
    """A person's name and e-mail stay out of the hashed part."""
    if not isinstance(row, Person):
        return values
    return {name: Personal(value) if name in {"name", "email"} else value for name, value in values.items()}
