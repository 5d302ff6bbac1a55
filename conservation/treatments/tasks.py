"""Scheduled and background work of the treatments."""

from datetime import date
from typing import Final
from uuid import UUID

from celery import shared_task
from django.utils.translation import gettext_lazy as _

from conservation.treatments import follow, inviting_mail
from conservation.treatments.actions.inviting import SEND
from conservation.treatments.actions.stock import CALL_LOOKS, call_recalled, touched_by
from conservation.treatments.models import BatchMark
from museum.ids import uuid7
from museum.jobs.kinds import Outcome, acting, job_kind
from museum.jobs.models import Job
from museum.jobs.progress import Progress
from museum.people.models import Invitation

#: looks called for in one act
A_STRETCH: Final = 100


@shared_task
def end_lapsed() -> int:
    """Ends approvals whose zone or rule changed."""
    return follow.catch_up()


@job_kind(CALL_LOOKS, title=_("Looks for a recalled batch"))
def call_looks(progress: Progress, job: Job, *, mark: str, due_on: str) -> Outcome | None:
    """Calls for a look at everything a recalled batch was used on. Run twice, it calls for nothing twice."""
    recall = BatchMark.objects.select_related("batch").get(pk=mark)
    touched = touched_by(recall)
    progress.of(len(touched))
    for begin in range(0, len(touched), A_STRETCH):
        stretch = touched[begin : begin + A_STRETCH]
        call_recalled(acting(job).keyed(uuid7()), UUID(mark), stretch, due_on=date.fromisoformat(due_on))
        progress.step(begin + len(stretch))
    return {"address": f"/stock/batches/{recall.batch_id}/"}


@job_kind(SEND, title=_("Invitation by mail"))
def send_invitation(progress: Progress, job: Job, *, invitation: str) -> Outcome | None:
    """Sends the mail of an invitation."""
    inviting_mail.send(Invitation.objects.select_related("made_by").get(pk=invitation))
    return {"address": "/invitations/"}
