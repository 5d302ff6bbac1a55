"""The mould index of ten years of twenty loggers against bare rates and a bare clamp; a million readings through the import against a bare COPY."""

import csv

import numpy as np
from django.db import connection
from numpy.typing import NDArray

from locations.climate.actions.files import Upload, take_file
from locations.climate.actions.loggers import make_logger
from locations.climate.importing import bring_in
from locations.climate.models import ClimateFile, Logger
from locations.climate.science.mould import MouldClass, mould_class, mould_index, surface_hours
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from tests.bench.harness import Work, measure
from tests.bench.museums import museum_of
from tests.reference.tables import reference_path

LOGGERS, HOURS = 20, 87_660
CLASSES = [mould_class(code) for code in ("VS", "S", "MR", "R")]
Floats = NDArray[np.float64]


def stores() -> list[tuple[Floats, Floats]]:
    """A real year over and over; each store a little warmer and drier or colder and damper than the next."""
    with reference_path("real_climate.csv").open(encoding="utf-8", newline="") as lines:
        year = np.array([(float(row["temperature_c"]), float(row["rh_percent"])) for row in csv.DictReader(lines)])
    t, rh = np.resize(year[:, 0], HOURS), np.resize(year[:, 1], HOURS)
    return [(np.roll(t, 97 * i) + 0.2 * i, np.clip(np.roll(rh, 97 * i) + 6 - i, 5, 100)) for i in range(LOGGERS)]


def _floor(t: Floats, rh: Floats, kind: MouldClass) -> float:
    """The rates by numpy, growth and decline alike, then nothing but the sum held between 0 and 6: no ceiling, no dry-hour count."""
    critical = np.where(t <= 20, np.maximum(-0.00267 * t**3 + 0.160 * t**2 - 3.13 * t + 100, kind.rh_min), kind.rh_min)
    growth = kind.k1_below_1 / (168 * np.exp(-0.68 * np.log(np.maximum(t, 0.1)) - 13.9 * np.log(rh) + 66.02))
    index = 0.0
    for rate in np.where((t > 0) & (rh >= critical), growth, -0.25 * 0.016 / 24).tolist():
        index += rate
        if index < 0:
            index = 0.0
        elif index > 6:
            index = 6.0
    return index


@measure("mould_index_ten_years", goal=1.5, runs=5)
def mould_index_ten_years() -> tuple[Work, Work]:
    ten_years = stores()

    def ours() -> object:
        prepared = (surface_hours(t, rh) for t, rh in ten_years)
        return [mould_index(hours, kind) for hours in prepared for kind in CLASSES]

    def floor() -> object:
        return [_floor(t, rh, kind) for t, rh in ten_years for kind in CLASSES]

    return ours, floor


READINGS = 1_000_000
COLUMNS = "logger, flags, file, at, t, rh"


def _file() -> bytes:
    """Ten minutes apart, nineteen years: two decimals of warmth and damp that never repeat for long."""
    n = np.arange(READINGS)
    at = (np.datetime64("2005-01-01T00:00:00") + n * np.timedelta64(600, "s")).astype(str).tolist()
    t = (12 + 8 * np.sin(n / 8_000) + (n * 7 % 97) / 97).round(2).tolist()
    rh = (62 + 15 * np.sin(n / 5_000) + (n * 11 % 89) / 89).round(2).tolist()
    rows = [f"{when}Z,{warm:.2f},{damp:.2f}\n" for when, warm, damp in zip(at, t, rh, strict=True)]
    return ("time utc,temperature C,rh %\n" + "".join(rows)).encode()


def _emptied() -> None:
    with connection.cursor() as cursor:
        cursor.execute("SET session_replication_role = replica; TRUNCATE climate_reading, climate_rival; SET session_replication_role = origin")


def _brought_in(data: bytes, of: Logger) -> int:
    row = take_file(PROGRAM, Upload("readings.csv", data), logger_id=of.pk)
    done = bring_in(PROGRAM, ClimateFile.objects.select_related("file", "logger").get(pk=row.pk), lambda done, total: None)
    return int(done.counts["stored"])


def _another(name: str) -> Logger:
    return make_logger(PROGRAM, logger_id=uuid7(), name=f"{name} {uuid7()}")


@measure("readings_import", goal=2.5, runs=3)
def readings_import() -> tuple[Work, Work]:
    """From the bytes as they were sent to the last row, read, checked, flagged; the floor copies the same rows from a ready CSV."""
    data = _file()
    ready = "".join(f"1,0,1,{line}" for line in data.decode().splitlines(keepends=True)[1:]).encode()

    def ours() -> object:
        with museum_of(10):
            _emptied()
            assert _brought_in(data, _another("import")) == READINGS
        return None

    def floor() -> object:
        with museum_of(10):
            _emptied()
            with connection.cursor() as cursor, cursor.copy(f"COPY climate_reading ({COLUMNS}) FROM STDIN (FORMAT CSV)") as copy:
                copy.write(ready)
        return None

    return ours, floor


@measure("same_file_again", goal=0.67, runs=3)
def same_file_again() -> tuple[Work, Work]:
    """A file that came before stores nothing; the floor is its first coming."""
    data = _file()

    def first() -> object:
        with museum_of(10):
            _emptied()
            assert _brought_in(data, _another("again")) == READINGS
        return None

    def again() -> object:
        with museum_of(10):
            of = Logger.objects.order_by("-number").first() or _another("again")
            if not of.files.exists():
                _brought_in(data, of)
            assert _brought_in(data, of) == 0
        return None

    return again, first
