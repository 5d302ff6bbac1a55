"""The page on which personal texts of somebody who has left are erased."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from museum import clock
from museum.people import actions
from museum.people.doors import actor_of, needs
from museum.people.forms import EraseForm
from museum.people.models import Person


@require_http_methods(["GET", "POST"])
@needs("personal.erase")
def erase(request: HttpRequest) -> HttpResponse:
    """Says what goes for ever and what stays, asks who and why, and erases."""
    gone = Person.objects.filter(left_on__lte=clock.today()).order_by("name")
    form = EraseForm(request.POST or None)
    form.offer(gone)
    if request.method == "POST" and form.is_valid():
        typed = dict(form.cleaned_data)
        del typed["sure"]
        person_id = typed.pop("person")
        if form.carry_out(lambda: actions.erase_personal(actor_of(request), person_id, **typed)) is not None:
            messages.success(request, _("Erased. The history still proves itself, and says that it was done and why."))
            return redirect("people:erase")
    return render(request, "people/erase.html", {"form": form, "gone": gone}, status=400 if form.is_bound else 200)
