"""What happened in a year of climate, as its report tells it: by day, a line each, nothing that was only amber."""

from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

import numpy as np
import pytest

from conservation.checks.actions.incidents import open_incident
from locations.climate.actions.loggers import change_logger, place_logger
from locations.climate.actions.spots import SpotEntry, read_by_hand
from locations.climate.models import Logger
from locations.climate.tasks import raise_alarms
from museum import clock
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person, Society
from reports.actions import gather
from tests import stock
from tests.climate.test_exposure import logger_at, tell

pytestmark = pytest.mark.django_db
BEGIN = datetime(2025, 9, 10, tzinfo=UTC)
NOON = timedelta(hours=12)


def told(curator: Person, begin: str, end: str, *, at: datetime = datetime(2026, 3, 1, 12, tzinfo=UTC)) -> list[tuple[str, str]]:
    with clock.at(at):
        data = gather(Actor.of(curator), "climate_year", UUID(Society.KEY), {"begin": begin, "end": end}).data
    assert data["happened"]["more"] == 0
    return [(one["on"], one["words"]) for one in data["happened"]["lines"]]


def battery(it: Logger, on: date) -> None:
    one = Logger.objects.get(pk=it.pk)
    change_logger(
        PROGRAM, one.pk, version=one.version, name=one.name, serial=one.serial, clock_kind=one.clock_kind, zone=one.zone, interval=one.interval,
        silent_after=one.silent_after, battery_on=on,
    )  # fmt: skip


def test_days_whose_file_is_not_fetched_yet_are_no_silence(society: Any, curator: Person) -> None:
    """A logger is asked after 35 days without a file; until then somebody goes on his usual round."""
    it = logger_at(stock.shelf()[1], "T-1")
    tell(it, np.full(60 * 24, 50.0), begin=BEGIN)
    for days, silent in ((62, False), (120, True)):
        at = BEGIN + timedelta(days=days)
        lines = told(curator, "2025-09-15", str(at.date()), at=at)
        assert any(said.startswith("No reading after this day") for _, said in lines) is silent


def test_red_alarms_holes_with_their_battery_and_moves_stand_by_day(society: Any, curator: Person) -> None:
    _hall, store, shelf = stock.shelf()
    it, rh = logger_at(store, "T-1"), np.full(120 * 24, 50.0)
    rh[40 * 24 : 44 * 24] = 67.0
    rh[60 * 24 : 70 * 24] = 78.0
    rh[20 * 24 : 30 * 24] = np.nan
    tell(it, rh, begin=BEGIN)
    with clock.at(BEGIN + timedelta(days=30)):
        battery(it, (BEGIN + timedelta(days=30)).date())
    with clock.at(BEGIN + timedelta(days=400)):
        battery(it, (BEGIN + timedelta(days=400)).date())
    with clock.at(BEGIN + timedelta(days=121)):
        raise_alarms()
    place_logger(PROGRAM, it.pk, place_id=shelf.pk, at=BEGIN + timedelta(days=110, hours=10), note="nearer to the wall")
    open_incident(Actor.of(curator), incident_id=uuid7(), kind="mould", place_id=store.pk, opened_on=date(2025, 11, 20), source="a cracked gutter")
    lines = told(curator, "2025-09-01", "2026-01-31")
    assert [on for on, _ in lines] == sorted(on for on, _ in lines)
    put, hole, alarm, outbreak, moved, silent = [said for _, said in lines]
    assert put.startswith("Logger T-1 was put into")
    assert hole == "Nothing is known of Cold store for 240 hours, to 10 October 2025. Logger T-1 got a new battery on 10 October 2025."
    assert alarm.startswith("Red alarm of damp, Cold store: ")
    assert "Over since 19 November 2025." in alarm or "Over since 20 November 2025." in alarm
    assert outbreak == "Mould outbreak in Cold store. It came from: a cracked gutter. Not over."
    assert moved.startswith("Logger T-1 was moved from Cold store to")
    assert moved.endswith("nearer to the wall")
    assert silent == "No reading after this day has come of: Shelf 1."
    assert [one[1] for one in told(curator, "2026-02-01", "2026-02-27")] == [outbreak], "what is over, and moves of before, are no part of later days"


def test_a_machine_that_stopped_at_christmas_and_a_leak(society: Any, curator: Person) -> None:
    """Journey 8: the yearly report shows it."""
    store = stock.shelf()[1]
    litres = [4.0] * 15 + [0.1, 0.0, 0.2] + [4.0] * 10 + [11.0] + [4.0] * 3
    for n, much in enumerate(litres):
        note = "the fan stands still" if n == 16 else ""
        read_by_hand(PROGRAM, [SpotEntry(uuid7(), store.pk, litres=much, note=note)], at=datetime(2025, 12, 10, 10, tzinfo=UTC) + timedelta(days=n))
    lines = dict(told(curator, "2025-12-01", "2026-01-31"))
    assert lines["2025-12-24"].startswith("The dehumidifier in Cold store: its usual litres were emptied last on this day. After it there was next to nothing")
    assert "The usual came again on 28 December 2025." in lines["2025-12-24"]
    assert lines["2025-12-24"].endswith("the fan stands still")
    leak = "11.0 litres a day in place of 4.0: a leak until shown otherwise. Warm wet weather does it too; what it was is not known."
    assert f"{leak} The usual came again on 8 January 2026." in lines["2026-01-07"]
    assert lines["2026-01-10"].endswith("After it nobody wrote any: it may have stood still. The usual has not come again.")
    assert list(dict(told(curator, "2025-12-01", "2026-01-11"))) == ["2025-12-24", "2026-01-07"], "missed from the second day on"
    assert list(dict(told(curator, "2025-12-27", "2026-01-11"))) == ["2026-01-07"], "the stop of Christmas stands in the report of its own days"


def test_a_machine_that_rests_in_a_dry_room_did_not_stop(society: Any, curator: Person) -> None:
    store = stock.shelf()[1]
    tell(logger_at(store, "T-1"), np.full(120 * 24, 48.0), begin=datetime(2025, 12, 1, tzinfo=UTC))
    for n in range(20):
        read_by_hand(PROGRAM, [SpotEntry(uuid7(), store.pk, litres=4.0 if n < 12 else 0.0)], at=datetime(2025, 12, 10, 10, tzinfo=UTC) + timedelta(days=n))
    assert not [said for _, said in told(curator, "2025-12-01", "2026-01-31") if "dehumidifier" in said]
