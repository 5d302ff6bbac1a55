"""Pages of background work: each person's own."""

from typing import Final
from uuid import UUID

from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from museum.delivery import attachment
from museum.errors import NotFound
from museum.jobs import actions
from museum.jobs.models import Job
from museum.jobs.progress import result_path
from museum.people.doors import actor_of, needs

SHOWN: Final = 100


@require_GET
@needs("job.own")
def jobs(request: HttpRequest) -> HttpResponse:
    """What this person has asked for, the newest first."""
    own = Job.objects.owned_by(actor_of(request)).order_by("-created_at")[:SHOWN]
    return render(request, "jobs/jobs.html", {"jobs": own})


@require_GET
@needs("job.own")
def job(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """How far it is, and what came of it."""
    return render(request, "jobs/job.html", {"job": _own(request, job_id)})


@require_GET
@needs("job.own")
def result(request: HttpRequest, job_id: UUID) -> FileResponse:
    """The result file, to be saved."""
    kept = _own(request, job_id).result or {}
    path = result_path(job_id)
    if "file" not in kept or not path.exists():
        raise NotFound
    return attachment(path.open("rb"), name=kept["name"], media_type=kept["media_type"])


@require_POST
@needs("job.own")
def retry(request: HttpRequest, job_id: UUID) -> HttpResponse:
    """Tries it again."""
    actions.retry(actor_of(request), job_id)
    return redirect("jobs:job", job_id)


def _own(request: HttpRequest, job_id: UUID) -> Job:
    found = Job.objects.owned_by(actor_of(request)).filter(pk=job_id).first()
    if found is None:
        raise NotFound
    return found
