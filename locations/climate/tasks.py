"""The worker's part: reading files, and looking into the watched folder."""

from uuid import UUID

from celery import shared_task
from django.utils.translation import gettext_lazy as _

from locations.climate import alarming, folder, following
from locations.climate.actions.doubts import suspect_all
from locations.climate.actions.files import address
from locations.climate.importing import bring_in
from locations.climate.models import ClimateFile
from museum.jobs.kinds import Outcome, acting, job_kind
from museum.jobs.models import Job
from museum.jobs.progress import Progress


@job_kind("climate_file", title=_("Read a logger's file"))
def climate_file(progress: Progress, job: Job, *, file: str, holds: str = "") -> Outcome:
    """Brings in the readings of a file; run again after a lost worker it ends with the same rows. `holds`: why, though it contradicts the record."""
    row = ClimateFile.objects.select_related("file", "logger").get(pk=UUID(file))
    if row.state == ClimateFile.State.READY:

        def tell(done: int, total: int) -> None:
            progress.of(total)
            progress.step(done)

        row = bring_in(acting(job).keyed(None), row, tell, holds=holds)
    return {"address": address(row), "name": row.name}


@shared_task
def watch_folder() -> int:
    """Takes what was put into the watched folder; answers how many files."""
    return folder.look()


@shared_task
def follow_climate() -> int:
    """Works out what things lived through since the last time."""
    return following.catch_up()


@shared_task
def doubt_loggers() -> int:
    """Looks whether the loggers lie; answers how many new suspicions there are."""
    return suspect_all()


@shared_task
def raise_alarms() -> int:
    """Counts what new readings say of damp and mould; answers how many alarms were told, corrected, ended or withdrawn."""
    return alarming.catch_up()
