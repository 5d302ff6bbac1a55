"""Scheduled work of the checks."""

from celery import shared_task

from conservation.checks import follow, reminders
from museum import clock


@shared_task
def send_reminders() -> int:
    """The mails of today; running twice sends nothing twice."""
    return reminders.send_all(clock.today())


@shared_task
def catch_up() -> int:
    """Judges and dates again what lower parts of the house changed: a move, a material, a hazard."""
    return follow.catch_up()
