"""Asking for background work, and for another try. Sent once all is committed; what is not sent waits in its row."""

import logging
from collections.abc import Mapping
from typing import Any, Final
from uuid import UUID

from celery import current_app
from django.utils.translation import gettext_lazy as _
from kombu.exceptions import OperationalError

from museum import clock
from museum.errors import DomainError, NotFound
from museum.jobs.models import Job
from museum.people.action import Act, action, plain

RUN: Final = "museum.jobs.tasks.run"
#: a person waits for their page meanwhile: one try, and the row is safe anyway
PATIENCE: Final = {"max_retries": 0, "socket_connect_timeout": 1, "socket_timeout": 5}
log = logging.getLogger(__name__)


class NotFailed(DomainError):
    """Only what failed can be tried again."""

    code = "job_not_failed"
    template = _("This work did not fail: it is waiting, at work or done. There is nothing to try again.")


@action("jobs.enqueue", may="job.own")
def enqueue(act: Act, kind: str, owner: UUID | None, arguments: Mapping[str, Any], title: str) -> Job:
    """Puts work into the queue. `owner` sees it on their page of jobs; none = the program's own work."""
    job = Job.objects.create(kind=kind, title=title, owner_id=owner, tablet=act.actor.tablet, arguments=plain(arguments), created_at=act.now)
    act.afterwards(lambda: send(job.pk))
    return job


@action("jobs.retry", may="job.own")
def retry(act: Act, job_id: UUID) -> Job:
    """Tries failed work of one's own again."""
    job = Job.objects.owned_by(act.actor).select_for_update().filter(pk=job_id).first()
    if job is None:
        raise NotFound
    if job.state != Job.State.FAILED:
        raise NotFailed
    job.state, job.error, job.says = Job.State.WAITING, "", ""
    job.done, job.attempts = 0, 0
    job.offered_at = job.ended_at = job.expires_at = None
    job.version += 1
    job.save()
    act.afterwards(lambda: send(job.pk))
    return job


def send(job_id: UUID) -> None:
    """Offers the job to the workers. Without a broker it waits in its row and is offered again each minute."""
    try:
        with current_app.connection_for_write() as broker:
            broker.transport_options = {**(broker.transport_options or {}), **PATIENCE}
            current_app.send_task(RUN, [str(job_id)], retry=False, connection=broker)
    except OperationalError as error:
        log.warning("job %s waits: the broker does not answer (%s)", job_id, type(error).__name__)
        return
    Job.objects.filter(pk=job_id).update(offered_at=clock.now())
