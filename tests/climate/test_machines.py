"""The dehumidifier's litres: leak, stopped machine, one that rests in a dry room; the page takes today's litres."""

import re
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from conservation.checks.tasks import send_reminders
from locations.climate import machines
from locations.climate.actions.spots import SpotEntry, correct_spot, read_by_hand
from locations.climate.models import Logger, Spot
from locations.climate.science import tank
from locations.places.actions import describe_place, make_place
from locations.places.models import Place
from museum import clock
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from museum.people.models import Person
from tests import stock
from tests.checks.conftest import Letterbox, letterbox
from tests.climate.test_exposure import START, logger_at, tell
from tests.climate.test_whatif_pages import words

__all__ = ["letterbox"]
pytestmark = pytest.mark.django_db
CHRISTMAS = datetime(2025, 12, 24, 10, tzinfo=UTC)


@pytest.fixture
def store(society: Any) -> Place:
    return stock.shelf()[1]


def empty(place: Place, litres: float, at: datetime) -> None:
    with clock.at(at):
        read_by_hand(PROGRAM, [SpotEntry(id=uuid7(), place_id=place.pk, litres=litres)])


def daily(place: Place, days: int, litres: float = 4.0, last: datetime = CHRISTMAS) -> None:
    for n in reversed(range(days)):
        empty(place, litres, last - timedelta(days=n))


def trouble(at: datetime) -> list[tuple[Any, Any]]:
    with clock.at(at):
        return [(one.last_usual, one.leak) for one in machines.in_trouble()]


def test_stopped_at_christmas_is_known_on_the_second_day(store: Place) -> None:
    """Journey 8."""
    daily(store, 12)
    assert trouble(CHRISTMAS + timedelta(days=1)) == []
    assert trouble(CHRISTMAS + timedelta(days=2)) == [(CHRISTMAS.date(), None)]
    # after a month everybody knows, or it was taken away
    assert trouble(CHRISTMAS + timedelta(days=40)) == []
    empty(store, 8, CHRISTMAS + timedelta(days=2, hours=3))
    assert trouble(CHRISTMAS + timedelta(days=2, hours=4)) == []


def test_one_that_rests_in_a_dry_room_has_not_stopped(store: Place) -> None:
    daily(store, 12, last=START + timedelta(days=11))
    it = logger_at(store, "T-1")
    tell(it, [52] * (24 * 14))
    assert trouble(START + timedelta(days=14)) == []


def test_a_tank_that_is_full_each_time_is_told_on_its_page(store: Place, volunteer: Person, as_person: Any) -> None:
    daily(store, 3, 2.5, last=CHRISTMAS - timedelta(days=8))
    daily(store, 3, 9.0)
    with clock.at(CHRISTMAS + timedelta(hours=1)):
        assert "its tank was full" not in words(as_person(volunteer).get(f"/climate/rooms/{store.pk}/machine/"))
    empty(store, 9.0, CHRISTMAS + timedelta(days=1))
    with clock.at(CHRISTMAS + timedelta(days=1, hours=1)):
        assert "4 times in a row its tank was full." in words(as_person(volunteer).get(f"/climate/rooms/{store.pk}/machine/"))
    empty(store, 3.0, CHRISTMAS + timedelta(days=2))
    assert tank.brimming(np.array([9.0, 9.0, 9.0, 9.0, 3.0])) == 0


def test_a_leak_until_a_usual_tank_comes(store: Place) -> None:
    daily(store, 12)
    empty(store, 9, CHRISTMAS + timedelta(days=1))
    after = CHRISTMAS + timedelta(days=1, hours=1)
    assert trouble(after) == [(None, after.date())]
    empty(store, 4, CHRISTMAS + timedelta(days=2))
    assert trouble(CHRISTMAS + timedelta(days=2, hours=1)) == []


def test_wet_wind_that_the_logger_outdoors_tells_is_no_leak(store: Place, volunteer: Person, as_person: Any) -> None:
    """At 10 °C 9.4 g/m³ is full: each 10 % outdoors is 0.94 g/m³. The tank takes 2 litres at 60 %, one more for each 10 %; then two days at 100 %."""
    yard = make_place(PROGRAM, place_id=uuid7(), level="building", code="Y", name="Yard")
    describe_place(PROGRAM, yard.pk, version=1, spot="outdoors")
    outside, rh = logger_at(yard, "T-2"), [60.0 + 10 * (n % 2) for n in range(12)] + [100.0, 100.0]
    tell(logger_at(store, "T-1"), [55] * (24 * 14), t=10.0)
    for n, value in enumerate(rh):
        empty(store, 2 + (value - 60) / 10, START.replace(hour=12) + timedelta(days=n + 1))
    after = START + timedelta(days=14, hours=13)
    assert trouble(after) == [(None, after.date())], "nobody told the air outdoors yet"
    with clock.at(after):
        assert "Warm wet weather does it too" in words(as_person(volunteer).get("/"))
    tell(outside, np.repeat(rh, 24)[12:], t=10.0, begin=START + timedelta(hours=12))
    assert trouble(after) == []
    empty(store, 10, after.replace(hour=12) + timedelta(days=1))
    tell(outside, [100] * 24, t=10.0, begin=after.replace(hour=12))
    tell(Logger.objects.get(name="T-1"), [55] * 36, t=10.0, begin=START + timedelta(days=14))
    with clock.at(after + timedelta(days=1)):
        assert "The weather does not explain it." in words(as_person(volunteer).get("/"))


def test_the_air_of_a_tank_is_that_from_noon_to_noon_and_known_where_half_of_it_is(store: Place) -> None:
    """At 10 °C 9.4 g/m³ is full, so 100 % outdoors holds 4.7 more than 50 % in the room: from noon of the second day on, and then for 12 hours of the last."""
    yard = make_place(PROGRAM, place_id=uuid7(), level="building", code="Y", name="Yard")
    describe_place(PROGRAM, yard.pk, version=1, spot="outdoors")
    noon = clock.start_of(clock.day_of(START)) + timedelta(hours=12)
    tell(logger_at(store, "T-1"), [50] * (24 * 6), t=10.0)
    outside = logger_at(yard, "T-2")
    tell(outside, [50] * 24 + [100] * 24 + [np.nan] * 12 + [100] * 12 + [np.nan] * 13 + [100] * 11, t=10.0, begin=noon)
    days = clock.day_of(START).toordinal() + np.arange(5)
    none, before, after, half, less = machines._wetter(store, days).tolist()
    assert np.isnan([none, less]).all()
    assert (before, after, half) == (0, pytest.approx(4.7, abs=0.05), pytest.approx(4.7, abs=0.05))


def test_a_figure_taken_back_says_nothing(store: Place) -> None:
    daily(store, 12)
    empty(store, 40, CHRISTMAS + timedelta(days=1))
    wrong = Spot.objects.get(litres=40)
    with clock.at(CHRISTMAS + timedelta(days=1, hours=2)):
        correct_spot(PROGRAM, wrong.pk, reason="4.0 it was")
    assert trouble(CHRISTMAS + timedelta(days=1, hours=3)) == []


def test_the_page_takes_litres_and_says_what_is_usual(store: Place, volunteer: Person, as_person: Any) -> None:
    daily(store, 12)
    client = as_person(volunteer)
    with clock.at(CHRISTMAS + timedelta(days=1)):
        assert "Usually 4.0 litres a day" in words(client.get(f"/climate/rooms/{store.pk}/machine/"))
        answer = client.post(f"/climate/rooms/{store.pk}/machine/", {"litres": "", "act": str(uuid7())})
        assert answer.status_code == 400
        assert "Write 0 if it was empty" in words(answer)
        key, act = str(uuid7()), str(uuid7())
        for _ in range(2):
            assert client.post(f"/climate/rooms/{store.pk}/machine/", {"litres": "9,5", "entry": key, "act": act}).status_code == 302
        answer = client.get(f"/climate/rooms/{store.pk}/machine/")
    text = words(answer)
    assert f'href="/events/new/?kind=leak&amp;place={store.pk}"' in answer.content.decode()
    assert Spot.objects.filter(litres=9.5).count() == 1
    assert "A leak until shown otherwise" in text
    page = client.get(f"/events/new/?kind=leak&place={store.pk}").content.decode()
    assert re.search(r'value="leak" required\s+checked', page), "what the link beside it leads to is filled in"
    assert f'<option value="{store.pk}" selected>' in page


def test_a_machine_that_stopped_stands_on_the_start_page_and_in_the_mail(store: Place, volunteer: Person, as_person: Any, letterbox: Letterbox) -> None:
    """Journey 8: mail goes out on the second day."""
    daily(store, 12)
    with clock.at(CHRISTMAS + timedelta(days=2)):
        page = words(as_person(volunteer).get("/"))
        send_reminders()
    assert "the dehumidifier seems to have stopped" in page
    ((_to, mail),) = letterbox.mails
    assert b"the dehumidifier seems to have stopped; its usual litres were emptied last on" in mail.get_payload(decode=True)
