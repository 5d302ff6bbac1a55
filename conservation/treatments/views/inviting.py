"""Invitations of conservators from outside: the list, a new one, taking one back; and the paper of a proposal for whoever may see it."""

from uuid import UUID

from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from collection.objects.models import Card
from conservation.treatments import reading as read
from conservation.treatments.actions.inviting import invite_conservator
from conservation.treatments.forms.inviting import InviteForm
from conservation.treatments.views.common import carried_out, paper_of, seen_proposals
from museum.delivery import attachment
from museum.errors import NotFound
from museum.ids import uuid7
from museum.papers.files import open_file
from museum.people import actions as people
from museum.people.doors import actor_of, needs
from museum.people.invitations import address_of
from museum.people.models import Invitation

#: so many are listed, those that stand first
SHOWN = 50


@require_safe
@needs("invitation.make")
def invitations(request: HttpRequest) -> HttpResponse:
    """Who is invited to what until when, those that stand first; each open one with its address, to hand over where no mail came."""
    rows = sorted(Invitation.objects.select_related("person", "made_by").order_by("-made_at")[:SHOWN], key=lambda row: not row.is_open)
    cards = {card.object_id: card for card in Card.objects.visible_to(actor_of(request)).filter(object__in={key for row in rows for key in row.things})}
    told = [(row, [cards[key] for key in row.things if key in cards], address_of(row) if row.is_open and not row.person_id else "") for row in rows]
    return render(request, "treatments/invitations.html", {"rows": told})


@require_http_methods(["GET", "HEAD", "POST"])
@needs("invitation.make")
def invite(request: HttpRequest) -> HttpResponse:
    """The form; sent, the mail goes out and the open proposals are put on paper."""
    actor, asked = actor_of(request), read.key_or_none(request.GET, "thing")
    form = InviteForm(request.POST if request.method == "POST" else None, reader=actor, asked=asked)
    if form.is_valid():
        key = read.key_or_none(request.POST, "id") or uuid7()
        if form.carry_out(lambda: invite_conservator(actor.keyed(key), invitation_id=key, **form.cleaned_data)) is not None:
            return redirect("treatments:invitations")
    return render(request, "treatments/invite.html", {"form": form})


@require_POST
@needs("invitation.make")
def end_invitation(request: HttpRequest, invitation_id: UUID) -> HttpResponse:
    """Takes one back."""
    sent = request.POST
    version = read.number_or_none(sent, "version") or 0
    carried_out(
        request,
        lambda: people.end_invitation(actor_of(request), invitation_id, version=version, reason=sent.get("reason", "")),
        _("Taken back. It opens nothing any more."),
    )
    return redirect("treatments:invitations")


@require_safe
@needs("treatment.see")
def paper(request: HttpRequest, proposal_id: UUID) -> FileResponse:
    """The newest paper of a proposal, for whoever may see the proposal."""
    row = seen_proposals(actor_of(request)).filter(pk=proposal_id).first()
    found = paper_of(row) if row else None
    if found is None:
        raise NotFound
    return attachment(open_file(found.file), name=found.file.name, media_type=found.file.media_type)
