"""Where the address of an invitation leads: a password of one's own, and in."""

from django.contrib import messages
from django.contrib.auth import authenticate
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from museum.errors import SignedOut
from museum.ids import uuid7
from museum.people import actions, session
from museum.people.actor import Actor
from museum.people.doors import actor_of, to_sign_in
from museum.people.forms import AcceptForm, Entry
from museum.people.invitations import guest_of, invitation_of
from museum.people.models import Invitation, Person, Society
from museum.people.secret import Secret


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def invited(request: HttpRequest, token: str) -> HttpResponse:
    """Who is invited, by whom, until when; accepted with a name and a password, or, by somebody who is here already, with one button."""
    invitation = invitation_of(token)
    if invitation.person is not None:
        return redirect("desk:today")
    try:
        by = guest_of(invitation, actor_of(request), uuid7())
    except SignedOut:
        return to_sign_in(request)
    known = by.person == actor_of(request).person
    typed = request.POST if request.method == "POST" else None
    form: Entry = Entry(typed) if known else AcceptForm(typed, initial={"name": invitation.name})
    if request.method == "POST" and form.is_valid() and _accepted(request, invitation, form, by):
        messages.success(request, _("Welcome. What you were asked to look at stands below."))
        return redirect("desk:today")
    return render(request, "people/invited.html", {"invitation": invitation, "form": form, "known": known, "society": Society.load()})


def _accepted(request: HttpRequest, invitation: Invitation, form: Entry, by: Actor) -> bool:
    name, password = form.cleaned_data.get("name", ""), form.cleaned_data.get("password")
    row = form.carry_out(lambda: actions.accept_invitation(by, invitation.pk, name=name, password=Secret(password) if password else None))
    if row is None or row.person is None:
        return False
    if password and isinstance(person := authenticate(request, username=row.person.email, password=password), Person):
        session.begin(request, person)
    return True
