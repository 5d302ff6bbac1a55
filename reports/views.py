"""Doors by which papers are asked for. They are made by the worker; here only a job begins."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_POST

from museum.errors import Invalid
from museum.people.doors import actor_of, needs
from reports import actions
from reports.registry import document_called


@require_POST
@needs("paper.see")
def issue(request: HttpRequest) -> HttpResponse:
    """Asks for a paper; where one says the very same already, offers that one first."""
    actor = actor_of(request)
    name, subject = request.POST.get("document", ""), _key(request, "subject")
    form = document_called(name, actor)
    options = {field: request.POST[field].strip() for field in form.options if request.POST.get(field, "").strip()}
    replaced = _key(request, "supersedes") if request.POST.get("supersedes") else None
    if "anyway" not in request.POST:
        same = actions.identical_to(actor, name, actions.gather(actor, name, subject, options))
        if same is not None:
            context = {"same": same, "asked": request.POST, "form": form}
            return render(request, "reports/identical.html", context)
    job = actions.ask_for(actor, name, subject, issued_to=request.POST.get("issued_to", ""), supersedes=replaced, options=options)
    return redirect("jobs:job", job.pk)


@require_POST
@needs("paper.see")
def reprint(request: HttpRequest, paper_id: UUID) -> HttpResponse:
    """Asks for a copy that says that it is one."""
    return redirect("jobs:job", actions.ask_for_reprint(actor_of(request), paper_id).pk)


def _key(request: HttpRequest, field: str) -> UUID:
    try:
        return UUID(request.POST.get(field, ""))
    except ValueError:
        raise Invalid(_("The page did not say what the paper is about. Go back and press the button again."), field=field) from None
