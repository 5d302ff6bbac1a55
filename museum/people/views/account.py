"""One's own account."""

from typing import Any, cast

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from museum.people import actions, session
from museum.people.actor import Actor
from museum.people.doors import actor_of, needs
from museum.people.forms import AccountForm, Entry, PasswordForm, SetPinForm, ThemeForm
from museum.people.models import Person
from museum.people.permissions import ROLE_WORDS, SECOND_FACTOR_ROLES
from museum.people.secret import Secret


@needs("account.own")
def account(request: HttpRequest) -> HttpResponse:
    """Language, reminders, light or dark, PIN and password: a form each, so that one mistake keeps the others."""
    person = cast(Person, request.user)
    forms: dict[str, Entry] = {
        "settings": AccountForm(initial={"version": person.version, "language": person.language, "mail_reminders": person.mail_reminders}),
        "theme": ThemeForm(initial={"theme": request.COOKIES.get("theme", "")}),
        "pin": SetPinForm(),
        "password": PasswordForm(),
    }
    which = request.POST.get("form", "")
    if request.method == "POST" and which in forms:
        form = forms[which] = type(forms[which])(request.POST)
        if form.is_valid() and (response := _CHANGES[which](request, form)) is not None:
            return response
    return render(request, "people/account.html", _shown(actor_of(request), person) | {"forms": forms})


def _shown(actor: Actor, person: Person) -> dict[str, Any]:
    """Who this is, and the ways on that are open to them."""
    roles = person.roles()
    return {
        "person": person,
        "roles": [ROLE_WORDS[role] for role in sorted(roles)],
        "second_factor": bool(roles & SECOND_FACTOR_ROLES) and not actor.tablet,
        "people_open": actor.may("people.manage"),
        "society_open": actor.may("settings.change"),
        "tablet_open": actor.may("tablet.share") or actor.tablet,
    }


def _settings(request: HttpRequest, form: Entry) -> HttpResponse | None:
    if form.carry_out(lambda: actions.change_own_account(actor_of(request), **form.cleaned_data)) is None:
        return None
    return _saved(request)


def _theme(request: HttpRequest, form: Entry) -> HttpResponse:
    response = redirect("people:account")
    response.set_cookie("theme", form.cleaned_data["theme"], max_age=session.A_YEAR, samesite="Lax")
    return response


def _pin(request: HttpRequest, form: Entry) -> HttpResponse | None:
    if not _proved(request, form, "password"):
        return None
    if form.carry_out(lambda: actions.set_pin(actor_of(request), pin=Secret(form.cleaned_data["pin"]))) is None:
        return None
    return _saved(request)


def _password(request: HttpRequest, form: Entry) -> HttpResponse | None:
    if not _proved(request, form, "old"):
        return None
    old, new = Secret(form.cleaned_data["old"]), Secret(form.cleaned_data["new"])
    person = form.carry_out(lambda: actions.change_password(actor_of(request), old=old, new=new))
    if person is None:
        return None
    update_session_auth_hash(request, person)
    return _saved(request)


def _proved(request: HttpRequest, form: Entry, field: str) -> bool:
    """An open session alone changes neither password nor PIN."""
    if actor_of(request).tablet or session.proves(request, form.cleaned_data[field]):
        return True
    form.add_error(field, _("This is not your present password. Nothing was changed."))
    return False


def _saved(request: HttpRequest) -> HttpResponse:
    messages.success(request, _("Saved."))
    return redirect("people:account")


_CHANGES = {"settings": _settings, "theme": _theme, "pin": _pin, "password": _password}
