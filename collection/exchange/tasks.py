"""The worker's part of imports."""

from uuid import UUID

from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from collection.exchange.carrying import Tell, bring_in, take_back
from collection.exchange.models import ImportSession
from museum.jobs.kinds import Outcome, acting, job_kind
from museum.jobs.models import Job
from museum.jobs.progress import Progress


@job_kind("import_rows", title=_("Bring in a register"))
def import_rows(progress: Progress, job: Job, *, session: str) -> Outcome:
    """Brings in what has no question; run again after a lost worker it goes on where that one was."""
    found = ImportSession.objects.get(pk=UUID(session))
    bring_in(acting(job).keyed(None), found, _telling(progress))
    return _page(found)


@job_kind("undo_import", title=_("Take an import back"))
def undo_import(progress: Progress, job: Job, *, session: str, reason: str = "") -> Outcome:
    """Takes back what nothing later touched."""
    found = ImportSession.objects.get(pk=UUID(session))
    take_back(acting(job).keyed(None), found, _telling(progress), reason)
    return _page(found)


def _telling(progress: Progress) -> Tell:
    def tell(done: int, total: int) -> None:
        if done == 0:
            progress.of(total)
        progress.step(done)

    return tell


def _page(session: ImportSession) -> Outcome:
    return {"address": reverse("exchange:preview", args=[session.pk]), "name": session.name}
