"""Whatever of the climate's records needs a person is said to one, in words, on the page of all rooms and in the count of the start page."""

import os
import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.utils import translation

from locations.climate import folder
from locations.climate.actions.files import Upload, hold_file, take_file
from locations.climate.actions.loggers import calibrate, change_logger, judge_readings, place_logger
from locations.climate.actions.spots import SpotEntry, read_by_hand
from locations.climate.attention import to_see, waiting
from locations.climate.importing import bring_in
from locations.climate.models import ClimateFile
from locations.climate.queries import readings
from locations.climate.sentences import UNREADABLE
from locations.places.models import Place
from museum import clock
from museum.errors import Invalid
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from museum.people.models import Person
from tests import stock
from tests.climate.test_bringing_in import HOURS, bring, logger, text

pytestmark = pytest.mark.django_db


def words(client: Client, path: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", client.get(path).content.decode()))


def said(as_person: Callable[[Person], Client], who: Person) -> tuple[str, str]:
    """The page of all rooms, and the start page."""
    client = as_person(who)
    return words(client, "/climate/"), words(client, "/")


def test_a_battery_over_a_year_old_is_somebodys_task_until_a_new_one_is_written_down(volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    it = logger(battery_on=clock.today())
    place_logger(PROGRAM, it.pk, place_id=stock.shelf()[1].pk)
    calibrate(PROGRAM, it.pk, points=[(33.5, 33.1), (75.9, 75.5)])
    assert not to_see().worn
    with clock.at(clock.now() + timedelta(days=366)):
        page, start = said(as_person, volunteer)
        assert "T-7 wants its yearly care" in page
        assert "put a new one in before it stops" in page
        assert "check it over two salts" in page
        assert "1 logger wants a battery or a check" in start
        calibrate(PROGRAM, it.pk, points=[(33.5, 33.1), (75.9, 75.5)])
        assert "check it over two salts" not in said(as_person, volunteer)[0]
        change_logger(
            PROGRAM, it.pk, version=it.version, name=it.name, serial="", clock_kind="", zone="", interval=it.interval, silent_after=35,
            battery_on=clock.today(),
        )  # fmt: skip
        assert not to_see().worn


def test_of_a_logger_of_which_nobody_told_a_battery_the_day_it_came_counts(society: Any) -> None:
    it = logger()
    place_logger(PROGRAM, it.pk, place_id=stock.shelf()[1].pk)
    assert waiting() == {}
    with clock.at(clock.now() + timedelta(days=366)):
        (one,) = to_see().worn
        assert (one.battery_on, one.never) == (clock.day_of(it.made_at), True)
        place_logger(PROGRAM, it.pk, place_id=None)
        assert not to_see().worn, "one in a drawer needs nothing"


def read(place: Place, *rh: float) -> None:
    """A week apart, the last one today."""
    for n, value in enumerate(reversed(rh)):
        read_by_hand(PROGRAM, [SpotEntry(uuid7(), place.pk, t=14.0, rh=value)], at=clock.now() - timedelta(days=7 * n, minutes=1))


def test_a_dial_that_says_damp_three_weeks_running_is_told_where_no_logger_speaks(volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    room = stock.shelf()[1]
    read(room, 58, 70, 67, 69, 72)
    page, start = said(as_person, volunteer)
    assert f"{room.name} is damp by its dial" in page
    assert "4 times in a row above 65 %" in page
    assert "it showed 72 %" in page
    assert "1 room is damp by its dial" in start
    read_by_hand(PROGRAM, [SpotEntry(uuid7(), room.pk, t=14.0, rh=60)])
    assert not to_see().dials


def test_readings_at_the_dial_far_apart_are_no_row_here_either(society: Any) -> None:
    room = stock.shelf()[1]
    for days in (28, 14, 0):
        read_by_hand(PROGRAM, [SpotEntry(uuid7(), room.pk, t=14.0, rh=72)], at=clock.now() - timedelta(days=days, minutes=1))
    assert not to_see().dials


def test_where_a_logger_has_spoken_since_its_alarms_tell_and_not_the_dial(society: Any) -> None:
    room = stock.shelf()[1]
    read(room, 70, 67, 72)
    it = logger()
    place_logger(PROGRAM, it.pk, place_id=room.pk, at=clock.now() - timedelta(days=9))
    assert len(to_see().dials) == 1, "it has told nothing yet"
    day = clock.now() - timedelta(days=8)
    bring(text([((day + timedelta(hours=n)).strftime("%Y-%m-%d %H:00"), 8, 60) for n in range(24)]), it)
    assert not to_see().dials


def test_a_logger_that_writes_nothing_usable_is_as_silent_as_one_that_writes_nothing(volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    it, room = logger(silent_after=7), stock.shelf()[1]
    place_logger(PROGRAM, it.pk, place_id=room.pk)
    now = clock.now().replace(minute=0, second=0, microsecond=0)

    def hours(days_ago: int, t: float) -> bytes:
        begin = now.astimezone(UTC) - timedelta(days=days_ago)
        return text([(f"{begin + timedelta(hours=n):%Y-%m-%d %H:%M}", t, 55 + n) for n in range(20)])

    bring(hours(10, 12), it)
    read(room, 70, 67, 69, 72)
    assert not to_see().dials, "it has spoken since"
    bring(hours(1, 500), it)
    (one,) = to_see().silent
    assert (one.days, waiting()["silent"]) == (9, 1)
    page, start = said(as_person, volunteer)
    assert "No usable reading of T-7 for 9 days" in page
    assert "1 logger is silent" in start
    assert re.search(r"74 %, 12\.0 °C · [^·]* · T-7 ", page), "what it told last that was one"
    assert "no reading yet" not in page


def test_a_file_of_the_folder_that_cannot_be_read_to_its_end_is_told_to_somebody(
    settings: Any, tmp_path: Path, volunteer: Person, as_person: Callable[[Person], Client]
) -> None:
    """It looked well when it was taken, and nobody stood by."""
    settings.CLIMATE_FOLDER = tmp_path / "in"
    it = logger()
    row = take_file(PROGRAM, Upload("T-7.csv", text([*HOURS * 20, ("2025-02-30 00:00", 8, 60)])), logger_id=it.pk)
    with pytest.raises(Invalid):
        bring_in(PROGRAM, ClimateFile.objects.select_related("file", "logger").get(pk=row.pk), lambda done, total: None)
    page, start = said(as_person, volunteer)
    assert "T-7.csv, taken from the watched folder, was refused" in page
    assert "Line 482" in page
    assert "1 file was refused" in start


def test_what_was_refused_unseen_is_told_to_each_in_their_language(
    settings: Any, tmp_path: Path, volunteer: Person, curator: Person, as_person: Callable[[Person], Client]
) -> None:
    settings.CLIMATE_FOLDER = tmp_path / "in"
    folder.place().mkdir()
    (folder.place() / "bad.csv").write_bytes(b"time;temperature;rh\n2025-01-13;8,0;61\n")
    os.utime(folder.place() / "bad.csv", (0, 0))
    assert folder.look() == 1
    row = take_file(PROGRAM, Upload("T-7.csv", text([*HOURS * 20, ("2025-02-30 00:00", 8, 60)])), logger_id=logger().pk)
    with pytest.raises(Invalid):
        bring_in(PROGRAM, ClimateFile.objects.select_related("file", "logger").get(pk=row.pk), lambda done, total: None)
    Person.objects.filter(pk=curator.pk).update(language="de")
    curator.refresh_from_db()
    english, german = words(as_person(volunteer), "/climate/"), words(as_person(curator), "/climate/")
    assert "The readings have a day but no hour." in english
    assert "This is no time in the way the other lines are written" in english
    assert "[en]" not in english
    with translation.override("de"):
        for code in ("no_hours", "not_a_time"):
            assert str(UNREADABLE[code]) in german
    lines = (folder.place() / "refused" / "bad.reason.txt").read_text(encoding="utf-8").splitlines()
    assert [line[:5] for line in lines] == ["[en] ", "[de] ", "[fr] "]


def test_a_file_refused_in_the_folder_is_counted_on_the_start_page(
    settings: Any, tmp_path: Path, volunteer: Person, as_person: Callable[[Person], Client]
) -> None:
    settings.CLIMATE_FOLDER = tmp_path / "in"
    (folder.place() / "refused").mkdir(parents=True)
    (folder.place() / "refused" / "bad.reason.txt").write_text("Nothing in it says what was measured.\n")
    page, start = said(as_person, volunteer)
    assert "Nothing in it says what was measured." in page
    assert "1 file was refused" in start


def test_a_file_of_another_logger_says_what_it_did_and_how_to_undo_it(volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    it = logger()
    bring(text(HOURS), it)
    row = bring(text([(at, t, 99) for at, t, rh in HOURS]), it)
    assert (row.state, len(to_see().asking)) == ("asks", 1)
    row = bring_in(PROGRAM, hold_file(PROGRAM, row.pk, version=row.version, reason="so the label says"), lambda done, total: None, holds="so the label says")
    client = as_person(volunteer)
    assert "Of 24 times other figures of T-7 are in already" in words(client, f"/climate/files/{row.pk}/")
    page = words(client, f"/climate/loggers/{it.pk}/")
    assert "Neither is used until somebody says which holds." in page
    judge_readings(PROGRAM, it.pk, begin=datetime(2025, 1, 1, tzinfo=UTC), end=datetime(2025, 1, 2, tzinfo=UTC), says="good", reason="sent as T-7 by mistake")
    series = readings(it, datetime(2025, 1, 1, tzinfo=UTC), datetime(2025, 1, 2, tzinfo=UTC))
    assert [round(value) for value in series.rh.tolist()] == [60 + hour for hour in range(24)]
    assert not to_see().contradicted


def test_a_file_sent_by_mistake_is_put_away_and_asks_nobody_any_more(volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    row = take_file(PROGRAM, Upload("minutes.csv", text(HOURS)))
    client = as_person(volunteer)
    assert "It is the wrong file" in words(client, f"/climate/files/{row.pk}/")
    assert len(to_see().asking) == 1
    client.post(f"/climate/files/{row.pk}/drop/", {"version": row.version, "reason": "the weather station's, not ours"})
    assert not to_see(), "neither asking nor refused unseen"
    page = words(client, f"/climate/files/{row.pk}/")
    assert "the weather station's, not ours" in page.replace("&#x27;", "'")
    assert "It is the wrong file" not in page
    client.post(f"/climate/files/{row.pk}/drop/", {"version": row.version + 1, "reason": "again"})
    assert ClimateFile.objects.get().error == "the weather station's, not ours"
