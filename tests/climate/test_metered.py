"""A light meter and stated open hours give an estimate of a thing's dose: the reference's worked examples, seasons and moves by plain counts."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from locations.climate.actions.spots import SpotEntry, read_by_hand
from locations.climate.lives import light_of
from locations.climate.metered import metered
from locations.places.actions import make_place
from locations.places.models import Place
from museum import clock
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from tests import stock
from tests.climate.test_exposure import put

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)
BEGIN = NOW - timedelta(days=400)


def read(place: Place, lux: float, *days: str, hour: int = 12) -> None:
    for day in days:
        at = datetime.fromisoformat(f"{day}T{hour:02}:00:00+00:00")
        with clock.at(NOW):
            read_by_hand(PROGRAM, [SpotEntry(uuid7(), place.pk, lux=lux)], at=at)


def test_the_worked_example_of_a_year(society: Any) -> None:
    """Reference LGT-001: 50 lx, 8 h on 6 days of 52 weeks are 124 800 lx h; a year has a day more than 52 weeks. The logger's dose stays what it was."""
    _, store, board = stock.shelf()
    thing = stock.helmet()
    put(thing, board, BEGIN)
    read(store, 50, "2026-01-10", "2026-04-10", "2026-07-10", "2026-10-10")
    with clock.at(NOW):
        found = metered(thing, 48)
        light = light_of(thing)
    assert found is not None
    assert (found.days, found.unknown, found.readings) == (365, 0, 4)
    assert found.dose * 364 / 365 == pytest.approx(124_800)
    assert light is not None
    assert light.dose == 0


def test_each_season_by_its_own_reading_and_what_nobody_read_is_unknown(society: Any) -> None:
    hall, store, board = stock.shelf()
    case = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-C", name="Case room", parent_id=hall.pk, use="display")
    thing = stock.helmet()
    put(thing, board, BEGIN)
    put(thing, case, datetime(2026, 7, 1, 9, tzinfo=UTC))
    read(store, 40, "2026-01-10", "2026-02-10")
    read(store, 100, "2026-04-10")
    read(case, 200, "2026-08-01")
    with clock.at(NOW):
        found = metered(thing, 42)
    assert found is not None
    # 20 to 30 November nobody read, nor June in the store (1 July, begun there, too), nor the case in autumn
    winter, spring, summer = 90, 92, 61
    assert (found.days, found.unknown) == (winter + spring + summer, 365 - winter - spring - summer)
    assert found.dose == pytest.approx(6 * (winter * 40 + spring * 100 + summer * 200))


def test_several_readings_of_a_day_are_joined_as_the_reference_joins_them(society: Any) -> None:
    """LGT-023: 40, 120, 200, 160, 60 lx at 9, 11, 13, 15, 17 h are 1060 lx h of eight hours."""
    _, store, board = stock.shelf()
    thing = stock.helmet()
    put(thing, board, NOW - timedelta(days=10))
    for hour, lux in ((9, 40), (11, 120), (13, 200), (15, 160), (17, 60)):
        read(store, lux, "2026-11-12", hour=hour)
    with clock.at(NOW):
        found = metered(thing, 56)
    assert found is not None
    assert found.dose == pytest.approx(1060 * found.days)
    with clock.at(NOW):
        today = clock.today()
        none = metered(thing, 56, frozenset(today - timedelta(days=n) for n in range(20)))
    assert none is None, "days of which a logger measured the light are not estimated"


def test_nothing_was_read(society: Any) -> None:
    _, _, board = stock.shelf()
    thing = stock.helmet()
    put(thing, board, BEGIN)
    with clock.at(NOW):
        assert metered(thing, 48) is None


def test_a_building_is_too_large_for_one_reading_and_one_of_two_years_ago_says_nothing_now(society: Any) -> None:
    hall, store, board = stock.shelf()
    thing = stock.helmet()
    put(thing, board, BEGIN)
    read(hall, 50, "2026-07-10")
    read(store, 50, "2025-07-10")
    with clock.at(NOW):
        assert metered(thing, 48) is None
    read(board, 50, "2026-07-11")
    with clock.at(NOW):
        found = metered(thing, 48)
    assert found is not None
    assert (found.days, found.readings) == (92, 1), "of the shelf itself, in its summer"


def test_the_page_tells_it_beside_the_bar_as_an_estimate(society: Any, curator: Any, as_person: Any) -> None:
    _, store, board = stock.shelf()
    thing = stock.helmet()
    put(thing, board, BEGIN)
    read(store, 50, "2026-01-10", "2026-04-10", "2026-07-10", "2026-10-10")
    with clock.at(NOW):
        client = as_person(curator)
        text = client.get(f"/climate/things/{thing.pk}/?light=on&hours=48").content.decode()
        assert "Estimate by hand, not in the bar: about 125,143 lx h more" in text
        assert "at 48 open hours a week" in text
        assert "at 56 open hours a week" in client.get(f"/climate/things/{thing.pk}/?light=on&hours=999").content.decode()
        assert "Estimate by hand" not in client.get(f"/climate/things/{thing.pk}/").content.decode()
