"""What the worker is sent: one task for every kind of job, and the two that look after the queue."""

from uuid import UUID

from celery import shared_task

from museum.jobs import running


@shared_task
def run(job_id: str) -> None:
    """Does one job."""
    running.run(UUID(job_id))


@shared_task
def offer_waiting() -> int:
    """Each minute: what was lost on the way is offered again."""
    return running.offer_waiting()


@shared_task
def clear_expired() -> int:
    """Each night: expired jobs and their results go."""
    return running.clear_expired()
