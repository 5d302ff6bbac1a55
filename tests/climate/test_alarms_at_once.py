"""While alarms are counted the house goes on: nobody waits for the history, and two workers never count at once."""

import threading
from collections.abc import Sequence
from typing import Any

import pytest
from django.db import connection

from locations.climate import alarming
from locations.climate.alarms import Spell
from locations.climate.hearing import Heard
from locations.climate.models import ClimateAlarm, ExposureMark
from locations.climate.tasks import raise_alarms
from locations.places.actions import make_place
from locations.places.models import Place
from museum.history.record import CHAIN_LOCK
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from tests import stock
from tests.climate.test_alarming import air, later, send
from tests.climate.test_exposure import logger_at

pytestmark = pytest.mark.django_db(transaction=True)


def elsewhere(ask: Any) -> Any:
    """What the same asks on a connection of its own."""
    found: list[Any] = []

    def run() -> None:
        try:
            found.append(ask())
        finally:
            connection.close()

    thread = threading.Thread(target=run)
    thread.start()
    thread.join(30)
    return found[0]


def chain_free() -> bool:
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_xact_lock(%s)", [CHAIN_LOCK])
        return bool(cursor.fetchone()[0])


@pytest.fixture
def damp(society: Any) -> list[Place]:
    """Two rooms, damp for sixty hours."""
    hall, store, _board = stock.shelf()
    cellar = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-C", name="Cellar", parent_id=hall.pk, use="store")
    for n, room in enumerate((store, cellar)):
        send(logger_at(room, f"T-{n}"), air((60, 68)), name=f"{n}.csv")
    return [store, cellar]


def test_nobody_waits_for_the_history_while_the_next_room_is_counted(damp: list[Place], monkeypatch: pytest.MonkeyPatch) -> None:
    free: list[bool] = []
    count = alarming.spells_of

    def counted(parts: Sequence[Heard]) -> list[Spell]:
        free.append(elsewhere(chain_free))
        return count(parts)

    monkeypatch.setattr(alarming, "spells_of", counted)
    with later(60):
        assert raise_alarms() == 2
    assert free == [True, True]


def test_what_breaks_the_counting_off_is_counted_again(damp: list[Place], monkeypatch: pytest.MonkeyPatch) -> None:
    count, asked = alarming.tell_alarms, []

    def lost(*given: Any, **more: Any) -> int:
        asked.append(given)
        if len(asked) == 2:
            raise SystemExit  # the worker is stopped between two rooms
        return int(count(*given, **more))

    monkeypatch.setattr(alarming, "tell_alarms", lost)
    with later(60):
        with pytest.raises(SystemExit):
            raise_alarms()
        assert ClimateAlarm.objects.count() == 1
        monkeypatch.undo()
        assert raise_alarms() == 1
        assert raise_alarms() == 0


def test_a_second_worker_leaves_the_counting_to_the_first(damp: list[Place], monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[int] = []
    count = alarming.spells_of

    def counted(parts: Sequence[Heard]) -> list[Spell]:
        if not told:
            told.append(elsewhere(raise_alarms))
        return count(parts)

    monkeypatch.setattr(alarming, "spells_of", counted)
    with later(60):
        assert raise_alarms() == 2
        assert told == [0]
        assert ExposureMark.objects.get(name=alarming.NAME).n > 0
        assert raise_alarms() == 0
