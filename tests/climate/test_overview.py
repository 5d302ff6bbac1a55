"""The page of all rooms: what goes on there, and the same figure for a reading as on the page of its room."""

import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from locations.climate import sentences, typed
from locations.climate.actions.loggers import calibrate, make_logger, place_logger
from locations.climate.actions.spots import SpotEntry, read_by_hand
from locations.climate.tasks import raise_alarms
from museum import clock
from museum.errors import Invalid
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock
from tests.climate.test_alarming import air, later, send
from tests.climate.test_exposure import START, logger_at

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]


def words(client: Client, path: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", client.get(path).content.decode()))


def test_it_tells_the_alarms_that_go_on(society: Any, as_person: Browser, volunteer: Person) -> None:
    room = stock.shelf()[1]
    send(logger_at(room, "T-1"), air((10, 50), (200, 78)))
    with later(210):
        raise_alarms()
        text = words(as_person(volunteer), "/climate/")
    assert "Red alarm: Cold store" in text
    assert "over 75 % for at least 200 hours (8 days) without a break" in text
    assert text.index("Red alarm") < text.index("Read by")


def test_a_reading_is_shown_by_the_check_of_its_logger_as_on_the_page_of_the_room(society: Any, as_person: Browser, volunteer: Person) -> None:
    room = stock.shelf()[1]
    it = logger_at(room, "T-1")
    calibrate(PROGRAM, it.pk, points=[(60, 65)], at=START)
    send(it, air((30, 55)))
    with clock.at(START + timedelta(hours=30)):
        client = as_person(volunteer)
        assert "60 %" in words(client, "/climate/")
        assert "55 %" not in words(client, "/climate/").partition("Read by")[2]
        assert "60 %," in words(client, f"/climate/rooms/{room.pk}/")


def test_an_alarm_tells_no_decimals_that_no_sensor_knows() -> None:
    said = sentences.alarmed("mould", 60, at_least=False, figures={"over": 65.0, "highest": 82.77})
    assert said == "over 65 %, then never below 62 %, for 60 hours, up to 83 %: mould must be presumed"
    before = sentences.alarmed("mould", 60, at_least=False, figures={"over": 64.0, "highest": 82.77})
    assert before.startswith("over 64 %, then never below 64 %"), "a limit that the house rule knows no more still has its words"


def test_a_mistyped_year_is_asked_about(society: Any, volunteer: Person) -> None:
    room = stock.shelf()[1]
    with pytest.raises(Invalid) as asked:
        read_by_hand(Actor.of(volunteer), [SpotEntry(uuid7(), room.pk, t=12.0, rh=60.0)], at=START.replace(year=1925))
    assert "Look at the year again" in asked.value.sentence


def test_a_month_of_which_nothing_is_known_had_no_hours_of_any_sort(society: Any, as_person: Browser, volunteer: Person) -> None:
    room = stock.shelf()[1]
    send(logger_at(room, "T-1"), air((30, 70)))
    with clock.at(START + timedelta(days=60)):
        text = words(as_person(volunteer), f"/climate/rooms/{room.pk}/?span=month")
    assert "Nothing is known of this time" in text
    assert "0 h" not in text.replace("\u00a0", " ").partition("month by month")[2].replace("720 h", "")
    assert "Mould index" not in text


def test_the_climate_lived_since_a_day_to_come(society: Any, as_person: Browser, volunteer: Person) -> None:
    thing = stock.helmet()
    client = as_person(volunteer)
    assert "That day is still to come." in words(client, f"/climate/things/{thing.pk}/?since={clock.today() + timedelta(days=40)}")
    assert "That day is still to come." not in words(client, f"/climate/things/{thing.pk}/")


@pytest.mark.parametrize(
    ("text", "value"), [("66 %", 66.0), ("66%", 66.0), ("12,5 °C", 12.5), ("9 l", 9.0), ("120 m³", 120.0), ("4.5 Liter", 4.5), ("-3", -3.0)]
)
def test_a_unit_behind_a_figure_is_no_mistake(text: str, value: float) -> None:
    assert typed.figure(text, "rh") == value


@pytest.mark.parametrize("text", ["abc %", "%", "12 °F"])
def test_what_is_no_figure_stays_none(text: str) -> None:
    with pytest.raises(Invalid):
        typed.figure(text, "rh")


@pytest.mark.parametrize("points", [[(335.0, 33.0)], [(33.5, 75.0)], [(33.5, 33.1), (75.3, 33.1)]])
def test_a_mistyped_check_of_a_logger_is_asked_about(society: Any, curator: Person, points: list[tuple[float, float]]) -> None:
    it = logger_at(stock.shelf()[1], "T-1")
    with pytest.raises(Invalid) as asked:
        calibrate(Actor.of(curator), it.pk, points=points)
    assert asked.value.sentence


def test_no_battery_was_changed_and_no_logger_taken_out_of_use_on_a_day_to_come(society: Any, curator: Person, as_person: Browser) -> None:
    it = logger_at(stock.shelf()[1], "T-1")
    client, ahead = as_person(curator), (clock.today() + timedelta(days=900)).isoformat()
    said = {
        "version": it.version,
        "name": "T-1",
        "serial": "",
        "clock_kind": "",
        "zone": "",
        "minutes": "60",
        "silent_after": "35",
        "battery_on": "",
        "ended_on": "",
    }
    for name in ("battery_on", "ended_on"):
        answer = client.post(f"/climate/loggers/{it.pk}/change/", said | {name: ahead, "zone": "Europe/Oslo"})
        page = answer.content.decode()
        assert answer.status_code == 400
        assert "still to come" in page
        assert f'name="{name}" type="date" value="{ahead}"' in page, "what was typed is kept"
        assert 'value="Europe/Oslo"' in page
    assert "Saved." in words(client, client.post(f"/climate/loggers/{it.pk}/change/", said)["Location"])


def test_what_is_no_interval_is_refused_and_half_a_minute_is_one(society: Any, curator: Person, as_person: Browser) -> None:
    it = logger_at(stock.shelf()[1], "T-1")
    client = as_person(curator)
    page = client.get(f"/climate/loggers/{it.pk}/").content.decode()
    assert 'name="minutes" inputmode="decimal" value="60"' in page
    said = {"version": it.version, "name": "T-1", "serial": "", "clock_kind": "", "zone": "", "battery_on": "", "ended_on": "", "silent_after": "35"}
    for wrong in ("x", "-5", "1000000000", "0"):
        assert client.post(f"/climate/loggers/{it.pk}/change/", said | {"minutes": wrong}).status_code == 400
        assert client.post(f"/climate/loggers/{it.pk}/change/", said | {"minutes": "60", "silent_after": wrong}).status_code == 400
    it.refresh_from_db()
    assert (it.interval, it.silent_after) == (3600, 35)
    assert client.post(f"/climate/loggers/{it.pk}/change/", said | {"minutes": "0,5"}).status_code == 302
    it.refresh_from_db()
    assert it.interval == 30
    assert 'name="minutes" inputmode="decimal" value="0.5"' in client.get(f"/climate/loggers/{it.pk}/").content.decode()


def test_half_a_point_of_a_check_over_salts_is_asked_for(society: Any, curator: Person, as_person: Browser) -> None:
    it = logger_at(stock.shelf()[1], "T-1")
    sent = {"do": "calibrate", "showed1": "33.8", "true1": "33.1", "showed2": "76.4", "true2": "", "note": "salts"}
    answer = as_person(curator).post(f"/climate/loggers/{it.pk}/tell/", sent)
    assert answer.status_code == 400
    assert "Of each salt both are needed" in answer.content.decode()
    assert not it.calibrations.exists()


def test_a_room_is_one_row_whoever_read_it(society: Any, as_person: Browser, volunteer: Person) -> None:
    room = stock.shelf()[1]
    for name in ("T-1", "T-2"):
        send(logger_at(room, name), air((30, 55)))
    with clock.at(START + timedelta(hours=40)):
        read_by_hand(Actor.of(volunteer), [SpotEntry(uuid7(), room.pk, t=12.0, rh=61.0)], at=None)
        client = as_person(volunteer)
        page, text = client.get("/climate/").content.decode(), words(client, "/climate/")
    assert page.partition("<tbody>")[2].count(f'href="/climate/rooms/{room.pk}/"') == 1
    assert all(said in text for said in ("T-1", "T-2", "61 %, 12.0 °C", volunteer.name))


def test_what_matters_stands_before_the_first_fold_and_each_fold_says_what_is_in_it(society: Any, as_person: Browser, volunteer: Person) -> None:
    room = stock.shelf()[1]
    send(logger_at(room, "T-1"), air((10, 50), (200, 78)))
    with later(210):
        raise_alarms()
        page = as_person(volunteer).get(f"/climate/rooms/{room.pk}/").content.decode()
    first, *folds = re.split(r'<details class="fold"', page)
    assert all(said in first for said in ("Above 65 %", "The longest time without a break", "Read last", "Red alarm", '<svg class="chart chart--wide"'))
    said = {key: re.sub(r"<[^>]+>", " ", summary) for key, summary in re.findall(r'<details class="fold" id="(\w+)"><summary>(.*?)</summary>', page)}
    assert said.keys() == {"alarms", "days", "both", "mould", "known", "figures"}
    assert "1 red" in said["alarms"]
    assert "days" in said["days"]
    assert "% of the hours are known" in said["known"]
    assert len(folds) == len(said)


def test_what_was_told_of_a_logger_stands_again_where_it_was_refused(society: Any, curator: Person, as_person: Browser) -> None:
    room = stock.shelf()[1]
    it = make_logger(PROGRAM, logger_id=uuid7(), name="T-1")
    place_logger(PROGRAM, it.pk, place_id=room.pk)
    client, path = as_person(curator), f"/climate/loggers/{it.pk}/tell/"

    def refused(**fields: str) -> str:
        answer = client.post(path, fields)
        assert answer.status_code == 400
        return answer.content.decode()

    page = refused(do="calibrate", showed1="75,5", true1="abc", note="common salt, an hour")
    assert all(f'value="{kept}"' in page for kept in ("75,5", "abc", "common salt, an hour"))
    page = refused(do="judge", begin="2025-10-01T10:00", end="2025-09-01T10:00", says="left_out", note="stood in the sun")
    assert all(kept in page for kept in ('value="2025-10-01T10:00"', 'value="left_out" selected', 'value="stood in the sun"'))
    page = refused(do="place", place=str(room.pk), at="2025-02-31T10:00", note="on the north wall")
    assert f'value="{room.pk}" selected' in page
    assert 'value="on the north wall"' in page
    assert client.post(path, {"do": "place", "place": str(room.pk), "note": "as before"}).status_code == 302
