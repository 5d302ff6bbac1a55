"""The worker's side of a job: claimed by one, worked, ended; whatever is lost on the way is found again."""

import logging
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.db.models import F, Q, QuerySet
from django.utils import translation
from django.utils.translation import gettext as _

from museum import clock
from museum.errors import DomainError
from museum.jobs.actions import send
from museum.jobs.kinds import KINDS, Outcome
from museum.jobs.models import Job
from museum.jobs.progress import Overtaken, Progress, heartbeat, result_path, still_mine

#: without a sign of life for so long, its worker is dead
SILENT: Final = timedelta(minutes=2)
#: sent so long ago and still waiting: the broker may have lost it
LOST: Final = timedelta(minutes=10)
#: not sent at all, though committed so long ago: the broker was away
UNSENT: Final = timedelta(seconds=20)
#: a job that takes its worker down with it is not tried for ever
MOST_ATTEMPTS: Final = 3
KEPT: Final = timedelta(days=14)
log = logging.getLogger(__name__)


def run(job_id: UUID) -> None:
    """Does the job, unless another worker has it or it is over."""
    job = _claim(job_id)
    if job is None:
        return
    with translation.override(job.owner.language if job.owner else settings.LANGUAGE_CODE), heartbeat(job):
        _work(job)


def _claim(job_id: UUID) -> Job | None:
    """The job, if it waits or its worker fell silent: of several that ask at once, one gets it."""
    now = clock.now()
    free = Q(state=Job.State.WAITING) | Q(state=Job.State.RUNNING, heard_at__lt=now - SILENT)
    claimed = Job.objects.filter(free, pk=job_id, attempts__lt=MOST_ATTEMPTS).update(
        state=Job.State.RUNNING, attempts=F("attempts") + 1, started_at=now, heard_at=now, done=0, total=None, says=""
    )
    return Job.objects.select_related("owner").get(pk=job_id) if claimed else None


def _work(job: Job) -> None:
    try:
        outcome = KINDS[job.kind].work(Progress(job), job, **job.arguments)
    except Overtaken:
        log.warning("job %s was taken over by another worker", job.pk)
    except DomainError as error:
        _end(job, error=error.sentence)
    except Exception:
        log.exception("job %s (%s) broke off", job.pk, job.kind)
        _end(job, error=_fault(job))
    else:
        _end(job, outcome=outcome)


def _end(job: Job, *, outcome: Outcome | None = None, error: str = "") -> None:
    now = clock.now()
    state = Job.State.FAILED if error else Job.State.DONE
    still_mine(job).update(state=state, error=error, result=outcome, says="", heard_at=now, ended_at=now, expires_at=now + KEPT)


def _fault(job: Job) -> str:
    return _(
        "The work broke off because of a fault in the program. Nothing was left half done; the fault is written down "
        "in the log of the computer. Try again; if it breaks off again, tell the keeper of the computer: job %(id)s."
    ) % {"id": job.pk}


def offer_waiting() -> int:
    """Offers again what waits unsent, what the broker lost, and what a dead worker left; answers how many."""
    _give_up()
    offered = list(_lost(clock.now()).values_list("pk", flat=True))
    for job_id in offered:
        send(job_id)
    return len(offered)


def _lost(now: datetime) -> QuerySet[Job]:
    unsent = Q(state=Job.State.WAITING, offered_at=None, created_at__lt=now - UNSENT)
    lost = Q(state=Job.State.WAITING, offered_at__lt=now - LOST)
    return Job.objects.filter(unsent | lost | _silent(now)).order_by("created_at")


def _silent(now: datetime) -> Q:
    return Q(state=Job.State.RUNNING, heard_at__lt=now - SILENT)


def _give_up() -> None:
    """What took its worker down each time is ended with a word about it."""
    now = clock.now()
    for job in Job.objects.filter(_silent(now), attempts__gte=MOST_ATTEMPTS).select_related("owner"):
        log.error("job %s (%s) took its worker down %s times", job.pk, job.kind, job.attempts)
        with translation.override(job.owner.language if job.owner else settings.LANGUAGE_CODE):
            _end(job, error=_fault(job))


def clear_expired() -> int:
    """Removes what is over and expired, its result file too; answers how many. What came of it in the house stays."""
    now = clock.now()
    expired = list(Job.objects.filter(expires_at__lt=now).values_list("pk", flat=True))
    return sum(_cleared(job_id, now) for job_id in expired)


def _cleared(job_id: UUID, now: datetime) -> bool:
    """Removes one, unless it was asked for again meanwhile."""
    with transaction.atomic():
        job = Job.objects.select_for_update().filter(pk=job_id, expires_at__lt=now).first()
        if job is None:
            return False
        result_path(job_id).unlink(missing_ok=True)
        job.delete()
    return True
