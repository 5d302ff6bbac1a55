"""Background work of the catalogue."""

from uuid import UUID

from django.utils.translation import gettext_lazy as _

from collection.objects.actions.photographs import MAKE_SMALLER, make_smaller
from museum.jobs.kinds import Outcome, acting, job_kind
from museum.jobs.models import Job
from museum.jobs.progress import Progress


@job_kind(MAKE_SMALLER, title=_("Smaller pictures"))
def smaller_pictures(progress: Progress, job: Job, *, photograph: str) -> Outcome | None:
    """Makes the pictures that pages show."""
    make_smaller(acting(job), UUID(photograph))
    return None
