"""The administrator's pages about people."""

from typing import Any, Final
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from museum import clock
from museum.errors import NotFound
from museum.people import actions
from museum.people.action import ActionFunction
from museum.people.doors import actor_of, needs
from museum.people.forms import (
    AddPersonForm,
    BackForm,
    EndRoleForm,
    Entry,
    GiveRoleForm,
    LeftForm,
    PersonForm,
    ReasonForm,
)
from museum.people.models import Person, RoleFact
from museum.people.passwords import new_password
from museum.people.permissions import ROLE_WORDS
from museum.people.secret import Secret


@needs("people.manage")
def people(request: HttpRequest) -> HttpResponse:
    """Everybody, those who have left last."""
    everybody = sorted(Person.objects.with_roles(), key=lambda person: (not person.is_active, person.name.casefold()))
    rows = [(person, [ROLE_WORDS[role] for role in sorted(person.roles())]) for person in everybody]
    return render(request, "people/people.html", {"rows": rows})


@needs("people.manage")
def add_person(request: HttpRequest) -> HttpResponse:
    """Somebody new; their first password is shown once."""
    form = AddPersonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        password = new_password()
        added = form.carry_out(lambda: actions.add_person(actor_of(request), password=Secret(password), **form.cleaned_data))
        if added is not None:
            return _show_password(request, added, password)
    return render(request, "people/add_person.html", {"form": form})


@needs("people.manage")
def person(request: HttpRequest, person_id: UUID) -> HttpResponse:
    """One person: name and e-mail, roles, leaving, and help for who cannot sign in; a form each."""
    somebody = Person.objects.with_roles().filter(pk=person_id).first()
    if somebody is None:
        raise NotFound
    forms = _forms(somebody)
    if (which := request.POST.get("form", "")) in forms:
        form = forms[which] = type(forms[which])(request.POST)
        if form.is_valid() and (response := _carry_out(request, somebody, which, form)) is not None:
            return response
    roles = [(role, ROLE_WORDS[role]) for role in sorted(somebody.roles())]
    facts = RoleFact.objects.filter(person=somebody).order_by("-recorded_at", "-id")
    return render(request, "people/person.html", {"person": somebody, "forms": forms, "roles": roles, "facts": facts})


@needs("people.manage")
@require_POST
def give_password(request: HttpRequest, person_id: UUID) -> HttpResponse:
    """A new password for somebody who has forgotten theirs, shown once."""
    password = new_password()
    person = actions.give_password(actor_of(request), person_id, password=Secret(password))
    return _show_password(request, person, password)


def _forms(person: Person) -> dict[str, Entry]:
    version = {"version": person.version}
    return {
        "change": PersonForm(initial=version | {"name": person.name, "email": person.email}),
        "give": GiveRoleForm(),
        "end": EndRoleForm(),
        "left": LeftForm(initial=version | {"on": clock.today()}),
        "back": BackForm(initial=version),
        "second_factor": ReasonForm(),
    }


def _carry_out(request: HttpRequest, person: Person, which: str, form: Entry) -> HttpResponse | None:
    if form.carry_out(lambda: _ACTS[which](actor_of(request), person.id, **form.cleaned_data)) is None:
        return None
    messages.success(request, _("Saved."))
    return redirect("people:person", person.id)


def _show_password(request: HttpRequest, person: Person, password: str) -> HttpResponse:
    response = render(request, "people/first_password.html", {"person": person, "password": password})
    response["Cache-Control"] = "no-store"
    return response


_ACTS: Final[dict[str, ActionFunction[..., Any]]] = {
    "change": actions.change_person,
    "give": actions.give_role,
    "end": actions.end_role,
    "left": actions.mark_left,
    "back": actions.mark_back,
    "second_factor": actions.take_second_factor,
}
