"""How far a job is: told now and then, and a sign of life while it works."""

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, BinaryIO, Final
from uuid import UUID

from django.conf import settings
from django.db import connection, models

from museum import clock
from museum.disk import settle, write_synced
from museum.jobs.models import Job

#: a row is written at most this often, however many steps there are
TELL_SECONDS: Final = 0.5
BEAT_SECONDS: Final = 20.0


class Overtaken(Exception):
    """Another worker has taken this job over: whatever this one still does would be done twice."""


class Progress:
    """What a job's function tells. Call it between actions: within a transaction nobody sees it."""

    def __init__(self, job: Job) -> None:
        self._job = job
        self._told_at = float("-inf")
        self._total: int | None = None

    def of(self, total: int) -> None:
        """How many steps there are."""
        self._total = total
        self._tell(done=0, total=total)
        self._told_at = float("-inf")

    def step(self, done: int, says: str | None = None) -> None:
        """So many steps are done; the last one is always told."""
        if done == self._total or time.monotonic() - self._told_at >= TELL_SECONDS:
            self._tell(done=done, **({} if says is None else {"says": says}))

    def say(self, says: str) -> None:
        """What it is doing, in words."""
        self._tell(says=says)

    def keep(self, data: bytes | BinaryIO, *, name: str, media_type: str) -> dict[str, Any]:
        """Keeps a result for its owner to fetch until it expires; answers what the function returns."""
        written = write_synced(data, results_folder())
        settle(written, result_path(self._job.pk))
        return {"file": written.sha256, "name": name, "media_type": media_type, "size": written.size}

    def _tell(self, **fields: Any) -> None:
        if not still_mine(self._job).update(heard_at=clock.now(), **fields):
            raise Overtaken
        self._told_at = time.monotonic()


def still_mine(job: Job) -> models.QuerySet[Job]:
    """The row, as long as no other worker has claimed it since."""
    return Job.objects.filter(pk=job.pk, state=Job.State.RUNNING, attempts=job.attempts)


@contextmanager
def heartbeat(job: Job, every: float = BEAT_SECONDS) -> Iterator[None]:
    """While the block runs, the row shows that its worker is alive, also during a long step."""
    over = threading.Event()

    def beat() -> None:
        while not over.wait(every):
            still_mine(job).update(heard_at=clock.now())
            connection.close()

    thread = threading.Thread(target=beat, name=f"heartbeat {job.pk}", daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


def results_folder() -> Path:
    """Where results wait for their owners. They are no facts: they are cleared when expired."""
    return Path(settings.VAR_DIR) / "results"


def result_path(job_id: UUID) -> Path:
    """The result file of a job."""
    return results_folder() / str(job_id)
