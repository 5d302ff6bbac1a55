"""What a thing lived through since a day is what a plain count of its readings since that day gives: hour by hour, with no row of a month in it."""

import math
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from collection.objects.models import Object
from conservation.checks.actions.record import record_check
from locations.climate import exposure
from locations.climate.lives import Lived, life_of
from locations.climate.models import Exposure
from locations.places.actions import make_place
from museum import clock
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from tests import stock
from tests.climate.test_exposure import START, logger_at, put, tell

pytestmark = pytest.mark.django_db
HOURS = 24 * 130
END = START + timedelta(hours=HOURS)
Rh = list[float]


def plainly(rh: Rh, t: Rh, low: float, high: float, energy: float) -> dict[str, float]:
    """One hour after the other. Limits: Western Australian Museum (leather 45 to 65 %); ageing: Michalski 2002; days to mould: conservation practice 7.3."""
    told = {"known": 0.0, "unknown": 0.0, "over": 0.0, "under": 0.0, "damp": 0.0, "wet": 0.0, "over_longest": 0.0, "damp_longest": 0.0, "share": 0.0}
    rate, over, damp = 0.0, 0, 0
    for humid, warm in zip(rh, t, strict=True):
        if math.isnan(humid):
            told["unknown"] += 1
            over = damp = 0
            continue
        told["known"] += 1
        told["under"] += humid < low
        told["wet"] += humid > 80 and warm > 0
        over, damp = over + 1 if humid > high else 0, damp + 1 if humid > 65 else 0
        told["over"] += over > 0
        told["damp"] += damp > 0
        told["over_longest"], told["damp_longest"] = max(told["over_longest"], over), max(told["damp_longest"], damp)
        if humid > 65:
            capped = min(humid, 90)
            told["share"] += 1 / 24 / (100 * 10 ** (-(capped - 70) / 10) if capped <= 80 else 10 * 0.2 ** ((capped - 80) / 10))
        rate += (max(10, min(95, humid)) / 50) ** 1.3 * math.exp(-energy * 1000 / 8.314 * (1 / (warm + 273.15) - 1 / 293.15))
    return told | {"ageing": told["known"] / rate if rate else math.nan}


def told(one: Lived) -> dict[str, float]:
    names = ("known", "unknown", "over", "under", "damp", "wet", "over_longest", "damp_longest")
    return {name: getattr(one, name) for name in names} | {"share": sum(row.share for row in one.rows), "ageing": one.ageing or math.nan}


def leather(thing: Object, since: date | None, *, exact: bool = True) -> Lived | None:
    return next((one for one in life_of(thing, since=since, exact=exact).parts if one.limits.mould == "VS" and one.limits.high == 65), None)


@pytest.fixture
def moved(society: Any) -> tuple[Object, Rh, Rh]:
    """130 days in two rooms, from dry to soaking and back, with long gaps; and hour by hour what the air was where it stood."""
    hall, store, board = stock.shelf()
    dry = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-D", name="Dry room", parent_id=hall.pk, use="store")
    rng, n = np.random.default_rng(11), np.arange(HOURS)
    damp = np.clip(74 + 16 * np.sin(n / 170) + rng.normal(0, 2, HOURS), 30, 98).round(1)
    # From 3 October to 20 November not an hour without damp: a run over more than one end of a month.
    damp[24 * 23 : 24 * 71] = np.clip(damp[24 * 23 : 24 * 71], 66, 98)
    for begin in (300, 320, 1900, 2500, 3000):
        damp[begin : begin + int(rng.integers(5, 60))] = np.nan
    warm, fair = (16 + 5 * np.sin(n / 400)).round(1), np.clip(damp - 32, 30, 98).round(1)
    tell(logger_at(store, "T-1"), damp, t=warm)
    tell(logger_at(dry, "T-2"), fair, t=warm)
    thing = stock.helmet()
    put(thing, board, START)
    put(thing, dry, START + timedelta(hours=2200, minutes=30))
    put(thing, board, START + timedelta(hours=2600))
    lived = damp.copy()
    lived[2201:2600] = fair[2201:2600]
    with clock.at(END):
        exposure.refresh()
    return thing, lived.tolist(), warm.tolist()


def hour_of(day: date, zone: ZoneInfo) -> int:
    return int((datetime.combine(day, datetime.min.time(), zone) - START).total_seconds() // 3600)


@pytest.mark.parametrize("zone", ["Europe/London", "America/New_York", "Asia/Tokyo"])
def test_since_any_day_is_a_plain_count_since_then(moved: Any, settings: Any, zone: str) -> None:
    settings.TIME_ZONE = zone
    thing, rh, t = moved
    some = [date(2025, 10, 1), date(2025, 10, 31), date(2025, 12, 6)]
    days = [date(2025, 9, 11) + timedelta(days=n) for n in range(129)] if zone == "Europe/London" else some
    with clock.at(END):
        for day in days:
            found, begin = leather(thing, day), hour_of(day, ZoneInfo(zone))
            assert found is not None, day
            assert told(found) == pytest.approx(plainly(rh[begin:], t[begin:], 45, 65, 100), nan_ok=True), day
        whole = leather(thing, None)
        assert whole is not None
        assert told(whole) == pytest.approx(plainly(rh, t, 45, 65, 100))


def test_the_mould_is_that_of_all_its_hours_whatever_is_counted(moved: Any) -> None:
    thing, _, _ = moved
    with clock.at(END):
        whole, lately = leather(thing, None), leather(thing, date(2025, 12, 24))
    assert whole
    assert lately
    assert whole.mould.mould > 0.2
    assert (lately.mould.mould, lately.mould.mould_unknown) == (whole.mould.mould, whole.mould.mould_unknown)
    assert len(lately.rows) == 2
    assert Exposure.objects.get(pk=lately.rows[0].pk).known > lately.rows[0].known, "what is kept stays as it is"


def test_today_has_hours_and_tomorrow_none(moved: Any) -> None:
    thing, _, _ = moved
    with clock.at(END + timedelta(hours=10)):
        exposure.refresh()
        today = leather(thing, clock.today())
        assert today is not None
        assert today.known + today.unknown == 10
        assert leather(thing, clock.today() + timedelta(days=1)) is None


def test_who_may_not_know_the_place_is_told_of_months_and_since_the_last_check(moved: Any, volunteer: Any) -> None:
    """Day by day the sums beside the rooms' own figures would tell where it stood."""
    thing, rh, t = moved
    with clock.at(datetime(2025, 11, 18, 15, tzinfo=UTC)):
        record_check(Actor.of(volunteer), stock.full_check(thing))
    with clock.at(END):
        for day, first in ((date(2025, 11, 14), date(2025, 11, 1)), (date(2025, 11, 18), date(2025, 11, 18))):
            found = leather(thing, day, exact=False)
            begin = hour_of(first, ZoneInfo("Europe/London"))
            assert found is not None
            assert told(found) == pytest.approx(plainly(rh[begin:], t[begin:], 45, 65, 100))
            assert life_of(thing, since=day, exact=False).since == first
