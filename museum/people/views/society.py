"""The society's own page of settings."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from museum.people import actions
from museum.people.doors import actor_of, needs
from museum.people.forms import SocietyForm
from museum.people.models import Society


@needs("settings.change")
def society(request: HttpRequest) -> HttpResponse:
    """Name, address, language, currency, opening days."""
    form = SocietyForm(request.POST) if request.method == "POST" else SocietyForm.of(Society.load())
    if request.method == "POST" and form.is_valid() and _change(request, form):
        messages.success(request, _("Saved."))
        return redirect("people:society")
    return render(request, "people/society.html", {"form": form})


def _change(request: HttpRequest, form: SocietyForm) -> Society | None:
    return form.carry_out(lambda: actions.change_society(actor_of(request), **form.cleaned_data))
