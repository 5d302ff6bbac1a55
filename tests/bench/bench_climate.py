"""The mould index of ten years of hours of twenty loggers, all four classes, against bare rates and a bare clamp."""

import csv

import numpy as np
from numpy.typing import NDArray

from locations.climate.science.mould import MouldClass, mould_class, mould_index, surface_hours
from tests.bench.harness import Work, measure
from tests.reference.tables import reference_path

LOGGERS, HOURS = 20, 87_660
CLASSES = [mould_class(code) for code in ("VS", "S", "MR", "R")]
Floats = NDArray[np.float64]


def _stores() -> list[tuple[Floats, Floats]]:
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
    stores = _stores()

    def ours() -> object:
        prepared = (surface_hours(t, rh) for t, rh in stores)
        return [mould_index(hours, kind) for hours in prepared for kind in CLASSES]

    def floor() -> object:
        return [_floor(t, rh, kind) for t, rh in stores for kind in CLASSES]

    return ours, floor
