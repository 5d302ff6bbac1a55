"""Scheduled and background work of the checks."""

from uuid import UUID, uuid5

from celery import shared_task
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from conservation.checks import alarm_mails, damp_sums, follow, from_climate, reminders
from conservation.checks.actions import incidents
from conservation.checks.models import Incident
from museum import clock
from museum.jobs.kinds import Outcome, acting, job_kind
from museum.jobs.models import Job
from museum.jobs.progress import Progress


@job_kind(incidents.LIST_AT_RISK, title=_("What is at risk"))
def list_at_risk(progress: Progress, job: Job, *, incident: str) -> Outcome:
    """Lists what is at risk in the room of an incident, some hundreds an act; run again it goes on where it was."""
    found, done = Incident.objects.get(pk=UUID(incident)), 0
    for part, total, rows in incidents.batches_at_risk(found):
        if done == 0:
            progress.of(total)
        done += incidents.list_at_risk(acting(job).keyed(uuid5(job.pk, str(part))), found.pk, part=part, rows=rows)
        progress.step(done)
    incidents.end_listing(acting(job), found.pk)
    return {"address": reverse("checks:incident", args=[found.pk])}


@shared_task
def send_reminders() -> int:
    """The mails of today; running twice sends nothing twice."""
    return reminders.send_all(clock.today())


@shared_task
def send_alarm_mails() -> int:
    """The mails of alarms that were raised or are over; running twice sends nothing twice."""
    return alarm_mails.send_all()


@shared_task
def catch_up() -> int:
    """Judges and dates again what lower parts of the house changed: a move, a material, a hazard; asks for looks after alarms and where damp added up."""
    return follow.catch_up() + from_climate.catch_up() + damp_sums.catch_up()
