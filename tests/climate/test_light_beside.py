"""Light is counted by whoever measured it: a light meter beside a logger of humidity, or two that both measure."""

from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from locations.climate import storing
from locations.climate.files.reading import Batch
from locations.climate.lives import light_of
from locations.climate.models import Logger
from museum import clock
from tests import stock
from tests.climate.test_exposure import START, logger_at, put

pytestmark = pytest.mark.django_db
HOURS = 48


def tell(it: Logger, *, rh: float, lux: float) -> None:
    at = int(START.timestamp()) + 3600 * np.arange(HOURS)
    batch = Batch(at, np.full(HOURS, 18.0), np.full(HOURS, rh), np.full(HOURS, lux), np.zeros(HOURS, dtype=np.int64))
    storing.add("climate_reading", it.number, 0, batch)


@pytest.mark.parametrize(
    ("first", "second", "dose"),
    [
        # humidity by the one, light by the other
        ((50.0, np.nan), (np.nan, 50.0), 2400),
        # light by the first, which has lost its humidity: of two that measure light the first counts
        ((np.nan, 50.0), (50.0, 80.0), 2400),
        ((50.0, 50.0), (50.0, 80.0), 2400),
    ],
)
def test_whoever_measured_it(society: Any, first: tuple[float, float], second: tuple[float, float], dose: float) -> None:
    _, store, board = stock.shelf()
    thing = stock.helmet()
    put(thing, board, START)
    for n, (rh, lux) in enumerate((first, second), start=1):
        tell(logger_at(store, f"T-{n}"), rh=rh, lux=lux)
    with clock.at(START + timedelta(hours=HOURS)):
        light = light_of(thing)
    assert light is not None
    assert (light.dose, light.hours) == pytest.approx((dose, HOURS))
