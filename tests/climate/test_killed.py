"""A real worker killed by the system in the middle of a real file, and another that ends the work: the rows of an undisturbed import."""

import os
import signal
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from locations.climate.actions.files import Upload, take_file
from locations.climate.actions.loggers import make_logger
from locations.climate.models import ClimateFile, Logger, Reading, Rival
from museum import clock
from museum.history.models import Change
from museum.history.verify import verify
from museum.ids import uuid7
from museum.jobs import running
from museum.jobs.models import Job
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests.climate.test_bringing_in import bring
from tests.jobs.test_worker import Start, start_worker, wait_for
from tests.reference.tables import reference_path

assert start_worker
REAL = "real_climate.csv"


def rows(of: Logger) -> list[Any]:
    return list(Reading.objects.filter(logger=of.number).order_by("at").values_list("at", "t", "rh", "lux", "flags"))


@pytest.mark.django_db(transaction=True)
def test_a_file_whose_worker_was_killed_ends_with_the_rows_of_one_that_was_not(volunteer: Person, start_worker: Start, tmp_path: Path) -> None:
    whole, torn = (make_logger(PROGRAM, logger_id=uuid7(), name=name) for name in ("whole", "torn"))
    first = start_worker("tests.climate.slow")
    row = take_file(Actor.of(volunteer), Upload(REAL, reference_path(REAL).read_bytes()), logger_id=torn.pk)
    job = Job.objects.get(pk=row.job)
    wait_for(job, lambda _one: bool(rows(torn)))
    os.killpg(first.pid, signal.SIGKILL)
    first.wait()
    (tmp_path / "gate").touch()
    assert 0 < len(rows(torn)) < 8706
    job.refresh_from_db()
    assert job.state == "running"
    Job.objects.filter(pk=job.pk).update(heard_at=clock.now() - timedelta(minutes=3))
    start_worker("tests.climate.slow")
    assert running.offer_waiting() == 1
    wait_for(job, lambda one: one.over)
    assert job.state == "done"
    bring(reference_path(REAL).read_bytes(), whole, REAL)
    assert rows(torn) == rows(whole)
    row = ClimateFile.objects.get(pk=row.pk)
    assert (row.counts["stored"], row.counts["known"], Rival.objects.count()) == (8706, 0, 0)
    assert Change.objects.filter(what="climate_file.read", about__key=torn.pk).count() == 1
    assert verify().broken_at is None
