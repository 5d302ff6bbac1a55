"""What people typed and what programs found is told in words where one looks: notes, who read when, what a suspicion asks, what was refused unseen."""

import os
import re
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import translation

from locations.climate import folder
from locations.climate.actions.doubts import suspect
from locations.climate.actions.loggers import place_logger
from locations.climate.actions.spots import SpotEntry, read_by_hand
from locations.climate.doubts import Doubt
from locations.climate.files.forms import Unreadable
from locations.climate.machines import TOLD_FOR, in_trouble
from locations.climate.models import Suspicion
from locations.climate.sentences import UNREADABLE, alarmed, doubted, figure, why
from locations.climate.tasks import raise_alarms
from locations.places.actions import make_place
from locations.places.models import Place
from museum import clock
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from museum.people.models import Person
from tests import stock
from tests.climate.test_alarming import air, later, send
from tests.climate.test_exposure import START, logger_at

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]


def read(place: Place, at: Any, **said: Any) -> None:
    read_by_hand(PROGRAM, [SpotEntry(id=uuid7(), place_id=place.pk, **said)], at=at)


def shown(client: Client, path: str) -> str:
    answer = client.get(path)
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


@pytest.fixture
def store(society: Any) -> Place:
    return stock.shelf()[1]


def test_notes_typed_with_litres_and_dials_are_shown(store: Place, as_person: Browser, volunteer: Person) -> None:
    now = clock.now()
    read(store, now - timedelta(days=3), t=11.5, rh=66, note="window found open")
    read(store, now - timedelta(days=2), litres=4.5, note="tank rinsed")
    read(store, now - timedelta(days=1), lux=120, insects=2, note="trap by the door")
    client = as_person(volunteer)
    room = shown(client, f"/climate/rooms/{store.pk}/")
    for words in ("window found open", "tank rinsed", "trap by the door", "4.5 litres", "120 lux", "2 insects"):
        assert words in room.partition("Read by hand")[2]
    machine = shown(client, f"/climate/rooms/{store.pk}/machine/")
    assert "tank rinsed" in machine
    assert "window found open" not in machine


def test_who_read_is_told_with_its_time(store: Place, as_person: Browser, volunteer: Person) -> None:
    now = clock.now().replace(minute=0, second=0, microsecond=0)
    first, second = logger_at(store, "T-1"), logger_at(store, "T-2")
    place_logger(PROGRAM, second.pk, place_id=None, at=START + timedelta(hours=1))
    place_logger(PROGRAM, first.pk, place_id=None, at=now - timedelta(days=40))
    place_logger(PROGRAM, second.pk, place_id=store.pk, at=now - timedelta(days=40))
    page = shown(as_person(volunteer), f"/climate/rooms/{store.pk}/?span=month&on={(now - timedelta(days=30)).date()}")
    day = (now - timedelta(days=40)).astimezone(clock.zone())
    told = page.partition("Read in this time by")[2].partition("What stands here")[0]
    assert told.index("T-2") < told.index("T-1"), "who speaks now first"
    assert "(since" in told
    assert "not any more)" in told
    assert str(day.year) in told


@pytest.mark.parametrize(
    ("kind", "other", "question"),
    [
        ("drift", True, "Does T-1 drift, or does T-2?"), ("drift", False, "Does T-1 drift?"), ("clock", False, "Is the clock of T-1 wrong?"),
        ("swapped", True, "Were T-1 and T-2 exchanged?"), ("stuck", False, "Does the humidity of T-1 stand still?"),
        ("mirrored", False, "Is one channel of T-1 made from the other?"), ("salts", False, "T-1 was far off over salts: which of its readings hold?"),
    ],
)  # fmt: skip
def test_a_suspicion_is_a_question_somebody_can_answer(store: Place, kind: str, other: bool, question: str) -> None:
    one, two = logger_at(store, "T-1"), logger_at(store, "T-2")
    found: Suspicion | None = suspect(PROGRAM, Doubt(kind, one, START, START + timedelta(days=9), {}, two if other else None))
    assert found is not None
    assert found.question == question


def test_figures_within_a_sentence_are_written_as_in_the_language_of_the_reader() -> None:
    told = {"size": -0.7, "error": 0.1, "usual": -0.3, "days": 100, "spread": 0.32, "slope": 0.4, "now": 2.3, "weeks": [0.5]}
    colder = {"over": 65.0, "highest": 82.0, "colder": 3.5}
    with translation.override("de"):
        said = " ".join([*doubted("drift", told), alarmed("mould", 2456, at_least=False, figures=colder)])
        assert {"0,7 %", "−0,3 %", "0,32 %", "2,3 %", "3,5 °C"} <= set(re.findall(r"−?\d+,\d+ (?:%|°C)", said))
        assert "2.456 Stunden (102 Tage)" in said
        assert not re.search(r"\d\.\d", said.replace("2.456", ""))
    with translation.override("en"):
        assert "0.32 %" in " ".join(doubted("drift", told))
        assert figure(1e9) == "1,000,000,000"


def test_a_bad_cell_is_told_with_line_cell_and_what_to_do() -> None:
    said = why(Unreadable("not_a_figure", line=5, cell="6l.0"))
    assert said == (
        "Line 5, “6l.0”: This is no figure. Empty the cell if the logger had no value then, or write what its own program shows for that time, "
        "and send the file again."
    )


@pytest.mark.parametrize("code", UNREADABLE)
def test_every_refusal_says_what_to_do(code: str) -> None:
    words = str(UNREADABLE[code])
    assert re.search(r"[Ee]xport|[Ss]end|[Ss]ave|Answer|Look whether|Read the logger", words), words


def test_what_the_watched_folder_refused_is_told_to_whoever_looks_after_the_climate(
    store: Place, settings: Any, tmp_path: Path, as_person: Browser, volunteer: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.CLIMATE_FOLDER = tmp_path
    monkeypatch.setattr(folder, "MOST_BYTES", 2_000)
    monkeypatch.setattr("locations.climate.files.sheets.MOST_BYTES", 2_000)
    for name, data in (("stock.csv", b"name,colour\nhelmet,red\n"), ("years.csv", b"time,t\n" * 1_000)):
        path = tmp_path / name
        path.write_bytes(data)
        os.utime(path, (time.time() - 60, time.time() - 60))
    assert folder.look() == 2
    page = shown(as_person(volunteer), "/climate/")
    assert "stock, put into the watched folder, was refused" in page
    assert "No column holds a day and an hour beside a figure." in page
    assert "years, put into the watched folder, was refused" in page, "too large is told too, not left lying in silence"
    assert sorted(one.name for one in (tmp_path / "refused").iterdir()) == ["stock.csv", "stock.reason.txt", "years.csv", "years.reason.txt"]


def test_whatever_lies_among_the_refused_shuts_no_page(store: Place, settings: Any, tmp_path: Path, as_person: Browser, volunteer: Person) -> None:
    settings.CLIMATE_FOLDER, lies = tmp_path, tmp_path / "refused"
    lies.mkdir()
    (lies / "gone.reason.txt").symlink_to(lies / "taken away meanwhile")
    (lies / "drawer.reason.txt").mkdir()
    (lies / "own.reason.txt").write_bytes("Zähler läuft".encode("latin-1"))
    page = shown(as_person(volunteer), "/climate/")
    assert "own, put into the watched folder, was refused" in page
    assert "gone, put into" not in page


def asked(client: Client, path: str) -> list[str]:
    client.get(path)
    with CaptureQueriesContext(connection) as found:
        assert client.get(path).status_code == 200
    kinds = ("SELECT", "WITH")
    return [one["sql"] for one in found.captured_queries if one["sql"].lstrip("\n (").startswith(kinds) and "set_config" not in one["sql"]]


def test_the_room_page_asks_no_more_than_twelve_questions_and_what_would_help_no_more_with_more_rooms(
    store: Place, as_person: Browser, volunteer: Person
) -> None:
    send(logger_at(store, "T-1"), air((10, 55), (60, 68)))
    read(store, START + timedelta(days=1), t=11.5, rh=66)
    client = as_person(volunteer)
    with later(70):
        raise_alarms()
        room_page = asked(client, f"/climate/rooms/{store.pk}/?span=month")
        assert len(room_page) <= 12, "\n".join(one[:150] for one in room_page)
        counts = []
        for n in range(3):
            room = make_place(PROGRAM, place_id=uuid7(), level="room", code=f"H-{n}", name=f"Room {n}", parent_id=store.parent_id, use="store")
            send(logger_at(room, f"T-{n + 5}"), air((70, 60)), name=f"r{n}.csv")
            counts.append(len(asked(client, f"/climate/rooms/{store.pk}/what-if/")))
        assert counts == [counts[0]] * 3


def test_a_machine_that_stopped_long_ago_reads_no_air(store: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    end = clock.now() - TOLD_FOR - timedelta(days=60)
    for n in range(12):
        read(store, end - timedelta(days=36 - 3 * n), litres=6)
    monkeypatch.setattr("locations.climate.machines._rests", lambda *_given: pytest.fail("nobody is told of it any more"))
    assert in_trouble() == []
