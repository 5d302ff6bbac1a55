"""The page of a room's climate and of what a thing lived through: the figures, the gaps, who may learn what, how many questions."""

import csv
import io
import re
from dataclasses import replace
from datetime import timedelta
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from conservation.checks.actions.record import record_check
from locations.climate import exposure
from locations.climate.actions.loggers import judge_readings
from locations.climate.lives import life_of
from locations.places.actions import correct_move, describe_place, make_place, move_object
from locations.places.models import Movement
from museum import clock
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from tests import stock
from tests.climate.test_exposure import START, logger_at, put, tell

pytestmark = pytest.mark.django_db
NOW = START + timedelta(days=60)


@pytest.fixture
def store(society: Any) -> Any:
    """A store of 60 days: dry, then 100 h at 72 %, two days without a word, dry again; one helmet in it from the first hour."""
    _, room, board = stock.shelf()
    it, thing = logger_at(room, "T-1"), stock.helmet()
    put(thing, board, START)
    rh = np.full(60 * 24, 50.0)
    rh[240:340], rh[500:548] = 72.0, np.nan
    tell(it, rh)
    with clock.at(NOW):
        exposure.refresh()
        yield room, it, thing


def page(client: Client, path: str) -> str:
    answer = client.get(path)
    assert answer.status_code == 200, answer.content[:400]
    return answer.content.decode()


def drawn(text: str) -> list[ElementTree.Element]:
    """The charts of a page, each with a title and a description."""
    found = [ElementTree.fromstring(f"<svg{part.split('</svg>')[0]}</svg>") for part in text.split("<svg")[1:] if part.startswith(' class="chart')]
    assert all(one.find("title") is not None and one.find("desc").text for one in found)  # type: ignore[union-attr]
    return found


def test_a_room_tells_its_longest_damp_run_and_its_gap(store: Any, as_person: Any, volunteer: Any) -> None:
    room, _, _ = store
    client = as_person(volunteer)
    text = page(client, f"/climate/rooms/{room.pk}/?span=month&on=2025-09-30")
    assert "Above 65 % for 100 of" in text
    assert "The longest time without a break: 100 hours" in text
    assert len(drawn(text)) == 3
    whole = page(client, f"/climate/rooms/{room.pk}/?span=year")
    # of the year before the first reading nothing is known, and of two days in October
    assert 'class="gap"' in whole
    assert "≥" in whole


def test_outdoors_nobody_is_offered_a_machine_or_told_of_mould(store: Any, as_person: Any, curator: Any) -> None:
    room, _it, _thing = store
    yard = make_place(PROGRAM, place_id=uuid7(), level="building", code="Y", name="Yard")
    describe_place(PROGRAM, yard.pk, version=1, spot="outdoors")
    tell(logger_at(yard, "OUT"), np.full(60 * 24, 85.0))
    inside, outside = (page(as_person(curator), f"/climate/rooms/{place.pk}/") for place in (room, yard))
    for words in ("Its dehumidifier", "What would help here", "Colder walls", "What mould could have made of it"):
        assert words in inside
        assert words not in outside
    assert "The figures, month by month" in outside


def test_the_table_and_the_program_door_say_the_same(store: Any, as_person: Any, curator: Any) -> None:
    room, _, thing = store
    client = as_person(curator)
    rows = list(csv.DictReader(io.StringIO(page(client, f"/climate/rooms/{room.pk}/climate.csv?what=months"))))
    september = next(row for row in rows if row["month"] == "2025-09")
    assert (september["damp_hours"], september["damp_longest"], september["rh_high"]) == ("100", "100", "72.0")
    said = client.get(f"/api/climate/rooms/{room.pk}/").json()
    assert [one["damp_hours"] for one in said["months"]] == [int(row["damp_hours"]) for row in rows]
    assert said["damp_longest"] == {"hours": 100, "at_least": False}
    hours = list(csv.DictReader(io.StringIO(page(client, f"/climate/rooms/{room.pk}/climate.csv?span=week&on=2025-09-22"))))
    assert len(hours) == 168
    assert {row["rh_percent_corrected"] for row in hours} == {"50.00", "72.00"}
    lived = list(csv.DictReader(io.StringIO(page(client, f"/climate/things/{thing.pk}/climate.csv"))))
    parts = client.get(f"/api/climate/things/{thing.pk}/").json()["parts"]
    assert [(row["material"], int(row["damp_hours"]), int(row["damp_longest"])) for row in lived] == [
        (one["material"], one["damp_hours"], one["damp_longest"]) for one in parts
    ]
    assert all(one["damp_hours"] == 100 and one["unknown_hours"] >= 48 for one in parts)


def test_a_thing_is_counted_since_a_month(store: Any, as_person: Any, curator: Any) -> None:
    _, _, thing = store
    client = as_person(curator)
    assert {one["damp_hours"] for one in client.get(f"/api/climate/things/{thing.pk}/?since=2025-10-05").json()["parts"]} == {0}
    text = page(client, f"/climate/things/{thing.pk}/?light=on")
    assert "climate/charts" in text, "on a phone the chart begins at its newest end"
    assert "above its own limit" in text
    assert len(drawn(text)) == 2
    assert "nothing is known" in text
    assert "Mould index of leather" in text, "steel has the longer time above its own limit, but it is leather that goes mouldy"
    assert re.search(r'href="/places/" aria-current="page"', text), "one comes to the climate from the places"


def test_who_may_not_know_the_place_is_told_sums_without_months_and_moves(store: Any, as_person: Any, volunteer: Any) -> None:
    room, _, thing = store
    client = as_person(volunteer)
    text = page(client, f"/climate/things/{thing.pk}/")
    assert not drawn(text)
    assert room.name not in text
    assert "above its own limit" in text


def test_a_shelf_has_no_climate_of_its_own_and_a_reader_none_at_all(store: Any, as_person: Any, curator: Any, reader: Any) -> None:
    room, _, thing = store
    client = as_person(curator)
    shelf = thing.components.get(sort="main").stays.get().place_id
    assert client.get(f"/climate/rooms/{shelf}/").status_code == 404
    client = as_person(reader)
    for path in (f"/climate/rooms/{room.pk}/", f"/climate/things/{thing.pk}/", f"/api/climate/things/{thing.pk}/"):
        assert client.get(path).status_code in (403, 404)


def test_nonsense_in_the_address_shows_the_year(store: Any, as_person: Any, curator: Any) -> None:
    room, _, thing = store
    client = as_person(curator)
    for query in ("?span=century", "?on=9999-99-99", "?on=0001-01-01", "?span=ten&on=2999-01-01"):
        page(client, f"/climate/rooms/{room.pk}/{query}")
    page(client, f"/climate/things/{thing.pk}/?since=never")


def test_the_questions_are_few_and_one_more_for_a_logger_more(store: Any, as_person: Any, curator: Any) -> None:
    room, it, thing = store
    client = as_person(curator)
    judge_readings(PROGRAM, it.pk, begin=START, end=START + timedelta(hours=9), says="left_out", reason="in a car")
    counts = {}
    for path in (f"/climate/rooms/{room.pk}/", f"/climate/rooms/{room.pk}/?span=ten", f"/climate/things/{thing.pk}/", f"/climate/things/{thing.pk}/?light=on"):
        page(client, path)
        with CaptureQueriesContext(connection) as asked:
            page(client, path)
        counts[path] = len(asked)
    for n in range(3):
        tell(logger_at(room, f"T-{n + 7}"), [50] * 100)
    with CaptureQueriesContext(connection) as asked:
        page(client, f"/climate/rooms/{room.pk}/")
    of_room, of_ten_years, of_thing, _ = counts.values()
    # two for the alarms of a room and what lies in it, one for its hand readings
    assert of_room == of_ten_years <= 15, counts
    assert of_thing <= 12, counts
    # the readings of each logger are one question, and nothing else grows
    assert len(asked) == counts[f"/climate/rooms/{room.pk}/"] + 3


def test_a_check_that_was_corrected_and_a_move_that_never_was_are_no_events(store: Any, as_person: Any, volunteer: Any) -> None:
    room, _, thing = store
    by = Actor.of(volunteer)
    before = life_of(thing, since=None, exact=True).events
    wrong, day = stock.full_check(thing), clock.today() - timedelta(days=3)
    record_check(by, wrong)
    record_check(by, replace(stock.full_check(thing, corrects=wrong.id), happened_on=day, happened_at=None))
    move_object(PROGRAM, thing.pk, place_id=room.pk)
    correct_move(PROGRAM, Movement.objects.latest("recorded_at").pk, reason="it never left its shelf")
    found = life_of(thing, since=None, exact=True)
    assert found.last_check == day
    assert len(found.events) == len(before) + 1


def test_of_what_stood_where_no_logger_told_nothing_is_claimed(store: Any, as_person: Any, curator: Any) -> None:
    """Hours above a limit are not nought where no hour is known."""
    room, _, _ = store
    other = stock.helmet("1974.1.9")
    hall = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-Q", name="Quiet room", parent_id=room.parent_id, use="store")
    put(other, hall, START)
    exposure.refresh()
    text = page(as_person(curator), f"/climate/things/{other.pk}/")
    assert "Never above its limits" not in text
    assert "No logger told of the air where it stood." in text
    row = text.partition("<tbody>")[2].partition("</tr>")[0]
    assert re.findall(r">([^<>]*)</td>", row)[1:6] == ["–"] * 5
