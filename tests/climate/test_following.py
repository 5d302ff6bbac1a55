"""The exposure keeps up with files, moves and checks of loggers, and ends with the rows of from nothing."""

from datetime import timedelta
from itertools import pairwise
from typing import Any

import pytest

from locations.climate import exposure, following
from locations.climate.actions.loggers import calibrate
from museum import clock
from museum.people.actor import PROGRAM
from tests import stock
from tests.climate.test_bringing_in import bring, text
from tests.climate.test_exposure import START, logger_at, put, rows

pytestmark = pytest.mark.django_db


def file_of(first: int, hours: int) -> bytes:
    return text([(f"{START + timedelta(hours=first + n):%Y-%m-%d %H:%M}", 15.0, 72.0 + n % 5) for n in range(hours)])


def test_files_moves_and_checks_are_followed(society: Any) -> None:
    hall, store, board = stock.shelf()
    it, thing = logger_at(store, "T-1"), stock.helmet()
    put(thing, board, START)
    seen = []
    for day, change in enumerate(
        [
            lambda: bring(file_of(0, 24 * 25), it, "1.csv"),
            lambda: put(thing, hall, START + timedelta(days=10)),
            lambda: bring(file_of(24 * 25 + 2, 24 * 5), it, "2.csv"),
            lambda: calibrate(PROGRAM, it.pk, points=[(70.0, 60.0)], at=START + timedelta(days=2)),
        ]
    ):
        with clock.at(START + timedelta(days=31 + day)):
            change()
            assert following.catch_up() > 0
            assert following.catch_up() == 0
            kept = rows()
            exposure.rebuild()
            assert rows() == kept
            seen.append(kept)
    assert all(one != other for one, other in pairwise(seen))
