"""A real worker, a real broker, and a kill half-way: one result."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from celery import current_app
from django.conf import settings as django_settings
from django.db import connection

from museum import clock
from museum.history.models import Act
from museum.jobs import actions, running
from museum.jobs.models import Job
from museum.papers.models import StoredFile
from museum.people.actor import Actor
from museum.people.models import Person

ROOT = Path(__file__).resolve().parents[2]
WORKER = [sys.executable, "-m", "celery", "-A", "museum", "worker", "-c", "1", "-l", "WARNING"]
#: told which module the worker is to know besides the program
Start = Callable[[str], subprocess.Popen[bytes]]


@pytest.fixture
def start_worker(settings: Any, monkeypatch: pytest.MonkeyPatch) -> Iterator[Start]:
    """Starts workers that use this test's database, folder and queue; ends those that are left.

    The tests that run beside this one share the broker: on one queue a worker takes the other test's message, whose job it cannot find.
    """
    queue = f"tests-{uuid4().hex}"
    monkeypatch.setitem(current_app.conf, "task_default_queue", queue)
    named = django_settings.DATABASES["default"] | {"NAME": connection.settings_dict["NAME"]}
    address = f"postgresql://{named['USER']}:{named['PASSWORD']}@:{named['PORT']}/{named['NAME']}?host={named['HOST']}"
    environment = os.environ | {"DATABASE_URL": address, "BURGONET_VAR": str(settings.VAR_DIR)}
    started: list[subprocess.Popen[bytes]] = []

    def start(module: str) -> subprocess.Popen[bytes]:
        worker = subprocess.Popen([*WORKER, "-Q", queue, "-I", module, "-n", f"worker{len(started)}@test"], cwd=ROOT, env=environment, start_new_session=True)
        started.append(worker)
        return worker

    yield start
    for worker in started:
        if worker.poll() is None:
            os.killpg(worker.pid, signal.SIGKILL)
        worker.wait()


def wait_for(job: Job, happened: Callable[[Job], bool]) -> None:
    """Until the row says so; on a busy machine a worker takes a minute to start."""
    end = time.monotonic() + 180
    while time.monotonic() < end:
        job.refresh_from_db()
        if happened(job):
            return
        time.sleep(0.05)
    pytest.fail(f"job is {job.state} ({job.says}) {job.error}")


@pytest.mark.django_db(transaction=True)
def test_killed_half_way_and_run_again_gives_one_result(volunteer: Person, start_worker: Start, tmp_path: Path) -> None:
    gate = tmp_path / "gate"
    first = start_worker("tests.jobs.slow")
    job = actions.enqueue(Actor.of(volunteer), "tests.slow", volunteer.pk, {"gate": str(gate), "text": "a find"}, "Slow work")
    wait_for(job, lambda row: row.done == 1)
    assert job.percent == 50
    os.killpg(first.pid, signal.SIGKILL)
    first.wait()
    gate.touch()
    Job.objects.filter(pk=job.pk).update(heard_at=clock.now() - timedelta(minutes=3))
    start_worker("tests.jobs.slow")
    assert running.offer_waiting() == 1
    wait_for(job, lambda row: row.over)
    assert (job.state, job.attempts, job.result) == ("done", 2, {"address": "/", "name": "start"})
    assert StoredFile.objects.filter(name="slow.txt").count() == 1
    assert Act.objects.filter(action="tests.write_down").count() == 1
