"""Scheduled work of the treatments."""

from celery import shared_task

from conservation.treatments import follow


@shared_task
def end_lapsed() -> int:
    """Ends approvals whose zone or rule changed."""
    return follow.catch_up()
