"""The address by which an invitation is accepted: signed, so that nobody guesses one and nothing secret is stored."""

from dataclasses import replace
from typing import Final
from uuid import UUID

from django.conf import settings
from django.core import signing
from django.urls import reverse

from museum.errors import NotFound, SignedOut
from museum.people.actor import NOBODY, Actor
from museum.people.models import Invitation, Person

SALT: Final = "museum.people.invitation"


def address_of(invitation: Invitation) -> str:
    """Where the invitation is accepted."""
    return settings.SITE_URL + reverse("people:invited", args=[signing.Signer(salt=SALT).sign(str(invitation.pk))])


def invitation_of(token: str) -> Invitation:
    """The open invitation of an address. Raises NotFound for an address that was altered, and for one taken back or past its day."""
    try:
        key = UUID(signing.Signer(salt=SALT).unsign(token))
    except (signing.BadSignature, ValueError):
        raise NotFound from None
    found = Invitation.objects.select_related("person", "made_by").filter(pk=key).first()
    if found is None or not found.is_open:
        raise NotFound
    return found


def guest_of(invitation: Invitation, asks: Actor, key: UUID) -> Actor:
    """Whoever holds the address of an invitation, in the moment of accepting it: somebody new under `key`, or who is here with that e-mail.

    Raises SignedOut for somebody who is here already and not signed in.
    """
    known = invitation.person_id or Person.objects.filter(email=invitation.email).values_list("pk", flat=True).first()
    if known is not None and invitation.person_id is None and known != asks.person:
        raise SignedOut
    return replace(NOBODY, person=known or key, name=invitation.guest, invited=frozenset(invitation.things))
