"""A kind of work for tests: slow, told step by step, and leaving one fact behind."""

import os
import time
from pathlib import Path

from museum.jobs.kinds import Outcome, acting, job_kind
from museum.jobs.models import Job
from museum.jobs.progress import Progress
from museum.papers import files
from museum.papers.models import StoredFile
from museum.people.action import Act, action


@action("tests.write_down", may="photo.add")
def write_down(act: Act, text: str) -> StoredFile:
    return files.store(act, text.encode(), name="slow.txt", media_type="text/plain")


@job_kind("tests.slow", title="Slow work")
def slow(progress: Progress, job: Job, *, gate: str, text: str) -> Outcome | None:
    """Goes on once the gate is there; the first worker is killed before that."""
    progress.of(2)
    progress.step(1, f"worker {os.getpid()}")
    while not Path(gate).exists():
        time.sleep(0.05)
    write_down(acting(job), text)
    progress.step(2)
    return {"address": "/", "name": "start"}
