"""What people can do to their own accounts."""

from django.contrib.auth.hashers import check_password, make_password
from django.utils.translation import gettext_lazy as _

from museum.errors import Forbidden, Invalid
from museum.people.action import Act, action
from museum.people.actions.common import changed, found, language_of, set_password
from museum.people.models import Person
from museum.people.secret import Secret


@action("people.change_password", may="account.own")
def change_password(act: Act, *, old: Secret, new: Secret) -> Person:
    """One's own password, against the old one. Doors look at the old one first, by `session.proves`, which counts wrong ones."""
    _on_ones_own(act)
    person = found(act.actor.person)
    if not check_password(old.text, person.password):
        raise Invalid(_("This is not your present password. It was not changed."), field="old")
    return set_password(act, person, new, "new")


@action("people.set_pin", may="account.own")
def set_pin(act: Act, *, pin: Secret) -> Person:
    """One's own PIN for a shared tablet; an empty one takes it away. Doors ask for the password before."""
    _on_ones_own(act)
    person = found(act.actor.person)
    digits = pin.text
    if digits and not (digits.isascii() and digits.isdigit() and 4 <= len(digits) <= 8 and len(set(digits)) > 1):
        raise Invalid(_("A PIN has 4 to 8 digits, not all the same."), field="pin")
    person.pin = make_password(digits) if digits else ""
    person.save(update_fields=["pin"])
    act.wrote("person.pin", person, after={"set": bool(digits)}, about=[person])
    return person


def _on_ones_own(act: Act) -> None:
    if act.actor.tablet:
        raise Forbidden(_("Passwords and PINs are not typed on a shared tablet. Sign in on a device of your own."))


@action("people.change_own_account", may="account.own")
def change_own_account(act: Act, *, version: int, language: str, mail_reminders: bool) -> Person:
    """One's own language, and whether reminders come by mail."""
    person = found(act.actor.person)
    return changed(
        act,
        person.pk,
        version,
        {"language": language_of(language), "mail_reminders": mail_reminders},
        what="account.changed",
    )
