"""Erasing what the house need no longer know of somebody. The chain holds digests only, so it verifies afterwards."""

from typing import Final
from uuid import UUID

from axes.utils import reset
from django.utils.translation import gettext_lazy as _

from museum import clock
from museum.errors import Invalid
from museum.history.models import PersonalText, subject_of
from museum.people.action import Act, action
from museum.people.actions.common import found
from museum.people.models import Person

#: a domain that can never be anybody's (RFC 2606)
NOWHERE: Final = "erased.invalid"


@action("people.erase_personal", may="personal.erase")
def erase_personal(act: Act, person_id: UUID, *, reason: str, name_too: bool = False) -> Person:
    """Erases for ever the e-mail, password and PIN of somebody who has left, and every former name and e-mail in the history.

    The name stays beside what they did, unless `name_too`. That it was done, when, by whom and why, stays as an entry.
    Raises Invalid without a reason, for somebody who is still here, and where it was done before.
    """
    if not reason.strip():
        raise Invalid(_("Say why, without naming the person: the reason stays for ever."), field="reason")
    person = found(person_id)
    if person.left_on is None or person.left_on > clock.today():
        raise Invalid(_("%(name)s is still here. Mark the person as left first."), field="person", name=person.name)
    if person.name.casefold() in reason.casefold() or person.email.casefold() in reason.casefold():
        raise Invalid(_("The reason names the person, and it stays for ever. Say it without the name."), field="reason")
    texts = PersonalText.objects.filter(change__subject=subject_of(person))
    if is_erased(person) and not texts.exists() and not (name_too and person.name != _no_name()):
        raise Invalid(_("Nothing is left to erase."), field="person")
    erased, _by_table = texts.delete()
    reset(username=person.email)
    person.email = f"{person.pk}@{NOWHERE}"
    person.name = _no_name() if name_too else person.name
    person.pin, person.mail_reminders = "", False
    person.set_unusable_password()
    person.version += 1
    person.save()
    act.wrote("personal.erased", person, after={"texts": erased, "name_too": name_too}, reason=reason.strip(), about=[person])
    return person


def is_erased(person: Person) -> bool:
    """Whether the e-mail was erased."""
    return person.email.endswith(f"@{NOWHERE}")


def _no_name() -> str:
    return str(_("Somebody who has left"))
