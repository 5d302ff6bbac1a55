"""The page of a room of ten years against that of its last year: hourly readings, and one every ten minutes. What the charts send is counted too."""

import re
from datetime import UTC, datetime, timedelta
from functools import cache

import numpy as np

from locations.climate import storing
from locations.climate.actions.loggers import make_logger, place_logger
from locations.climate.files.reading import Batch
from locations.places.actions import make_place
from locations.places.models import Place
from museum import clock
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from tests.bench.bench_climate import stores
from tests.bench.bench_pages import browser
from tests.bench.harness import Work, measure
from tests.bench.museums import museum_of

THINGS = 100
NOW = datetime(2026, 3, 14, 9, tzinfo=UTC)
BEGIN = NOW - timedelta(days=3660)
MOST_POINTS, MOST_BYTES = 2_000, 30_000


@cache
def room_of(every: int) -> Place:
    """A room with ten years of readings so many seconds apart; the hottest and the dampest of them each once."""
    building = make_place(PROGRAM, place_id=uuid7(), level="building", code=f"T-{every}", name="Ten years")
    place = make_place(PROGRAM, place_id=uuid7(), level="room", code=f"T-{every}-1", name="Old store", parent_id=building.pk, use="store")
    logger = make_logger(PROGRAM, logger_id=uuid7(), name=f"T-{every}")
    place_logger(PROGRAM, logger.pk, place_id=place.pk, at=BEGIN)
    t, rh = stores()[0]
    at = np.arange(int(BEGIN.timestamp()), int(NOW.timestamp()), every)
    hours = (at - at[0]) // 3600
    noise = np.random.default_rng(8).normal(0, 0.3, len(at))
    warm, damp = np.resize(t, hours[-1] + 1)[hours] + noise / 3, np.clip(np.resize(rh, hours[-1] + 1)[hours] + noise, 5, 97)
    damp[len(at) // 3], warm[len(at) // 2] = 99.4, 41.3
    none = np.full(len(at), np.nan)
    storing.add("climate_reading", logger.number, 0, Batch(at, warm.round(1), damp.round(1), none, np.zeros(len(at), dtype=np.int64)))
    return place


def _visit(every: int, span: str) -> Work:
    with museum_of(THINGS):
        place = room_of(every)

    def work() -> object:
        with museum_of(THINGS), clock.at(NOW):
            answer = browser(THINGS).get(f"/climate/rooms/{place.pk}/?span={span}")
        assert answer.status_code == 200, answer.status_code
        charts = re.findall(r'<svg class="chart.*?</svg>', answer.content.decode(), re.S)
        lines = "".join(re.findall(r'<path d="([^"]*)" class="line', charts[0]))
        points = len(re.findall(r"[-0-9.]+ [-0-9.]+", lines))
        assert 900 < points <= MOST_POINTS, points
        assert all(len(chart) <= MOST_BYTES for chart in charts), [len(chart) for chart in charts]
        return points

    return work


@measure("room_of_ten_years_hourly", goal=3)
def room_of_ten_years_hourly() -> tuple[Work, Work]:
    return _visit(3600, "ten"), _visit(3600, "year")


@measure("room_of_ten_years_every_ten_minutes", goal=6)
def room_of_ten_years_every_ten_minutes() -> tuple[Work, Work]:
    return _visit(600, "ten"), _visit(600, "year")
