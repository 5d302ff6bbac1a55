"""A room's page tells its alarms, those that go on above all, and shows hand readings as points of their own beside the loggers'."""

import csv
import io
import re
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from locations.climate.actions.spots import SpotEntry, correct_spot, read_by_hand
from locations.climate.alarm_lines import alarms_of_place
from locations.climate.charts import room as charts
from locations.climate.science.damp import house_alarms
from locations.climate.tasks import raise_alarms
from locations.places.models import Place
from locations.places.queries import path_of
from museum import clock
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from museum.people.models import Person
from tests import stock
from tests.climate.test_alarming import air, later, send
from tests.climate.test_charts import SAID, WORDS, frame, years
from tests.climate.test_exposure import START, logger_at

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]


@pytest.fixture
def store(society: Any) -> Iterator[Place]:
    """An amber alarm that ended, a dry time, and one of both levels that goes on at hour 240."""
    room = stock.shelf()[1]
    send(logger_at(room, "T-1"), air((10, 50), (60, 68), (70, 50), (100, 78)))
    with later(240):
        raise_alarms()
        yield room


def dial(room: Place, day: float, t: float | None = None, rh: float | None = None) -> str:
    (key,) = read_by_hand(PROGRAM, [SpotEntry(id=uuid7(), place_id=room.pk, t=t, rh=rh)], at=START + timedelta(days=day))
    return key


def shown(client: Client, room: Place, query: str = "") -> str:
    answer = client.get(f"/climate/rooms/{room.pk}/{query}")
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", answer.content.decode())


def test_what_goes_on_stands_at_the_top_and_what_was_in_a_list(store: Place, as_person: Browser, volunteer: Person) -> None:
    text = shown(as_person(volunteer), store)
    top, _, below = text.partition("<section")
    assert "Red alarm: Cold store" in top
    assert "Amber alarm: Cold store" not in top, "one line a place, as on the start page"
    assert "over 75 % for at least 100 hours without a break" in top
    # conservation.md 7.3
    assert "The room was damp: look for mould within 7 days" in top
    assert "This is an estimate from a sensor, not an inspection." in top
    told = below.partition("Alarms in this time")[2].partition("</table>")[0]
    assert told.count("goes on") == 2
    assert told.count("<tr>") == 1 + 3
    assert "Over 65 %, then never below 62 %, for 60 hours" in told


def test_of_a_time_before_only_its_alarms_are_listed_and_what_goes_on_is_told_all_the_same(store: Place, as_person: Browser, volunteer: Person) -> None:
    client = as_person(volunteer)
    text = shown(client, store, f"?span=day&on={(START + timedelta(days=2)).date()}")
    assert "Red alarm" in text
    assert text.partition("Alarms in this time")[2].count('<tr><th scope="row">') >= 1
    assert "goes on" not in text.partition("Alarms in this time")[2].partition("</table>")[0]
    assert "Alarms in this time" not in shown(client, store, f"?span=day&on={(START + timedelta(days=4)).date()}")


def test_the_rule_told_beneath_is_the_rule_of_the_table(store: Place, as_person: Browser, volunteer: Person) -> None:
    told = {(one.level, one.over, one.reset, one.hours) for one in house_alarms()}
    assert told == {("amber", 65, 62, 48), ("red", 70, None, 168), ("red", 75, None, 48), ("red", 85, None, 24)}
    assert "above 70 % for seven days, 75 % for 48 hours or 85 % for 24 hours" in shown(as_person(volunteer), store)


def test_a_shelf_within_is_told_on_the_room_and_the_house_above_where_it_is_the_air(society: Any) -> None:
    hall, room, shelf = stock.shelf()
    send(logger_at(shelf, "T-1"), air((60, 68)))
    send(logger_at(hall, "T-2"), air((60, 80)), name="2.csv")
    with later(60):
        raise_alarms()
        of = {one.code: {row.place.code for row in alarms_of_place(path_of(one.pk)).alarms} for one in (hall, room, shelf)}
    assert of[room.code] == {room.parent.code if room.parent else "", shelf.code}
    assert of[shelf.code] == {shelf.code}, "it has a logger of its own: what the house's tells is not its air"
    assert of[hall.code] == {hall.code, shelf.code}


def test_hand_readings_stand_in_the_page_the_table_and_the_answer_to_programs(store: Place, as_person: Browser, curator: Person) -> None:
    dial(store, 1.5, 14.5, 66)
    dial(store, 3, None, 71)
    wrong = dial(store, 4, 12, 7)
    correct_spot(PROGRAM, wrong, reason="a digit was lost")  # type: ignore[arg-type]
    client = as_person(curator)
    text = shown(client, store, "?span=month")
    assert 'data-hand="by hand"' in text
    assert "2 readings, the last on" in text
    assert ">2 × 66–71 %<" in text
    rows = list(csv.DictReader(io.StringIO(client.get(f"/climate/rooms/{store.pk}/climate.csv?span=month").content.decode())))
    by_hand = [row for row in rows if row["rh_percent_by_hand"]]
    assert [(row["time_utc"], row["temperature_c_by_hand"], row["rh_percent_by_hand"], row["rh_percent_corrected"]) for row in by_hand] == [
        ("2025-09-11T12:00:00Z", "14.50", "66.00", ""), ("2025-09-13T00:00:00Z", "", "71.00", ""),
    ]  # fmt: skip
    assert [row["time_utc"] for row in rows] == sorted(row["time_utc"] for row in rows)
    months = list(csv.DictReader(io.StringIO(client.get(f"/climate/rooms/{store.pk}/climate.csv?span=month&what=months").content.decode())))
    september = next(row for row in months if row["month"] == "2025-09")
    assert (september["hand_readings"], september["hand_rh_low"], september["hand_rh_high"]) == ("2", "66.0", "71.0")
    assert int(september["known"]) == 240, "a hand reading is no hour"
    said = client.get(f"/api/climate/rooms/{store.pk}/?span=month").json()
    assert [(one["t"], one["rh"]) for one in said["by_hand"]] == [(14.5, 66.0), (None, 71.0)]
    assert sorted((one["level"], one["ended"] is None) for one in said["alarms"]) == [("amber", False), ("amber", True), ("red", True)]


def test_a_room_that_is_only_read_by_hand_has_a_chart_and_a_verdict(society: Any, as_person: Browser, volunteer: Person) -> None:
    room = stock.shelf()[1]
    for day, rh in ((0, 58), (7, 66), (14, 68), (21, 70)):
        dial(room, day, 11, rh)
    with clock.at(START + timedelta(days=22)):
        text = shown(as_person(volunteer), room, "?span=month")
    assert "it was read by hand 4 times" in text
    # environment.md 10: act at 65 %; three in a row, at most ten days apart: ours
    assert "Damp: 3 in a row above 65 %, over 14 days." in text
    assert 'data-hand="by hand"' in text
    assert 'data-read=""' not in text, "no line where no logger was"


def test_marks_are_never_joined_and_their_peaks_never_lost() -> None:
    whole = years(1)
    at = whole.at[::20]
    dials = charts.Dials(at, whole.t[::20], whole.rh[::20] + 1)
    drawn = charts.lines(SAID, whole, frame(whole.at), None, dials)
    ring = next(part for part in drawn.split("<path") if "data-hand" in part)
    marks = re.findall(r"M([\d.]+) ([\d.]+)m-3 0a3 3 0 1 0 6 0a3 3 0 1 0-6 0z", ring)
    assert "L" not in ring.partition(' d="')[2].partition('"')[0]
    assert 60 < len(marks) <= 2 * charts.MARK_COLUMNS + 2
    low = float(ring.partition('data-low="')[2].partition('"')[0])
    high = float(ring.partition('data-high="')[2].partition('"')[0])
    peak = low + (300 - min(float(y) for _, y in marks)) * (high - low) / (300 - 34)
    assert peak == pytest.approx(dials.rh.max(), abs=0.1)


def test_an_alarm_is_drawn_where_it_was_and_red_is_told_by_filling() -> None:
    whole = years(1)
    of = frame(whole.at)
    alarms = [charts.Alarmed(of.begin - 9, of.begin + 86400 * 73, red=False), charts.Alarmed(of.end - 3600, of.end + 10**6, red=True)]
    drawn = charts.lines(SAID, whole, of, None, alarms=alarms)
    assert re.search(r'd="M56 306h\d+(\.\d)?v11h-\d+(\.\d)?z" class="at"', drawn)
    assert re.search(r'd="M1063(\.\d)? 306h3v11h-3z" class="damp-full"', drawn)
    assert WORDS["damp"] in drawn


def test_an_alarm_of_mould_is_not_belied_by_the_model_beside_it(society: Any, as_person: Callable[[Person], Client], volunteer: Person) -> None:
    """Weeks at 78 % grow nothing in the model, and mould is presumed all the same: the page says why both are right."""
    room = stock.shelf()[1]
    send(logger_at(room, "T-1"), air((10, 50), (1200, 78), (200, 50)))
    with later(1410):
        raise_alarms()
        page = as_person(volunteer).get(f"/climate/rooms/{room.pk}/").content.decode()
    assert "mould must be presumed" in page
    assert "The alarm of mould above stands all the same:" in page


def test_alarms_of_a_place_within_are_not_taken_for_the_air_of_the_room(society: Any, as_person: Browser, volunteer: Person) -> None:
    """A rack behind a damp wall has a logger of its own; the room is dry, and its page says whose the alarms are."""
    _hall, room, shelf = stock.shelf()
    send(logger_at(room, "T-1"), air((1410, 50)))
    send(logger_at(shelf, "T-2"), air((10, 50), (1200, 78), (200, 50)), name="2.csv")
    with later(1410):
        raise_alarms()
        of_room, of_shelf = shown(as_person(volunteer), room), shown(as_person(volunteer), shelf)
    assert f"The alarms of this time were of {shelf.name}, not of the air of the whole place." in of_room
    assert f"must be presumed in {shelf.name}" in of_room
    assert "The alarm of mould above stands all the same:" not in of_room
    assert "The alarms of this time were of" not in of_shelf
    assert "The alarm of mould above stands all the same:" in of_shelf
