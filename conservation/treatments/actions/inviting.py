"""Asking a conservator from outside to proposals and things: by mail, with the proposals on paper, until a day."""

from collections.abc import Sequence
from datetime import date
from typing import Final
from uuid import UUID

from django.utils.translation import gettext as _

from collection.objects.models import Object
from conservation.treatments.models import Proposal
from museum.errors import NotFound
from museum.jobs.actions import enqueue
from museum.people import actions as people
from museum.people.action import Act, action
from museum.people.models import Invitation

#: kinds of background work: the mail with the address, and a paper as the reports make it
SEND: Final = "send_invitation"
PAPER: Final = "issue_paper"


@action("treatments.invite_conservator", may="invitation.make")
def invite_conservator(
    act: Act, *, invitation_id: UUID, name: str, email: str, things: Sequence[UUID], until: date, evidence: str, words: str = ""
) -> Invitation:  # fmt: skip
    """Invites a conservator to these things, sends the mail, and has the open proposals of them put on paper. Raises NotFound, Invalid."""
    seen = Object.objects.visible_to(act.actor).select_related("card").filter(pk__in=things)
    if len(seen) != len(set(things)):
        raise NotFound
    row = people.invite(act, invitation_id=invitation_id, name=name, email=email, things=things, until=until, evidence=evidence, words=words)
    enqueue(act, SEND, act.actor.someone, {"invitation": row.pk}, _("Invitation by mail"))
    for proposal in Proposal.objects.filter(object__in=seen, state=Proposal.State.WAITING).select_related("object__card").order_by("sent_at"):
        _on_paper(act, proposal)
    return row


def _on_paper(act: Act, proposal: Proposal) -> None:
    """The proposal as a paper, as if the person had asked for it."""
    arguments = {"document": "treatment_proposal", "subject": proposal.pk, "issued_to": "", "supersedes": None, "options": {}}
    title = _("Treatment proposal, %(number)s %(name)s") % {"number": proposal.object.card.number, "name": proposal.object.card.name}
    enqueue(act, PAPER, act.actor.someone, arguments, title)
