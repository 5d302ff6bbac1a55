"""A real year with real faults in it, read plainly and brought in through the page: every result of the expected file within its tolerance."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from functools import cache
from typing import Any

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from locations.climate import queries
from locations.climate.actions.loggers import make_logger
from locations.climate.models import ClimateFile
from locations.climate.tasks import climate_file
from museum.ids import uuid7
from museum.jobs import running
from museum.people.actor import PROGRAM
from museum.people.models import Person
from tests.reference.climate import computed
from tests.reference.tables import reference_path, reference_table
from tests.reference.test_environment import allowed

EXPECTED: dict[str, Any] = reference_table("real_climate_expected.json")["results"]
ROWS = reference_table("real_climate.csv")


@cache
def read_plainly() -> dict[str, Any]:
    at = np.array([int(datetime.fromisoformat(row["timestamp_utc"]).timestamp()) for row in ROWS])
    t, rh = (np.array([float(row[column]) for row in ROWS]) for column in ("temperature_c", "rh_percent"))
    return computed(at, t, rh)


def results(expected: dict[str, Any], *path: str) -> Iterator[tuple[str, ...]]:
    """The paths of everything that has a value or an instant; what is said of windows named otherwise is not ours."""
    for name, one in expected.items():
        if name == "utc_of_max" or (isinstance(one, dict) and one.get("tolerance") not in (None, "behaviour")):
            yield (*path, name)
        elif isinstance(one, dict) and name != "if_the_window_is_named_otherwise":
            yield from results(one, *path, name)


def at(tree: Any, path: tuple[str, ...]) -> Any:
    for name in path:
        tree = tree[name]
    return tree


@pytest.mark.parametrize("path", [pytest.param(path, id=".".join(path)) for path in results(EXPECTED)])
def test_result(path: tuple[str, ...]) -> None:
    assert_met(path, read_plainly())


def assert_met(path: tuple[str, ...], results: dict[str, Any]) -> None:
    wanted, found = at(EXPECTED, path), at(results, path)
    if isinstance(wanted, str) or isinstance(wanted["value"], str):
        assert found == (wanted if isinstance(wanted, str) else wanted["value"])
    elif wanted["tolerance"] == "must NOT be returned":
        assert found != pytest.approx(wanted["value"], rel=0.1)
    else:
        low, high = allowed(wanted["tolerance"], wanted["value"])
        assert low <= found <= high, f"{path}: {found} for {wanted['value']}"


def test_the_steps_are_those_of_the_fronts_and_the_slip() -> None:
    assert read_plainly()["steps"] == [step["utc"] for step in EXPECTED["step_flags"]["steps"]]


@pytest.mark.django_db
def test_what_is_stored_of_it_meets_them_all(volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    """The file as it is, sent by the page and read by the job; then what the program counts."""
    it = make_logger(PROGRAM, logger_id=uuid7(), name="airport")
    sent = SimpleUploadedFile("real_climate.csv", reference_path("real_climate.csv").read_bytes())
    as_person(volunteer).post("/climate/files/", {"file": sent, "logger": str(it.pk)})
    row = ClimateFile.objects.get()
    assert row.job
    assert climate_file
    running.run(row.job)
    row.refresh_from_db()
    assert (row.state, row.counts["stored"]) == ("done", len(ROWS))
    found = queries.readings(it, datetime(2013, 1, 1, tzinfo=UTC), datetime(2014, 1, 1, tzinfo=UTC))
    stored = computed(found.at, found.t, queries.corrected_rh(it, found))
    for path in results(EXPECTED):
        assert_met(path, stored)
    assert stored["steps"] == [step["utc"] for step in EXPECTED["step_flags"]["steps"]]
