"""With which others a logger is compared: of its own building, and of the open air those in the open air; where there is none the page says so."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest
from django.test import Client

from locations.climate import doubts, storing
from locations.climate.actions.loggers import make_logger, place_logger
from locations.climate.doubts import look
from locations.climate.files.reading import Batch
from locations.climate.models import Logger
from locations.places.actions import describe_place, make_place
from locations.places.models import Place
from museum import clock
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from museum.people.models import Person
from tests import stock
from tests.climate.air import Floats, outdoors, room_in, wandering
from tests.climate.air import logger as shown_by

pytestmark = pytest.mark.django_db
START = datetime(2025, 3, 1, tzinfo=UTC)
DAYS = doubts.NOW_DAYS + doubts.BEFORE_DAYS + 2
Browser = Callable[[Person], Client]


def place(code: str, parent: Place, *, outside: bool = False) -> Place:
    made = make_place(PROGRAM, place_id=uuid7(), level="room", code=code, name=code, parent_id=parent.pk)
    if outside:
        describe_place(PROGRAM, made.pk, version=1, spot="outdoors")
    return made


def logger_in(where: Place, name: str) -> Logger:
    made = make_logger(PROGRAM, logger_id=uuid7(), name=name)
    place_logger(PROGRAM, made.pk, place_id=where.pk, at=START)
    return made


def tell(of: Logger, t: Floats, rh: Floats) -> None:
    at = int(START.timestamp()) + 3600 * np.arange(len(t))
    storing.add("climate_reading", of.number, 0, Batch(at, t, rh, np.full(len(t), np.nan), np.zeros(len(t), dtype=np.int64)))


def sunned(rng: np.random.Generator, t: Floats, first: int) -> Floats:
    """What hangs in the sun for six hours of the day from `first` on is up to 3 K warmer, on some days more than on others."""
    hour = np.arange(len(t)) % 24
    lit = np.where((hour >= first) & (hour < first + 6), np.sin(np.pi * (hour - first) / 6), 0)
    clear = np.repeat(np.clip(0.5 + wandering(rng, len(t) // 24, 0.7, 0.4), 0, 1), 24)
    warmer: Floats = t + 3 * lit * clear + wandering(rng, len(t), 0.9, 0.3)
    return warmer


@pytest.mark.parametrize(("hours", "suspected"), [(0, []), (1, [("clock", "O-1", "O-2")]), (-1, [("clock", "O-1", "O-2")])])
def test_two_in_the_open_air_are_compared_though_the_sun_finds_them_at_other_hours(society: Any, hours: int, suspected: list[Any]) -> None:
    """One of a farther house, and a room beside them that is compared with neither."""
    hall, store, _ = stock.shelf()
    other = make_place(PROGRAM, place_id=uuid7(), level="building", code="B", name="Boat house")
    rng = np.random.default_rng(81)
    (t, e), cut = outdoors(rng, 24 * DAYS, 1), 24 * (DAYS - doubts.NOW_DAYS)
    for name, where, first in (("O-1", place("H-Y", hall, outside=True), 6), ("O-2", place("B-Y", other, outside=True), 12)):
        warm, rh = shown_by(rng, sunned(rng, t[:, 0], first), e[:, 0])
        if name == "O-1" and hours:
            warm, rh = (np.concatenate((values[:cut], np.roll(values, hours)[cut:])) for values in (warm, rh))
        tell(logger_in(where, name), warm, rh)
    within = room_in(rng, t, e)
    tell(logger_in(store, "A"), *shown_by(rng, within[0][:, 0], within[1][:, 0]))
    with clock.at(START + timedelta(days=DAYS, hours=6)):
        found = look()
    assert [(one.kind, one.logger.name, one.other.name if one.other else "") for one in found] == suspected
    for one in found:
        assert one.evidence["hours"] == pytest.approx(hours, abs=0.3)


@pytest.mark.parametrize(("apart", "suspected"), [(1.1, ["O-1"]), (1.3, [])])
def test_of_two_in_the_open_air_that_have_too_little_in_common_nothing_is_told(society: Any, apart: float, suspected: list[str]) -> None:
    """Each in a wind of its own, of 1.1 or 1.3 K: the changes correlate at 0.74 or 0.67, and below 0.7 (ours) a lag may be the sun's."""
    hall, _store, _ = stock.shelf()
    where, rng = place("H-Y", hall, outside=True), np.random.default_rng(83)
    (t, e), cut = outdoors(rng, 24 * DAYS, 1), 24 * (DAYS - doubts.NOW_DAYS)
    for name in ("O-1", "O-2"):
        warm, rh = shown_by(rng, t[:, 0] + wandering(rng, 24 * DAYS, 0.9, apart), e[:, 0])
        if name == "O-1":
            warm, rh = (np.concatenate((values[:cut], np.roll(values, 1)[cut:])) for values in (warm, rh))
        tell(logger_in(where, name), warm, rh)
    with clock.at(START + timedelta(days=DAYS, hours=6)):
        assert [one.logger.name for one in look() if one.kind == "clock"] == suspected


def test_one_in_a_thick_box_in_the_yard_answers_later_as_it_always_did(society: Any) -> None:
    """That lag is no error of a clock, as it would be between two in one room."""
    hall, store, _ = stock.shelf()
    where, rng = place("H-Y", hall, outside=True), np.random.default_rng(82)
    t, e = outdoors(rng, 24 * DAYS, 1)
    for yard, room, late in (("O-1", "A", 0), ("O-2", "B", 1)):
        tell(logger_in(where, yard), *(np.roll(values, late) for values in shown_by(rng, t[:, 0], e[:, 0])))
        tell(logger_in(store, room), *(np.roll(values, late) for values in shown_by(rng, t[:, 0] / 2 + 6, e[:, 0] / 2)))
    with clock.at(START + timedelta(days=DAYS, hours=6)):
        assert [(one.kind, one.logger.name) for one in look() if one.kind == "clock"] == [("clock", "A")]


def test_a_clock_that_cannot_be_compared_is_said_to_be_so(society: Any, volunteer: Person, as_person: Browser) -> None:
    hall, store, shelf = stock.shelf()
    other = make_place(PROGRAM, place_id=uuid7(), level="building", code="B", name="Boat house")
    inside, outside = logger_in(store, "A"), logger_in(place("H-Y", hall, outside=True), "O-1")
    far, client = logger_in(place("B-R", other), "B"), as_person(volunteer)

    def alone() -> list[str]:
        pages = {one.name: client.get(f"/climate/loggers/{one.pk}/").content.decode() for one in (inside, outside, far)}
        return [name for name, page in pages.items() if f"The clock of {name} cannot be compared" in page]

    assert alone() == ["A", "O-1", "B"], "neither with the open air nor with another building"
    logger_in(shelf, "A-2")
    assert alone() == ["O-1", "B"]
    logger_in(place("B-Y", other, outside=True), "O-2")
    assert alone() == ["B"]
    in_a_drawer = make_logger(PROGRAM, logger_id=uuid7(), name="D")
    assert "cannot be compared" not in client.get(f"/climate/loggers/{in_a_drawer.pk}/").content.decode()


def test_drift_of_a_lone_logger_is_not_held_against_rooms_of_other_buildings(society: Any) -> None:
    """Two buildings under one weather; in the room of the other one the damp comes and goes by itself."""
    hall, store, _ = stock.shelf()
    other = make_place(PROGRAM, place_id=uuid7(), level="building", code="B", name="Boat house")
    rng, days = np.random.default_rng(64), 640
    outside = outdoors(rng, 24 * days, 1)
    for name, where, air in (("A", store, room_in(rng, *outside)), ("B", place("B-R", other), room_in(rng, *outside)), ("O", None, outside)):
        t, rh = shown_by(rng, air[0][:, 0], air[1][:, 0])
        drift = np.clip((np.arange(24 * days) / 24 - 420) * 8 / 182, 0, None) if name == "A" else 0
        tell(logger_in(where or place("H-Y", hall, outside=True), name), t, np.clip(rh + drift, 1, 100))
    with clock.at(START + timedelta(days=days, hours=6)):
        found = [one for one in look() if one.kind == "drift"]
    assert [(one.logger.name, one.evidence["others"]) for one in found] == [("A", 0)]
