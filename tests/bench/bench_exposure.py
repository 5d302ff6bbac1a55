"""What 5,000 things lived through in ten years of 20 loggers and 40,000 moves: worked out from nothing, and one new day with its files.

Some of them stand against walls colder than their rooms, so that each of these is counted twice.

Aims in seconds on two cores. Memory is that of this process from the beginning of the work on, which must stay under 500 MB.
BENCH_THINGS sets how many things, BENCH_YEARS how many years.
"""

import os
import re
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

import numpy as np
from django.db import connection

from locations.climate import exposure, following, storing
from locations.climate.actions.files import take_file
from locations.climate.actions.loggers import make_logger, place_logger
from locations.climate.actions.walls import Readings, tell_wall, tell_wall_by_quality
from locations.climate.files.reading import Batch
from locations.climate.importing import bring_in
from locations.climate.models import ClimateFile, Exposure, ExposureMark, Logger, WallExposure
from locations.places.actions import describe_place, make_place
from locations.places.models import Place
from museum import clock
from museum.ids import uuid7
from museum.papers.files import Upload
from museum.people.actor import PROGRAM
from tests.bench.bench_climate import stores
from tests.bench.harness import Work, aimed
from tests.bench.museums import museum_of

THINGS, YEARS = int(os.environ.get("BENCH_THINGS", "5000")), int(os.environ.get("BENCH_YEARS", "10"))
MOVES = 8
ROOMS = 25  # five of them without a logger, one of the others outdoors
OUTDOORS = 19
#: rooms with a rack against the wall, told by a difference or by its quality
COLDER, BY_QUALITY = 2, 2
BEGIN = datetime(2016, 1, 1, tzinfo=UTC)
HOURS = 24 * 3652 * YEARS // 10
#: the middle of a month is the usual case: half of it is worked out again
NOW = BEGIN + timedelta(hours=HOURS)
MOST_MEGABYTES = 500

_STAYS = """
WITH things AS (SELECT c.id, row_number() OVER (ORDER BY c.id) AS n FROM objects_component c WHERE c.sort = 'main'),
     cuts AS (SELECT t.id, t.n, k, %(begin)s::timestamptz + (k + ((t.n * 37 + k * 101) %% 83) / 100.0) * %(step)s AS at
                FROM things t, generate_series(0, %(moves)s) k)
INSERT INTO places_stay (component_id, "to", place_id, during, movement)
SELECT c.id, 'place', (%(rooms)s::uuid[])[1 + (c.n * 13 + c.k * 7) %% array_length(%(rooms)s::uuid[], 1)],
       tstzrange(c.at, lead(c.at) OVER (PARTITION BY c.id ORDER BY c.k)), gen_random_uuid()
  FROM cuts c
"""


@cache
def house() -> list[Logger]:
    """The rooms, the loggers with their readings, the things with their stays; in the museum of the measure."""
    building = make_place(PROGRAM, place_id=uuid7(), level="building", code="X", name="Exposure")
    rooms = [make_place(PROGRAM, place_id=uuid7(), level="room", code=f"X-{n}", name=f"Room {n}", parent_id=building.pk, use="store") for n in range(ROOMS)]
    describe_place(PROGRAM, rooms[OUTDOORS].pk, version=1, spot="outdoors")
    loggers = []
    for n, ((t, rh), room) in enumerate(zip(stores(), rooms, strict=False)):
        logger = make_logger(PROGRAM, logger_id=uuid7(), name=f"X-{n}")
        place_logger(PROGRAM, logger.pk, place_id=room.pk, at=BEGIN)
        at = int(BEGIN.timestamp()) + 3600 * np.arange(HOURS)
        none = np.full(HOURS, np.nan)
        storing.add("climate_reading", logger.number, 0, Batch(at, t[:HOURS].round(1), rh[:HOURS].round(1), none, np.zeros(HOURS, dtype=np.int64)))
        loggers.append(logger)
    racks = [_rack(room, n < COLDER) for n, room in enumerate(rooms[: COLDER + BY_QUALITY])]
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM places_stay WHERE component_id IS NOT NULL")
        step = timedelta(days=365.2 * YEARS / (MOVES + 1))
        cursor.execute(_STAYS, {"begin": BEGIN, "step": step, "moves": MOVES, "rooms": [place.pk for place in [*rooms, *racks]]})
        assert cursor.rowcount == THINGS * (MOVES + 1)
        cursor.execute("ANALYZE")
    return loggers


def _rack(room: Place, by_difference: bool) -> Place:
    """A rack against the outer wall of a room, all these years."""
    rack = make_place(PROGRAM, place_id=uuid7(), level="unit", code=f"{room.code}-W", name="Against the wall", parent_id=room.pk)
    day = BEGIN.date()
    if by_difference:
        tell_wall(PROGRAM, rack.pk, colder=3.0, on=day, measured_on=day, reason="measured")
    else:
        tell_wall_by_quality(PROGRAM, rack.pk, readings=Readings(18.0, 12.6, 0.0), on=day, measured_on=day, reason="measured")
    return rack


def memory() -> int:
    """Megabytes at the highest since `memory_from_now`."""
    found = re.search(r"VmHWM:\s+(\d+)", Path("/proc/self/status").read_text(encoding="utf-8"))
    return int(found[1]) // 1024 if found else 0


def memory_from_now() -> None:
    """Forgets how high it was before."""
    Path("/proc/self/clear_refs").write_text("5", encoding="utf-8")


def _watched(name: str, work: Work) -> Work:
    def whole() -> object:
        memory_from_now()
        with museum_of(THINGS):
            answer = work()
        print(f"# {name}: {answer} components of a material, at most {memory()} MB", flush=True)
        assert memory() < MOST_MEGABYTES
        return answer

    return whole


@aimed("exposure_from_nothing", seconds=300)
def exposure_from_nothing() -> Work:
    with museum_of(THINGS):
        house()

    def work() -> object:
        with clock.at(NOW):
            done = exposure.rebuild()
        assert Exposure.objects.count() > THINGS * 12 * YEARS * 0.9
        assert WallExposure.objects.count() > THINGS * 12 * YEARS * 0.1
        return done

    return _watched("exposure_from_nothing", work)


@aimed("exposure_of_a_new_day", seconds=10, runs=3)
def exposure_of_a_new_day() -> Work:
    """Twenty files of one day each are brought in; then what follows from them."""
    with museum_of(THINGS):
        loggers = house()
        with clock.at(NOW):
            ExposureMark.objects.all().delete()
            following.catch_up()
    days = iter(range(1, 100))

    def work() -> object:
        day = next(days)
        with clock.at(NOW + timedelta(days=day)):
            for logger in loggers:
                _one_day(logger, NOW + timedelta(days=day - 1))
            return following.catch_up()

    return _watched("exposure_of_a_new_day", work)


def _one_day(logger: Logger, begin: datetime) -> None:
    lines = [f"{begin + timedelta(hours=n):%Y-%m-%dT%H:%M:%SZ},{12 + n / 10:.1f},{60 + n:.1f}" for n in range(24)]
    row = take_file(PROGRAM, Upload(f"{logger.name}.csv", "\n".join(["time utc,temperature C,rh %", *lines, ""]).encode()), logger_id=logger.pk)
    bring_in(PROGRAM, ClimateFile.objects.select_related("file", "logger").get(pk=row.pk), lambda done, total: None)
