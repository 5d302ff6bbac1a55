"""The second proof at sign-in: a code that the person's phone shows, or one of the codes kept on paper."""

from collections.abc import Iterable
from uuid import UUID

from django.utils.translation import gettext_lazy as _
from django_otp import devices_for_user
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken
from django_otp.plugins.otp_totp.models import TOTPDevice

from museum.errors import Forbidden, Invalid
from museum.people.action import Act, action
from museum.people.actions.common import found
from museum.people.actor import Actor
from museum.people.models import Person
from museum.people.secret import Secret


@action("people.enrol_second_factor", may="account.own")
def enrol_second_factor(act: Act, *, key: Secret, recovery: Iterable[Secret]) -> Person:
    """The phone that holds this key (hex) proves the person from now on; each recovery code does so once.

    Raises Forbidden on a shared tablet.
    """
    demand_own_device(act.actor)
    person = found(act.actor.person)
    _forget(person)
    TOTPDevice.objects.create(user=person, name="phone", key=key.text)
    paper = StaticDevice.objects.create(user=person, name="paper")
    StaticToken.objects.bulk_create(StaticToken(device=paper, token=code.text) for code in recovery)
    act.wrote("second_factor.enrolled", person, about=[person])
    return person


@action("people.take_second_factor", may="people.manage")
def take_second_factor(act: Act, person_id: UUID, *, reason: str) -> Person:
    """For somebody who has lost phone and paper: at the next sign-in they enrol anew."""
    if not reason.strip():
        raise Invalid(_("Say why, and how you made sure that it was this person who asked."), field="reason")
    person = found(person_id)
    _forget(person)
    act.wrote("second_factor.taken", person, reason=reason, about=[person])
    return person


def demand_own_device(actor: Actor) -> None:
    """Raises Forbidden on a tablet that others use too."""
    if actor.tablet:
        raise Forbidden(_("A PIN is too little for this. Sign in with your password on a device of your own."))


def _forget(person: Person) -> None:
    for device in devices_for_user(person, confirmed=None):
        device.delete()
