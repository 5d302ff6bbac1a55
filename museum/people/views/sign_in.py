"""Signing in and out."""

from typing import Any

from axes.helpers import get_cool_off
from django.contrib.auth import authenticate, logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from museum.people import held, session
from museum.people.doors import actor_of, safe_next
from museum.people.forms import SignInForm
from museum.people.models import Person, Society


@never_cache
def sign_in(request: HttpRequest) -> HttpResponse:
    """E-mail and password. Whoever leaves or mistypes is told the same, so that nobody learns who is here."""
    back = safe_next(request, reverse("desk:today"))
    form = SignInForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        person = authenticate(request, username=form.cleaned_data["email"].lower(), password=form.cleaned_data["password"])
        if isinstance(person, Person):
            session.begin(request, person)
            return redirect("people:held" if held.waiting(request) else back)
        form.add_error(None, _("This e-mail and this password do not go together here. Try again, or ask your administrator."))
    elif request.method == "GET" and actor_of(request).person is not None:
        return redirect(back)
    context = {"form": form, "next": back, "society": Society.load(), "tablet": session.tablet_of(request)}
    return render(request, "people/sign_in.html", context)


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """Ends the session and clears kept pages. What waits on the device to be sent is its author's and stays."""
    page = "people:who" if session.tablet_of(request) else "people:sign_in"
    logout(request)
    response = redirect(page)
    response["Clear-Site-Data"] = '"cache"'
    return response


def locked_out(request: HttpRequest, original: HttpResponse | None, credentials: dict[str, Any] | None) -> HttpResponse:
    """Too many wrong passwords or PINs for one account from one place."""
    cool_off = get_cool_off(request)
    minutes = round(cool_off.total_seconds() / 60) if cool_off else 0
    response = render(request, "people/locked_out.html", {"minutes": minutes}, status=429)
    response["Retry-After"] = str(minutes * 60)
    return response
