"""Papers of the climate: figures against a plain computation over the stored readings, holes by name, both readings of a swing, who may have them."""

import json
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from io import BytesIO
from typing import Any
from uuid import UUID

import numpy as np
import pytest
from django.test import Client
from numpy.typing import NDArray
from pypdf import PdfReader

from conservation.checks.actions.incidents import open_incident
from conservation.checks.from_climate import catch_up as follow_alarms
from locations.climate import storing
from locations.climate.actions.loggers import calibrate, make_logger, place_logger
from locations.climate.actions.spots import SpotEntry, read_by_hand
from locations.climate.files.reading import Batch
from locations.climate.models import Reading
from locations.climate.tasks import raise_alarms
from locations.places.actions import make_place, move_object
from locations.places.models import Place
from museum import clock
from museum.errors import Forbidden, Invalid, NotFound
from museum.ids import uuid7
from museum.papers.files import open_file
from museum.papers.models import IssuedPaper
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person, Society
from reports.actions import gather
from reports.issuing import issue
from reports.registry import Gathered
from reports.render import render
from tests import stock
from tests.climate.test_exposure import logger_at, tell
from tests.reports.test_documents import envelope

pytestmark = pytest.mark.django_db
ALL = UUID(Society.KEY)
BEGIN = datetime(2025, 9, 10, tzinfo=UTC)
FIRST = date(2025, 9, 11)
CAUTION = "It does not replace looking at the object, and it does not authorise treatment. A conservator decides."


def text(paper: IssuedPaper) -> str:
    with open_file(paper.file) as opened:
        return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(opened.read())).pages).split())


def missing(said: str, *words: str) -> list[str]:
    return [word for word in words if word not in said]


def days(first: date, n: int) -> dict[str, str]:
    """So many days from the first on, as a paper is asked for them."""
    return {"begin": first.isoformat(), "end": (first + timedelta(days=n - 1)).isoformat()}


def stored(first: date, n: int) -> NDArray[np.float64]:
    """t and rh of the readings of those days as they lie in the table, by the clock of the house."""
    begin, end = clock.start_of(first), clock.start_of(first + timedelta(days=n))
    return np.array(Reading.objects.filter(at__gte=begin, at__lt=end).order_by("at").values_list("t", "rh"), dtype=np.float64)


def test_the_figures_are_those_of_the_stored_readings(room: Place, curator: Person) -> None:
    rng = np.random.default_rng(7)
    hours = np.arange(60 * 24)
    rh = np.round(58 + 8 * np.sin(2 * np.pi * hours / 300) + rng.normal(0, 3, len(hours)), 1)
    tell(logger_at(room, "T-1"), rh, begin=BEGIN, t=np.round(14 + 4 * np.sin(2 * np.pi * hours / 24), 1))
    data = gather(Actor.of(curator), "climate_record", room.pk, days(FIRST, 40)).data
    t, rh = stored(FIRST, 40).T
    assert len(rh) == 40 * 24
    assert data["whole"]["rh"] == [f"{value:.1f}" for value in (rh.mean(), rh.min(), rh.max())]
    assert data["whole"]["t"] == [f"{value:.1f}" for value in (t.mean(), t.min(), t.max())]
    assert data["whole"]["damp"] == sum(value > 65 for value in rh)
    assert data["rh_shares"] == [f"{np.percentile(rh, q):.1f}" for q in (5, 50, 95)]
    assert (data["whole"]["known"], data["whole"]["coverage"], data["trust"]) == (960, 100, "")
    longest = best = 0
    for value in rh:
        longest = longest + 1 if value > 65 else 0
        best = max(best, longest)
    assert data["run"]["hours"] == best
    # both readings of a swing, hour by hour in plain loops: (t - 24 h, t]
    windows = [rh[i - 23 : i + 1] for i in range(23, len(rh))]
    spans, away = [w.max() - w.min() for w in windows], [abs(w[-1] - w.mean()) for w in windows]
    assert data["swings"]["rh"] == {"range": f"{max(spans):.1f}", "deviation": f"{max(away):.1f}"}
    bizot = data["loans"][0]
    found = {row["words"]: row for row in bizot["rows"]}
    assert found["Humidity"]["within"] == f"{np.floor(1000 * np.mean((rh >= 40) & (rh <= 60))) / 10:.1f}"
    assert found["Humidity, lowest to highest in 24 h"]["within"] == f"{np.floor(1000 * np.mean(np.array(spans) <= 20)) / 10:.1f}"
    assert found["Humidity, away from the mean of 24 h"]["within"] == f"{np.floor(1000 * np.mean(np.array(away) <= 10)) / 10:.1f}"
    for n, month in enumerate(data["months"]):
        of = stored(FIRST if n == 0 else date(2025, 10, 1), 20)[:, 1]
        assert (month["hours"], month["rh"]) == (480, [f"{of.mean():.1f}", f"{of.min():.1f}", f"{of.max():.1f}"])


def test_the_worked_examples_of_the_reference(room: Place, curator: Person) -> None:
    """Reference 5.3 (FLU-017/018): a daily sine of 8 % at 50 % keeps the Bizot figures; one of 12 % is inside 40 to 60 % for 58.3 % and fails both readings."""
    by, hours = Actor.of(curator), np.arange(40 * 24)
    sine = np.sin(2 * np.pi * hours / 24)
    tell(logger_at(room, "T-1"), 50 + 8 * sine, begin=BEGIN, t=20.0)
    bizot = gather(by, "climate_record", room.pk, days(FIRST, 30)).data["loans"][0]
    assert (bizot["passed"], bizot["failed"]) == (True, [])
    other = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-Z", name="Attic", parent_id=room.parent_id, use="store")
    tell(logger_at(other, "T-2"), 50 + 12 * sine, begin=BEGIN, t=20.0)
    gathered = gather(by, "climate_record", other.pk, days(FIRST, 30))
    bizot = gathered.data["loans"][0]
    assert bizot["rows"][0]["within"] == "58.3"
    assert bizot["failed"] == ["humidity outside the range", "humidity, lowest to highest in 24 h", "humidity, away from the mean of 24 h"]
    assert [row["allowed"] for row in bizot["rows"]] == ["40–60 %", "16–25 °C", "20 %", "10 %"]


def test_a_hole_is_a_hole_and_named(room: Place, curator: Person) -> None:
    rh = np.full(60 * 24, 70.0)
    rh[240:300], rh[500:502], rh[600:606] = np.nan, np.nan, np.nan
    tell(logger_at(room, "T-1"), rh, begin=BEGIN)
    paper = issue(Actor.of(curator), "climate_record", room.pk, options=days(FIRST, 59))
    data, said = paper.data, text(paper)
    # of the hours 1 to 1415 from BEGIN + 23 h on: 60 and 6 are unknown, 2 were put between their neighbours
    assert (data["whole"]["unknown"], data["bridged"]) == (66, 2)
    assert [hole["hours"] for hole in data["holes"]["named"]] == [60]
    assert (data["holes"]["others"], data["holes"]["other_hours"]) == (1, 6)
    begin = (BEGIN + timedelta(hours=240)).astimezone(clock.zone())
    assert datetime.fromisoformat(data["holes"]["named"][0]["begin"]) == begin
    assert data["run"]["at_least"]
    assert not missing(
        said, "Known: 95 % of the time", "Of 66 hours nothing is known", "20 September 2025, 01:00", "60", "1 shorter hole makes up 6 hours",
        "at least 834 hours", "2 hours within holes of up to 3 hours were put between their neighbours", "A hole means", CAUTION,
    )  # fmt: skip
    assert "20 to 30" not in said


@pytest.mark.parametrize(
    ("kept", "trust", "words"),
    [(59, "", ""), (54, "partly", "do not stand for the whole of it"), (40, "little", "Insufficient"), (20, "short", "no shares of time")],
)
def test_what_is_known_too_little_says_so(room: Place, curator: Person, kept: int, trust: str, words: str) -> None:
    """Reference 8: shares and percentiles from 90 % with every month 75 %; insufficient under 75 %; no percentages of under 30 days."""
    rh = np.full(60 * 24, 66.0)
    rh[(kept + 1) * 24 - 1 :] = np.nan
    tell(logger_at(room, "T-1"), rh, begin=BEGIN)
    paper = issue(Actor.of(curator), "climate_record", room.pk, options=days(FIRST, 59))
    assert paper.data["trust"] == trust
    said = text(paper)
    assert words in said
    assert ("Hours within, %" in said.split("Type of control")[0]) == (trust != "short")
    assert ("% of the known" in said) == (trust != "short")
    assert bool(paper.data["rh_shares"]) == (trust != "short")


def test_a_month_that_is_not_whole_is_marked(room: Place, curator: Person) -> None:
    """Reference 8, the older WMO rule: no month with more than 5 days, or more than 3 in a row, missing."""
    rh = np.full(60 * 24, 50.0)
    rh[24 * 3 : 24 * 7 + 12] = np.nan
    rh[24 * 30 : 24 * 33] = np.nan
    tell(logger_at(room, "T-1"), rh, begin=BEGIN)
    data = gather(Actor.of(curator), "climate_record", room.pk, days(FIRST, 49)).data
    assert [row["whole"] for row in data["months"]] == [False, True]
    assert data["marked"]


def test_types_of_control_are_told_with_what_they_do_not_say(room: Place, curator: Person) -> None:
    """Reference 5.2 (FLU-013): base 50, season 8, day 4: A1 and B for all of the time, AA for half of it."""
    hours = np.arange(395 * 24)
    tell(logger_at(room, "T-1"), 50 + 8 * np.sin(2 * np.pi * hours / 8760) + 4 * np.sin(2 * np.pi * hours / 24), begin=BEGIN, t=20.0)
    by = Actor.of(curator)
    gathered = gather(by, "climate_record", room.pk, {"begin": "2025-09-11", "end": "2026-10-09"}).data["control"]
    shares = {row["code"]: float(row["share"]) for row in gathered["rows"]}
    assert shares["A1"] == shares["B"] == shares["C"] == shares["D"] == 100.0
    assert shares["AA"] == pytest.approx(50.2, abs=1)
    assert gathered["year"]
    short = issue(by, "climate_record", room.pk, options=days(FIRST, 90))
    assert "A type is one of a year; this record is shorter" in text(short)
    assert "No 30 days follow each other" in text(issue(by, "climate_record", room.pk, options=days(FIRST, 20)))


def test_who_checked_the_logger_is_told_or_that_nobody_did(room: Place, curator: Person) -> None:
    it = logger_at(room, "T-1")
    tell(it, np.full(60 * 24, 60.0), begin=BEGIN)
    never = text(issue(Actor.of(curator), "climate_record", room.pk, options=days(FIRST, 30)))
    assert "never; such sensors are off by 2 to 3 % RH when new, and drift" in never
    calibrate(PROGRAM, it.pk, points=[(35.0, 33.1), (73.5, 75.5)], at=BEGIN)
    checked = issue(Actor.of(curator), "climate_record", room.pk, options=days(FIRST, 30))
    assert not missing(text(checked), "10 September 2025: showed 35.0, true 33.1 %; showed 73.5, true 75.5 %")
    # 60 lies 25 of 38.5 above 35: 33.1 + 25 / 38.5 * 42.4 = 60.6 (LOG-028 in the reference, with its salts)
    assert checked.data["whole"]["rh"] == ["60.6", "60.6", "60.6"]


def read(room: Place, *values: float) -> None:
    for n, rh in enumerate(values):
        read_by_hand(PROGRAM, [SpotEntry(uuid7(), room.pk, t=12.0, rh=rh, note=f"said by Marit {n}")], at=BEGIN + timedelta(days=7 * n + 1))


def test_a_room_read_by_hand_has_a_paper_without_hourly_claims(room: Place, curator: Person) -> None:
    read(room, 60, 68, 70, 71)
    paper = issue(Actor.of(curator), "climate_record", room.pk, options=days(FIRST, 59))
    said = text(paper)
    assert paper.data["dials"]["verdict"] == "damp"
    # four rings and four lozenges, each begun by a capital M, and no line between them
    assert sum(part.count("M") for part in paper.data["drawing"].split("<path") if 'class="at"' in part) == 8
    assert 'class="line"' not in paper.data["drawing"]
    assert not missing(
        said,
        "No logger spoke for this place",
        "read 4 times (marks in the chart): 60 to 71 %, 3 times above 65 %",
        "Three or more in a row above 65 %: damp.",
        CAUTION,
    )
    assert not [word for word in ("Type of control", "Bizot", "longest time without a break") if word in said]
    # what people wrote beside it is not for the lender, not even in the data that are attached
    assert "Marit" not in json.dumps(paper.data)


def test_a_room_of_which_nothing_is_known_says_just_that(room: Place, curator: Person) -> None:
    said = text(issue(Actor.of(curator), "climate_record", room.pk, options=days(FIRST, 30)))
    assert not missing(said, "No logger spoke for this place", "Nobody read a dial either", CAUTION)


def test_days_that_cannot_be_are_refused_in_words(room: Place, curator: Person, as_person: Callable[[Person], Client]) -> None:
    by = Actor.of(curator)
    for options in (days(date(2027, 1, 1), 3), {"begin": "1999-01-01"}, {"begin": "2026-02-01", "end": "2026-01-01"}, {"begin": "soon"}, {"end": "2026-02-30"}):
        with pytest.raises(Invalid):
            gather(by, "climate_record", room.pk, options)
    with pytest.raises(Invalid) as refused:
        gather(by, "climate_year", ALL, {"begin": "2024-01-01", "end": "2026-01-01"})
    assert "too long a time for one paper: at most 400 days" in refused.value.sentence
    asked = as_person(curator).post("/papers/issue/", {"document": "climate_record", "subject": str(room.pk), "end": "2030-01-01"})
    assert asked.status_code == 400
    assert "has not come yet" in asked.content.decode()


def test_who_may_have_them(room: Place, curator: Person, volunteer: Person, reader: Person, as_person: Callable[[Person], Client]) -> None:
    for person in (volunteer, reader):
        for document, subject in (("climate_record", room.pk), ("climate_year", ALL)):
            with pytest.raises(Forbidden):
                gather(Actor.of(person), document, subject)
    paper = issue(Actor.of(curator), "climate_record", room.pk)
    # to a reader a paper that is there looks like one that is not
    assert {as_person(reader).get(f"/papers/{key}/").status_code for key in (paper.pk, uuid7())} == {403}
    assert not IssuedPaper.objects.visible_to(Actor.of(reader)).exists()
    assert as_person(volunteer).get(f"/papers/{paper.pk}/").status_code == 200
    hall = Place.objects.get(code="H")
    for subject in (uuid7(), hall.pk):
        with pytest.raises(NotFound):
            gather(Actor.of(curator), "climate_record", subject)
    with pytest.raises(NotFound):
        gather(Actor.of(curator), "climate_year", room.pk)


def rendered(gathered: Gathered, data: Any) -> bytes:
    return render(f"reports/{'climate_year' if 'rooms' in data else 'climate_record'}.html", data, envelope(gathered.hash))


def test_the_same_record_gives_the_same_bytes(room: Place, curator: Person) -> None:
    tell(logger_at(room, "T-1"), 60 + 8 * np.sin(np.arange(60 * 24) / 9), begin=BEGIN)
    by = Actor.of(curator)
    for document, subject in (("climate_record", room.pk), ("climate_year", ALL)):
        first, again = (gather(by, document, subject, days(FIRST, 50)) for _ in range(2))
        assert first.hash == again.hash
        assert rendered(first, first.data) == rendered(again, json.loads(json.dumps(again.data)))


def test_the_year_tells_room_by_room_what_is_known_and_what_not(room: Place, curator: Person) -> None:
    hall = room.parent_id
    make_place(PROGRAM, place_id=uuid7(), level="room", code="H-N", name="Nobody's room", parent_id=hall, use="store")
    yard = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-Y", name="Yard wall", parent_id=hall, use="outside")
    dial = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-D", name="Dial room", parent_id=hall, use="store")
    rh = np.full(400 * 24, 50.0)
    rh[300 * 24 : 310 * 24] = 72.0
    rh[100 * 24 : 102 * 24] = np.nan
    tell(logger_at(room, "T-1"), rh, begin=BEGIN)
    tell(logger_at(yard, "T-9"), np.full(60 * 24, 95.0), begin=BEGIN)
    read(dial, 60, 61, 70)
    read_by_hand(PROGRAM, [SpotEntry(uuid7(), room.pk, litres=4.5), SpotEntry(uuid7(), dial.pk, insects=2)], at=BEGIN + timedelta(days=40))
    open_incident(Actor.of(curator), incident_id=uuid7(), kind="mould", place_id=room.pk, opened_on=date(2026, 10, 20))
    paper = issue(Actor.of(curator), "climate_year", ALL, options={"begin": "2025-11-01", "end": "2026-10-31"})
    said, rooms = text(paper), {one["place"]["code"]: one for one in paper.data["rooms"]}
    assert {code: one["verdict"] for code, one in rooms.items()} == {"H-S": "damp", "H-D": "unknown", "H-N": "unknown"}
    assert (rooms["H-S"]["whole"]["longest"], rooms["H-S"]["run"]["at_least"]) == (240, False)
    assert not missing(
        said, "Damp: a week or more above 65 % without a break", "Not known: nobody read it", "Cold store, 240 hours", "Mould outbreak", "Not over", CAUTION,
        "from a reading outdoors", "Do not brush, blow or wipe it", "no logger told anything of the month",
    )  # fmt: skip
    assert "Yard wall" not in said
    autumn = gather(Actor.of(curator), "climate_year", ALL, {"begin": "2025-09-11", "end": "2025-11-30"}).data
    rooms = {one["place"]["code"]: one for one in autumn["rooms"]}
    assert rooms["H-D"]["verdict"] == "dials_watch"
    assert (rooms["H-S"]["machine"]["all_litres"], rooms["H-D"]["machine"]["insects"]) == ("4", 2)


@pytest.mark.parametrize(("before", "words"), [(72.0, "drier"), (50.0, "alike"), (np.nan, None)])
def test_a_year_is_held_against_the_one_before_if_that_is_known(room: Place, curator: Person, before: float, words: str | None) -> None:
    tell(logger_at(room, "T-1"), np.concatenate((np.full(30 * 24, before), np.full(335 * 24, 50.0), np.full(40 * 24, 50.0))), begin=BEGIN)
    (one,) = gather(Actor.of(curator), "climate_year", ALL, {"begin": "2026-09-11", "end": "2026-10-05"}).data["rooms"]
    assert (one["before"] and one["before"]["compared"]) == words


def test_they_are_asked_for_where_the_climate_is_looked_at(room: Place, curator: Person, volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    whole = [("/climate/", document) for document in ("climate_year", "calibration_log", "light_plan")]
    for address, document in [(f"/climate/rooms/{room.pk}/", "climate_record"), *whole]:
        assert f'name="document" value="{document}"' in as_person(curator).get(address).content.decode()
        assert f'value="{document}"' not in as_person(volunteer).get(address).content.decode()
    asked = {"document": "climate_record", "subject": str(room.pk), "begin": "2026-01-01", "end": "2026-10-31"}
    assert as_person(curator).post("/papers/issue/", asked).status_code == 302
    assert as_person(volunteer).post("/papers/issue/", asked).status_code == 403


def test_the_log_of_checks_tells_each_and_what_comes_due(room: Place, curator: Person) -> None:
    """Correction of the reference (LOG-028): 35.0 at 33.07 and 73.5 at 75.47 make 60.60 of 60.0; every 12 months is its house rule."""
    by, now = Actor.of(curator), clock.now()
    late, soon, good, _never = (logger_at(room, f"T-{n}") for n in range(4))
    calibrate(by, late.pk, points=[(35.0, 33.07), (73.5, 75.47)], at=BEGIN + timedelta(days=10), note="magnesium chloride, common salt")
    calibrate(by, soon.pk, points=[(76.0, 75.5)], at=now - timedelta(days=330))
    calibrate(by, good.pk, points=[(33.0, 33.1), (75.0, 75.5)], at=now - timedelta(days=10))
    paper = issue(by, "calibration_log", ALL)
    states = {row["name"]: row["state"] for row in paper.data["loggers"]}
    assert states == {"T-0": "late", "T-1": "soon", "T-2": "good", "T-3": "never"}
    assert [row["name"] for row in paper.data["loggers"]] == ["T-3", "T-0", "T-1", "T-2"]
    (check,) = next(row for row in paper.data["loggers"] if row["name"] == "T-0")["checks"]
    slope, shown = float(check["slope"]), check["shown"].replace(" ", "").replace("−", "-")
    assert (60.0 + float(shown)) / slope == pytest.approx(60.60, abs=0.05)
    assert not missing(
        text(paper), "2 loggers are to be checked now", "20 September 2026, overdue", "35.0 at 33.1: +1.9; 73.5 at 75.5: −2.0", "one point only", "Ivo",
        "magnesium chloride, common salt", "18 to 90 %", "never",
    )  # fmt: skip


def test_a_log_without_loggers_says_so(society: Any, curator: Person, volunteer: Person) -> None:
    assert "There is no logger in use." in text(issue(Actor.of(curator), "calibration_log", ALL))
    with pytest.raises(Forbidden):
        gather(Actor.of(volunteer), "calibration_log", ALL)
    with pytest.raises(NotFound):
        gather(Actor.of(curator), "calibration_log", uuid7())


def vapour(t: float, rh: float) -> float:
    """g/m³ by the Magnus formula of the reference (section 1), apart from the program's own."""
    return 2.16679 * rh / 100 * 611.2 * np.exp(17.62 * t / (243.12 + t)) / (t + 273.15)


def wet_november(room: Place) -> Any:
    """A year at 15 °C and 50 %; March at 75 %, August at 24 °C and 75 %, nothing of May; the last ten days at 70 %, up to noon of 1 November."""
    first = clock.start_of(date(2025, 10, 1))
    hours = int((clock.now() - first).total_seconds()) // 3600
    days_of = [(first + timedelta(hours=n)).astimezone(clock.zone()) for n in range(hours)]
    rh = np.array([{3: 75.0, 5: np.nan, 8: 75.0}.get(at.month, 50.0) for at in days_of])
    rh[-240:] = 70.0
    it = logger_at(room, "T-1")
    tell(it, rh, begin=first, t=np.array([24.0 if at.month == 8 else 15.0 for at in days_of]))
    return it


def test_the_sheet_for_the_board_says_what_a_machine_more_must_take_and_when_heating_would_do(room: Place, curator: Person) -> None:
    wet_november(room)
    by = Actor.of(curator)
    paper = issue(by, "board_sheet", room.pk, options={"volume": "75", "leaks": "usual"})
    data, said = paper.data, text(paper)
    # n V (v - v at the target), 24 h: 0.15 and 0.6 changes an hour of 75 m³
    held = vapour(15, 70) - vapour(15, 60)
    assert float(data["dry"]["least"]) == pytest.approx(0.024 * 0.15 * 75 * held, abs=0.06)
    assert float(data["dry"]["most"]) == pytest.approx(0.024 * 0.6 * 75 * held, abs=0.06)
    # times 1.3, by the vapour of its rating: 26.7 °C and 60 %, or 18.3 °C and 60 %
    most = 0.024 * 0.6 * 75 * held * 1.3 / vapour(15, 60)
    assert (float(data["dry"]["warm"]), float(data["dry"]["cool"])) == (round(most * vapour(26.7, 60)), round(most * vapour(18.3, 60)))
    march = next(one for one in data["months"] if one["month"] == "2026-03-01")
    # PSY-091: 15 °C at 75 % heated to reach 60 %: 18.51 °C
    assert (march["verdict"], march["to"]) == ("would_do", "18.5")
    assert (data["would_do"], data["not_alone"], data["lost"]) == (["March"], ["August"], ["May"])
    assert [one["month"] for one in data["months"]][::11] == ["2025-11-01", "2026-10-01"]
    assert not missing(
        said, f"{data['dry']['least']} to {data['dry']['most']} litres a day would have to go.", "In March heating would have done.", "In August it would not",
        "Too little is known of May.", "above 65 % for at least 168 hours", "First find where the water", CAUTION, "The board decides", "page 1 of 1",
    )  # fmt: skip


def test_a_sheet_without_a_size_tells_litres_of_a_hundred_cubic_metres(room: Place, curator: Person) -> None:
    wet_november(room)
    paper = issue(Actor.of(curator), "board_sheet", room.pk)
    assert "litres a day would have to go of each 100 m³ of room" in text(paper)
    dry = gather(Actor.of(curator), "board_sheet", room.pk, {"target": "65", "leaks": "tight", "volume": "100"}).data["dry"]
    assert float(dry["least"]) == pytest.approx(0.024 * 0.05 * 100 * (vapour(15, 70) - vapour(15, 65)), abs=0.06)
    for wrong in ({"target": "61"}, {"volume": "0"}, {"volume": "large"}, {"leaks": "sieve"}):
        with pytest.raises(Invalid):
            gather(Actor.of(curator), "board_sheet", room.pk, wrong)


def test_a_sheet_tells_the_alarm_that_goes_on_and_the_looks_it_asked_for(room: Place, curator: Person) -> None:
    thing = stock.helmet()
    move_object(PROGRAM, thing.pk, place_id=room.pk, happened_at=BEGIN)
    wet_november(room)
    raise_alarms()
    follow_alarms()
    paper = issue(Actor.of(curator), "board_sheet", room.pk)
    assert (paper.data["alarm"]["red"], paper.data["alarm"]["place"], paper.data["alarms_too"]) == (False, "Cold store", [])
    assert paper.data["looks"] >= 1
    assert not missing(text(paper), "Amber alarm since", "thing that stood there is to be looked at, by")


def test_a_sheet_of_a_room_dry_again_tells_what_was_and_that_no_heating_was_needed(room: Place, curator: Person) -> None:
    """A board that meets after the wet weeks decides by them, not by the dry days of the last file."""
    rh = np.full(int((clock.now() - BEGIN).total_seconds()) // 3600, 50.0)
    rh[-25 * 24 : -16 * 24] = 74.0
    tell(logger_at(room, "T-1"), rh, begin=BEGIN)
    raise_alarms()
    said = text(issue(Actor.of(curator), "board_sheet", room.pk))
    assert not missing(said, "Red alarm, over now", "Cold store: over 70 %", "None is needed", "In no month known was heating needed")
    assert "would heating alone have done" not in said


def test_a_house_with_a_few_damp_hours_is_not_called_damp(room: Place, curator: Person) -> None:
    rh = np.full(int((clock.now() - BEGIN).total_seconds()) // 3600, 50.0)
    rh[-1000:-995] = 68.0
    tell(logger_at(room, "T-1"), rh, begin=BEGIN)
    options = {"begin": (clock.today() - timedelta(days=365)).isoformat(), "end": (clock.today() - timedelta(days=1)).isoformat()}
    said = text(issue(Actor.of(curator), "climate_year", ALL, options=options))
    assert "Dry but for 5 hours above 65 %" in said
    assert "Damp at times" not in said


def test_a_sheet_of_a_room_nobody_read_says_only_that(room: Place, curator: Person, volunteer: Person) -> None:
    said = text(issue(Actor.of(curator), "board_sheet", room.pk))
    assert "Nothing was read in this room" in said
    assert not [word for word in ("litres", "eating", "The board decides") if word in said]
    with pytest.raises(Forbidden):
        gather(Actor.of(volunteer), "board_sheet", room.pk)


def test_a_sheet_is_asked_for_by_what_was_filled_in(room: Place, curator: Person, volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    wet_november(room)
    address = f"/climate/rooms/{room.pk}/what-if/?target=55&volume=80,5&leaks=tight"
    page = as_person(curator).get(address).content.decode()
    for name, value in (("target", "55"), ("volume", "80,5"), ("leaks", "tight")):
        assert f'<input type="hidden" name="{name}" value="{value}">' in page
    assert "board_sheet" not in as_person(volunteer).get(address).content.decode()
    asked = {"document": "board_sheet", "subject": str(room.pk), "target": "55", "volume": "80,5", "leaks": "tight"}
    assert as_person(curator).post("/papers/issue/", asked).status_code == 302


def test_an_hour_with_too_few_readings_was_not_read(room: Place, curator: Person) -> None:
    """Reference 8: an hour counts with 75 % of its readings; one put between its neighbours is no index of swings."""
    it = make_logger(PROGRAM, logger_id=uuid7(), name="T-10", interval=600)
    place_logger(PROGRAM, it.pk, place_id=room.pk, at=BEGIN)
    at = int(BEGIN.timestamp()) + 600 * np.arange(6 * 24 * 4)
    rh = np.where(np.arange(len(at)) // 6 == 50, 90.0, 50.0)
    keep = np.ones(len(at), dtype=bool)
    keep[6 * 50 : 6 * 50 + 2] = False  # four of six: the hour at 90 % does not count
    keep[6 * 60] = False  # five of six: it does
    batch = Batch(at, np.full(len(at), 15.0), rh, np.full(len(at), np.nan), np.zeros(len(at), dtype=np.int64))
    storing.add("climate_reading", it.number, 0, batch.some(keep))
    data = gather(Actor.of(curator), "climate_record", room.pk, days(FIRST, 3)).data
    assert (data["whole"]["known"], data["bridged"]) == (72, 1)
    assert data["swings"]["rh"] == {"range": "0.0", "deviation": "0.0"}
