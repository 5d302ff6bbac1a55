"""The shared tablet: making a browser one, ending it, and changing person by one tap and a PIN."""

from typing import cast
from uuid import UUID

from django.contrib import messages
from django.contrib.auth import authenticate, logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache

from museum.errors import Forbidden
from museum.people import actions, held, session
from museum.people.actor import Actor
from museum.people.doors import actor_of, needs, safe_next, signed_in
from museum.people.forms import EndTabletForm, PinForm, TabletForm
from museum.people.models import Person, Tablet
from museum.people.permissions import TABLET_ROLES


@never_cache
def who(request: HttpRequest) -> HttpResponse:
    """Who are you? The names of those who have a PIN; a tap on one asks for it."""
    if session.tablet_of(request) is None:
        return redirect("people:sign_in")
    back = safe_next(request, reverse("desk:today"))
    people = _people_with_pin()
    chosen = _chosen(people, request.POST.get("person") or request.GET.get("person") or "")
    form = PinForm(request.POST or None, initial={"person": chosen and chosen.id})
    if request.method == "POST" and form.is_valid() and chosen is not None:
        person = authenticate(request, username=chosen.email, pin=form.cleaned_data["pin"])
        if isinstance(person, Person):
            session.begin(request, person)
            return redirect("people:held" if held.waiting(request) else back)
        form.add_error("pin", _("This is not the PIN of %(name)s.") % {"name": chosen.name})
    return render(request, "people/who.html", {"people": people, "chosen": chosen, "form": form, "next": back})


@signed_in
def tablet(request: HttpRequest) -> HttpResponse:
    """Makes this browser a shared tablet, or shows what it is and the others."""
    here = session.tablet_of(request)
    if here is not None:
        return _end_here(request, here)
    actor_of(request).demand("tablet.share")
    form = TabletForm(request.POST or None)
    if request.method == "POST" and form.is_valid() and (made := _share(request, form)) is not None:
        logout(request)
        response = redirect("people:who")
        session.make_tablet(response, made)
        return response
    tablets = Tablet.objects.filter(ended_on=None).order_by("name")
    return render(request, "people/tablet.html", {"form": form, "tablets": tablets})


@needs("tablet.share")
def end_tablet(request: HttpRequest, tablet_id: UUID) -> HttpResponse:
    """Ends a tablet that is not at hand: lost, or given away."""
    if request.method == "POST":
        actions.end_tablet(actor_of(request), tablet_id, reason=request.POST.get("reason", ""))
        messages.success(request, _("It is shared no more."))
    return redirect("people:tablet")


def _share(request: HttpRequest, form: TabletForm) -> Tablet | None:
    return form.carry_out(lambda: actions.share_tablet(actor_of(request), name=form.cleaned_data["name"]))


def _end_here(request: HttpRequest, here: Tablet) -> HttpResponse:
    """A PIN is too little to undo it: the password is asked, and the person's whole roles count."""
    person = cast(Person, request.user)
    form = EndTabletForm(request.POST or None)
    whole = Actor.of(person, device=session.device_of(request))
    if request.method == "POST" and form.is_valid():
        if not session.proves(request, form.cleaned_data["password"]):
            form.add_error("password", _("This is not your password."))
        elif not whole.may("tablet.share"):
            raise Forbidden(_("A curator or an administrator can end this."))
        else:
            actions.end_tablet(whole, here.id)
            logout(request)
            response = redirect("people:sign_in")
            session.unmake_tablet(response)
            return response
    return render(request, "people/tablet_here.html", {"form": form, "here": here, "may": whole.may("tablet.share")})


def _people_with_pin() -> list[Person]:
    people = Person.objects.with_roles().exclude(pin="")
    able = [person for person in people if person.is_active and person.roles() & TABLET_ROLES]
    return sorted(able, key=lambda person: person.name.casefold())


def _chosen(people: list[Person], key: str) -> Person | None:
    return next((person for person in people if str(person.id) == key), None)
