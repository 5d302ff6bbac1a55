"""The demo's two years of climate: by a recipe that behaves like houses do, told through the importer and the actions."""

from datetime import date, datetime, timedelta
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from collection.objects.models import Number
from locations.climate import attention, queries, spans, walls
from locations.climate.models import (
    Calibration,
    ClimateAlarm,
    ClimateFile,
    Exposure,
    Logger,
    LoggerStay,
    Reading,
    Rival,
    Spot,
    Suspicion,
    Wall,
)  # fmt: skip
from locations.climate.science.damp import longest_run
from locations.places.models import Stay
from museum import clock
from museum.desk.demo import air, climate, museum
from museum.history.verify import verify

ZONE = ZoneInfo("Europe/London")
NOW = datetime(2026, 11, 25, 19, tzinfo=ZONE)
OPEN = [3, 6]


@cache
def house() -> tuple[air.Weather, dict[str, air.Room], dict[str, Any]]:
    hours = list(air.hours_of(NOW.date() - timedelta(days=air.DAYS), NOW))
    damp = air.damp_autumn(NOW.date())
    outside = air.weather(hours, damp)
    off = datetime(2025, 12, 22, 17, tzinfo=ZONE), datetime(2026, 1, 14, 9, tzinfo=ZONE)
    rooms = {code: air.room(it, outside, OPEN, seeps=air.SEEPS if it.machine else 0.0, off=off if it.machine else None) for code, it in air.ROOMS.items()}
    days = np.array([hour.date() for hour in hours])
    return outside, rooms, {"damp": (days >= damp[0]) & (days <= damp[1]), "off": np.array([off[0] <= hour < off[1] for hour in hours])}


def test_the_same_hours_have_the_same_air() -> None:
    hours = list(air.hours_of(date(2026, 3, 1), datetime(2026, 4, 10, 12, tzinfo=ZONE)))
    one, other = (air.weather(hours, air.damp_autumn(NOW.date())) for _ in range(2))
    assert (one.t == other.t).all()
    assert (one.e == other.e).all()
    assert len(set(hours)) == len(hours), "the hour that summer time takes or repeats is one hour each"


def test_it_is_weather_and_no_noise() -> None:
    outside, rooms, _ = house()
    month = np.array([hour.month for hour in outside.clock])
    assert outside.t[month == 7].mean() - outside.t[month == 1].mean() > 10
    _, rh = air.outside_figures(outside)
    assert 70 < rh.mean() < 85
    for values in (outside.t, rooms["H-COLD"].rh, rooms["H-HALL"].rh):
        off = values - values.mean()
        # an hour is much like the last, and a day like the day before
        assert off[1:] @ off[:-1] / (off @ off) > 0.95
        assert off[24:] @ off[:-24] / (off @ off) > 0.5


def test_rooms_are_steadier_than_the_weather_and_the_heavy_one_most() -> None:
    outside, rooms, _ = house()
    swing = {code: float(np.ptp(room.t[: len(room.t) // 24 * 24].reshape(-1, 24), axis=1).mean()) for code, room in rooms.items()}
    out = float(np.ptp(outside.t[: len(outside.t) // 24 * 24].reshape(-1, 24), axis=1).mean())
    assert max(swing.values()) < out
    assert min(swing, key=lambda code: swing[code]) == "H-COLD"


def test_the_store_was_damp_behind_its_north_wall_and_not_in_its_middle() -> None:
    outside, rooms, of = house()
    store = rooms["H-COLD"]
    _, wall = store.behind(air.NORTH, air.LINGERS * outside.damp)
    middle, behind = (longest_run(np.where(of["damp"], rh, np.nan), 65) for rh in (store.rh, wall))
    assert behind
    assert behind.hours > 61
    assert behind.hours > 3 * (middle.hours if middle else 0)
    usual = ~of["damp"] & ~of["off"]
    assert (store.rh[usual] > 65).mean() < 0.02, "the machine holds it"


def test_the_machine_stood_still_over_christmas_and_the_damp_rose() -> None:
    _outside, rooms, of = house()
    store = rooms["H-COLD"]
    emptied = [litres for at, litres in store.litres.items() if datetime(2025, 12, 25, tzinfo=ZONE) < at < datetime(2026, 1, 14, tzinfo=ZONE)]
    assert emptied
    assert set(emptied) == {0.0}
    begin, end = np.flatnonzero(of["off"])[[0, -1]]
    assert store.rh[end] > store.rh[begin] + 5
    before = sum(litres for at, litres in store.litres.items() if datetime(2026, 8, 1, tzinfo=ZONE) < at < datetime(2026, 9, 20, tzinfo=ZONE))
    damp = sum(litres for at, litres in store.litres.items() if datetime(2026, 10, 1, tzinfo=ZONE) < at < datetime(2026, 11, 20, tzinfo=ZONE))
    assert damp > 1.3 * before, "what seeps in shows in the tank"


@pytest.mark.parametrize(
    ("today", "autumn", "christmas"), [(date(2026, 11, 25), 2026, 2025), (date(2026, 10, 1), 2025, 2025), (date(2026, 12, 28), 2026, 2026)]
)
def test_the_stories_lie_behind_any_today(today: date, autumn: int, christmas: int) -> None:
    assert air.damp_autumn(today)[0].year == autumn
    begin, _ = climate.broken(today)
    assert (begin.year, begin.date() <= today) == (christmas, True)


@pytest.mark.django_db
def test_all_of_it_comes_in_through_the_importer(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(museum, "GENERATED", 0)
    museum.load("a lamp in the hose tower")
    assert set(ClimateFile.objects.values_list("state", flat=True)) == {"done"}
    assert Rival.objects.count() == 0
    loggers = {one.name: one for one in Logger.objects.all()}
    assert len(loggers) == len(climate.DIALS) + 2 == 7
    spoken = {name: queries.readings(one, clock.now() - timedelta(days=800), clock.now()) for name, one in loggers.items()}
    for name in ("T-1 hall", "T-3 cold store", "T-4"):
        at = spoken[name].at
        assert (np.diff(at) == 3600).all(), "not an hour missing, whatever the clock shows"
        assert clock.now().timestamp() - at[-1] < 3 * 86_400
        assert len(at) > 720 * 24
    hole = np.diff(spoken["T-2 gallery"].at).max() / 86_400
    assert 25 < hole < 35
    assert loggers["T-2 gallery"].battery_on
    assert [one.logger.name for one in attention.silent()] == ["T-5 boat shed"]
    assert [(one.logger.name, bool(one.battery_on), bool(one.checked_on)) for one in attention.worn()] == [("T-4", True, True), ("T-5 boat shed", True, True)]
    assert LoggerStay.objects.filter(logger=loggers["T-4"]).count() == 2
    assert Reading.objects.filter(logger=loggers["T-4"].number, flags__gt=0).exists(), "carried in a hand"
    moved = LoggerStay.objects.select_related("place").get(logger=loggers["T-4"], during__endswith=None)
    assert (moved.place.code, queries.speaks_for(moved.place_id)) == (climate.BEHIND, [loggers["T-4"]])
    behind = longest_run(spoken["T-4"].rh[spoken["T-4"].at >= moved.during.lower.timestamp()], 65)
    assert behind
    assert behind.hours > 61, "the damp autumn, as it was imported"
    stopped, found = climate.broken(clock.today())
    typed = Spot.objects.filter(litres__gte=0, happened_at__gt=stopped + timedelta(days=3), happened_at__lt=found).values_list("litres", flat=True)
    assert set(typed) <= {0.0}, "nothing in the tank while the machine stood still"
    assert Calibration.objects.filter(logger=loggers["T-3 cold store"]).count() == 2
    assert Spot.objects.filter(litres__gt=0).count() > 100
    assert Spot.objects.filter(rh__gt=0).values("place").distinct().count() == 5
    lent = Number.objects.get(text=climate.LENT).object
    stay = Stay.objects.get(component__object=lent, component__sort="main", during__contains=clock.now())
    assert (stay.to, stay.place) == ("on_loan", None)
    away = Exposure.objects.filter(component__object=lent, component__sort="main").order_by("month").last()
    assert away
    assert away.known == 0, "nobody knows what it lives through elsewhere"
    assert Exposure.objects.filter(damp_longest__gt=61).exists()
    gable = Wall.objects.select_related("place").get(quality=None)
    north = Wall.objects.select_related("place").get(colder=None)
    assert north.place.code == climate.BEHIND
    assert 0.8 < north.quality < 0.97, "a thick wall with a little of the weather in it"
    beside = walls.beside(north.place)
    assert beside.known > 24 * 200, "known by the store and the yard, until a logger hung there"
    coldest, warmest = beside.warmth
    assert coldest < 5 < 15 < warmest, "of winter and summer"
    assert not ClimateAlarm.objects.filter(place__code=climate.YARD).exists(), "the open air is damp as it will"
    told = ClimateAlarm.objects.filter(figures__has_key="colder", corrected_by=None, withdraws=False)
    assert (gable.place.code, {one.place_id for one in told}) == (climate.GABLE[0], {gable.place_id}), "a dry hall, and a case at its gable"
    assert not ClimateAlarm.objects.filter(place__code="H-HALL", kind="mould", corrected_by=None, withdraws=False).exists()
    for name in ("T-2 gallery", "T-6 hall"):
        assert np.nanmax(spoken[name].lux) > 40, name
    assert Spot.objects.filter(lux__gt=0, uv__gt=0).values("place").distinct().count() == 2
    suspicion = Suspicion.objects.select_related("logger", "other").get()
    assert (suspicion.kind, suspicion.logger.name, suspicion.other and suspicion.other.name) == ("drift", "T-1 hall", "T-6 hall")
    assert suspicion.evidence["size"] > 0
    noticed = clock.today() - date.fromisoformat(suspicion.evidence["noticed_on"])
    assert climate.DRIFTS - 60 <= noticed.days <= climate.DRIFTS, "within two months of its beginning"
    assert clock.now() - timedelta(days=climate.DRIFTS + 60) < suspicion.begin < clock.now() - timedelta(days=climate.DRIFTS - 60)
    assert 1.2 < suspicion.evidence["now"] < 3
    assert verify().broken_at is None
    assert spans.rebuild() == 7


def test_light_is_that_of_lamps_and_blinds() -> None:
    hours = list(air.hours_of(date(2025, 11, 25), NOW))
    lux = air.light(hours, OPEN, lamps=70, windows=45)
    on = np.array([hour.isoweekday() in OPEN and hour.hour in air.OPEN for hour in hours])
    night = np.array([hour.hour in (0, 1, 2, 3) for hour in hours])
    assert (lux[night] == 0).all()
    assert lux[on].min() >= 70
    # CIE 157:2004: 150,000 lx h a year for medium things; a case lit on two days a week uses a good part of it and not all
    assert 60_000 < lux[-8760:].sum() < 150_000
