"""Charts of the climate measured and pictured: `bin/test tests/browser/measure_charts.py -s -n0`, never part of bin/test.

A room with a year of readings every ten minutes (52,560) and one with a real year. Prints how long the server takes for its page, how long Chromium takes from
the data's arrival to the drawing on the screen (aim 200 ms), and what axe finds; pictures go to var/shots.
"""

import csv
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median
from typing import Final

import numpy as np
import pytest

from locations.climate import exposure, storing
from locations.climate.actions.loggers import make_logger, place_logger
from locations.climate.files.reading import Batch
from locations.climate.models import Logger
from locations.places.actions import make_place, move_object
from locations.places.models import Place
from museum import clock
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from tests.browser.conftest import Museum
from tests.browser.kit import DESK, PHONE, Browsers, ready
from tests.browser.looking import barriers, too_small, too_wide
from tests.climate.air import weather

FOLDER: Final = Path(__file__).resolve().parents[2] / "var" / "shots"
REAL: Final = Path(__file__).resolve().parents[2] / "fixtures" / "reference" / "real_climate.csv"


def heard(place: Place, name: str, at: np.ndarray, t: np.ndarray, rh: np.ndarray, interval: int) -> Logger:
    """A logger that told this of a place."""
    it = make_logger(PROGRAM, logger_id=uuid7(), name=name, interval=interval)
    place_logger(PROGRAM, it.pk, place_id=place.pk, at=datetime.fromtimestamp(int(at[0]), UTC))
    lux = np.where((at // 3600) % 24 > 17, 0.0, np.where((at // 3600) % 24 > 8, 60.0, 0.0))
    storing.add("climate_reading", it.number, 0, Batch(at, t, rh, lux, np.zeros(len(at), dtype=np.int64)))
    return it


@pytest.fixture(scope="module")
def rooms(museum: Museum) -> dict[str, Place]:
    """The store with ten-minute readings, a hole of eleven days and a damp autumn; the hall with the real year."""
    last = int(clock.now().timestamp()) // 3600 * 3600
    at = last - 600 * np.arange(52_560)[::-1]
    t, e = weather(np.random.default_rng(3), 8760)
    t, e = (np.interp(np.arange(52_560) / 6, np.arange(8760), part) for part in (t, e))
    rh = np.clip(e / (6.112 * np.exp(17.62 * t / (243.12 + t))), 20, 99)
    rh[30_000:30_700] = np.clip(rh[30_000:30_700] + 22, 20, 97)
    keep = np.ones(52_560, dtype=bool)
    keep[12_000:13_600] = False
    heard(museum.store, "T-1", at[keep], t[keep], rh[keep], 600)
    move_object(PROGRAM, museum.helmet.pk, place_id=museum.shelf.pk, happened_at=clock.now() - timedelta(days=360))
    found = {"ten-minutes": museum.store}
    if REAL.exists():
        rows = list(csv.DictReader(REAL.open(encoding="utf-8")))
        moments = [int(datetime.fromisoformat(row["timestamp_utc"]).timestamp()) for row in rows]
        firsts = sorted({moment: i for i, moment in reversed(list(enumerate(moments)))}.items())
        real = [[float(rows[i][name] or "nan") for _, i in firsts] for name in ("temperature_c", "rh_percent")]
        hall = make_place(PROGRAM, place_id=uuid7(), level="room", code="R-1", name="Hose tower", parent_id=museum.store.parent_id, use="store")
        heard(hall, "T-2", np.array([moment for moment, _ in firsts]), np.array(real[0]), np.array(real[1]), 3600)
        found["real"] = hall
    exposure.refresh()
    return found


def test_a_year_of_ten_minutes_is_drawn_at_once(browsers: Browsers, museum: Museum, rooms: dict[str, Place]) -> None:
    page = browsers.page(museum.ivo, DESK)
    path = f"/climate/rooms/{rooms['ten-minutes'].pk}/"
    page.goto(path)
    ready(page)
    served = []
    for _ in range(5):
        begun = time.perf_counter()
        page.request.get(path)
        served.append(time.perf_counter() - begun)
    drawn = []
    for n in range(10):
        page.get_by_role("navigation", name="How long a time").get_by_role("link", name="Week" if n % 2 else "Year", exact=True).click()
        page.wait_for_function("(n) => performance.getEntriesByName('chart-drawn').length > n", arg=n)
        if not n % 2:
            drawn.append(page.evaluate("performance.getEntriesByName('chart-drawn').at(-1).duration"))
    print(f"\nserver {1000 * median(served):.0f} ms, drawn {median(drawn):.0f} ms (of {[round(one) for one in drawn]}), {len(page.content()) / 1000:.0f} kB")


@pytest.mark.parametrize("what", ["ten-minutes", "real", "week", "day", "thing", "light", "volunteer"])
def test_pictures(what: str, browsers: Browsers, museum: Museum, rooms: dict[str, Place]) -> None:
    FOLDER.mkdir(parents=True, exist_ok=True)
    store, thing = rooms["ten-minutes"].pk, museum.helmet.pk
    path = {
        "ten-minutes": f"/climate/rooms/{store}/", "real": f"/climate/rooms/{rooms.get('real', rooms['ten-minutes']).pk}/?on=2013-12-31",
        "week": f"/climate/rooms/{store}/?span=week", "day": f"/climate/rooms/{store}/?span=day", "thing": f"/climate/things/{thing}/",
        "light": f"/climate/things/{thing}/?light=on", "volunteer": f"/climate/things/{thing}/",
    }[what]  # fmt: skip
    for size, device in (("390", {**PHONE, "device_scale_factor": 1}), ("1280", DESK)):
        page = browsers.page(museum.marit if what == "volunteer" else museum.ivo, device)
        page.goto(path)
        ready(page)
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
            print(f"\n{what} {size} {scheme}", barriers(page), too_small(page), too_wide(page))
            page.screenshot(path=FOLDER / f"chart-{what}-{size}-{scheme}.png", full_page=True)
