"""The mail that brings an invitation. Sent again it is the same mail: the same address, the same Message-ID."""

from django.conf import settings
from django.core.mail import EmailMessage
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from museum.errors import DomainError
from museum.people.invitations import address_of
from museum.people.models import Invitation, Society


class MailNotTaken(DomainError):
    """The mail server did not answer, or did not take the mail."""

    code = "mail_not_taken"
    template = gettext_lazy("The mail server did not take the mail. Try again, or hand the address of the invitation over yourself.")


def send(invitation: Invitation) -> bool:
    """Sends it unless it is accepted, ended or past. Raises MailNotTaken."""
    if invitation.person_id is not None or not invitation.is_open:
        return False
    try:
        _message(invitation).send()
    except OSError as error:
        raise MailNotTaken from error
    return True


def _message(invitation: Invitation) -> EmailMessage:
    society = Society.load()
    with translation.override(society.language):
        subject = _("%(society)s asks for a conservator's word") % {"society": society.name}
        body = render_to_string("treatments/invitation_mail.txt", {"invitation": invitation, "society": society, "address": address_of(invitation)})
    host = settings.DEFAULT_FROM_EMAIL.rpartition("@")[2]
    headers = {"Message-ID": f"<invitation-{invitation.pk}@{host}>"}
    return EmailMessage(subject, body, settings.DEFAULT_FROM_EMAIL, [invitation.email], headers=headers)
