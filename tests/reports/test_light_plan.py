"""The plan of light: what each thing on show has had, whose turn it is, and what nobody measured."""

from datetime import date, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from collection.objects.models import Object
from locations.climate import storing
from locations.climate.actions.spots import SpotEntry, read_by_hand
from locations.climate.files.reading import Batch
from locations.climate.lives import Light
from locations.climate.science.light import light_category
from locations.places.actions import make_place, move_object
from locations.places.models import Place
from museum import clock
from museum.errors import Forbidden, Invalid
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from reports.actions import gather
from reports.documents.light import _rests
from reports.issuing import issue
from reports.templatetags.paper import short
from tests import stock
from tests.climate.test_exposure import logger_at
from tests.reports.test_climate_papers import ALL, BEGIN, missing, text

pytestmark = pytest.mark.django_db


@pytest.fixture
def case(room: Place) -> Place:
    """A case in a gallery."""
    gallery = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-G", name="Gallery", parent_id=room.parent_id, use="display")
    return make_place(PROGRAM, place_id=uuid7(), level="unit", code="H-G-1", name="Case 1", parent_id=gallery.pk)


def shown(case: Place, number: str, *materials: str, since: datetime = BEGIN) -> Object:
    thing = stock.helmet(number, materials=materials)
    move_object(PROGRAM, thing.pk, place_id=case.pk, happened_at=since)
    return thing


def metered(place: Place, lux: float, uv: float | None = None, *, ago: int = 3) -> None:
    read_by_hand(PROGRAM, [SpotEntry(uuid7(), place.pk, lux=lux, uv=uv)], at=clock.now() - timedelta(days=ago))


def test_the_plan_of_light_gives_each_thing_its_weeks_and_its_turn(case: Place, curator: Person) -> None:
    """LGT-007/008: high at 50 lx: 300 h a year, 6.25 weeks of 48 h; medium at 50 lx and 48 h a week: 62.5 weeks, so all of the year."""
    for number, *materials in (("1974.1.1", "felt"), ("1974.1.2", "steel", "plume"), ("1974.1.3", "leather"), ("1974.1.4", "steel")):
        shown(case, number, *materials, since=clock.now())
    metered(Place.objects.get(code="H-G"), 50, uv=90)
    paper = issue(Actor.of(curator), "light_plan", ALL, options={"hours": "48"})
    (one,) = paper.data["cases"]
    today = clock.today()
    first, second = one["things"]
    assert [(row["number"], row["hours"], row["weeks"], row["left"]) for row in (first, second)] == [("1974.1.1", "300", 6.2, 43), ("1974.1.2", "300", 6.2, 43)]
    assert first["turn"] == {"sort": "turn", "from": today.isoformat(), "until": (today + timedelta(days=42)).isoformat()}
    assert second["turn"]["from"] == (today + timedelta(days=43)).isoformat()
    assert (one["stay"], one["unfaded"], one["bright"], one["lux"]) == (1, 1, 0, "50")
    assert not missing(
        text(paper), "Case 1, Gallery", "50 lx by a light meter", "Ultraviolet 90 µW/lm, over 75", "may stay all year", "not measured", "A conservator decides"
    )


def test_what_only_a_light_meter_read_counts_and_is_called_so(case: Place, curator: Person) -> None:
    """50 lx at 48 hours a week, on the whole days since it stands there that are of the season of the reading."""
    since, read = clock.now() - timedelta(days=10), clock.today() - timedelta(days=3)
    shown(case, "1974.1.1", "felt", since=since)
    metered(case, 50)
    days = sum((clock.today() - timedelta(days=n)).month % 12 // 3 == read.month % 12 // 3 for n in range(1, 10))
    paper = issue(Actor.of(curator), "light_plan", ALL, options={"hours": "48"})
    (row,) = paper.data["cases"][0]["things"]
    dose = 50 * 48 / 7 * days
    assert (row["used"], row["metered_days"], float(row["metered"])) == ("", days, pytest.approx(100 * dose / 15_000, abs=0.5))
    assert row["left"] == pytest.approx(7 * (15_000 - dose) / 50 / 48, abs=1)
    said = text(paper)
    assert not missing(said, f"about {row['metered']} by a light meter", f"{days} days")
    assert "not measured" not in said
    # at all hours of the week the same light has used up its year
    shown(case, "1974.1.2", "felt", since=BEGIN)
    rows = {row["number"]: row for row in gather(Actor.of(curator), "light_plan", ALL, {"hours": "168"}).data["cases"][0]["things"]}
    assert rows["1974.1.2"]["turn"]["sort"] == "used"


def test_a_thing_that_has_had_its_year_of_light_rests(case: Place, curator: Person) -> None:
    """What a logger read while the thing was there counts, reading by reading; what was not measured does not."""
    it = logger_at(case, "T-L")
    hours = int((clock.now() - BEGIN).total_seconds()) // 3600
    at = int(BEGIN.timestamp()) + 3600 * np.arange(hours)
    lux = np.where((at // 3600) % 24 < 8, 60.0, 0.0)
    figures = (np.full(hours, 18.0), np.full(hours, 50.0), lux)
    storing.add("climate_reading", it.number, 0, Batch(at, *figures, np.zeros(hours, dtype=np.int64)))
    shown(case, "1974.1.1", "felt")
    shown(case, "1974.1.2", "leather", since=clock.now() - timedelta(days=100))
    data = gather(Actor.of(curator), "light_plan", ALL, {"hours": "56"}).data
    (one,) = data["cases"]
    rows = {row["number"]: row for row in one["things"]}
    assert (one["lux"], one["read_on"], one["bright"]) == ("60", "", 2)
    year = lux[-8760:].sum()
    assert float(rows["1974.1.1"]["used"]) == pytest.approx(100 * year / 15_000, abs=1)
    # in light on every day of the year, it rests until all but the last 31 days of 480 lx h are a year old
    assert rows["1974.1.1"]["turn"]["sort"] == "used"
    assert date.fromisoformat(rows["1974.1.1"]["turn"]["until"]) - clock.today() in (timedelta(days=333), timedelta(days=334))
    # 48,000 of 150,000 lx h in the last hundred days; the rest at 60 lx and 56 h a week: 30.35 weeks
    assert float(rows["1974.1.2"]["used"]) == pytest.approx(32, abs=1)
    assert rows["1974.1.2"]["left"] == pytest.approx(7 * (150_000 - 48_000) / 60 / 56, abs=3)
    assert rows["1974.1.2"]["measured"] == "27"
    assert "used up since" in text(issue(Actor.of(curator), "light_plan", ALL, options={"hours": "56"}))


def lit_on(case: Place, first: int, last: int, lux: float) -> None:
    """Eight hours of so many lx by a logger, from `first` days ago to `last` days ago."""
    it, begin = logger_at(case, "T-L"), clock.start_of(clock.today() - timedelta(days=first))
    hours = 24 * (first - last + 1)
    at = int(begin.timestamp()) + 3600 * np.arange(hours)
    dark = np.zeros(hours)
    light = np.where((np.arange(hours) % 24 >= 9) & (np.arange(hours) % 24 < 17), lux, 0.0)
    storing.add("climate_reading", it.number, 0, Batch(at, dark + 18, dark + 50, light, dark.astype(np.int64)))


def test_what_rests_says_since_when_its_year_is_used_up_and_until_when_it_rests(case: Place, curator: Person) -> None:
    """By hand: 40 days of 8 h at 60 lx are 480 lx h each, from 100 to 61 days ago.

    Of 15,000 lx h the 32nd (69 days ago) uses up the last. The last 31 of them hold 14,880, less than the budget, once the ninth (92 days ago) is over a
    year old.
    """
    lit_on(case, 100, 61, 60)
    thing = shown(case, "1974.1.1", "felt")
    paper = issue(Actor.of(curator), "light_plan", ALL, options={"hours": "48"})
    (row,) = paper.data["cases"][0]["things"]
    today = clock.today()
    since, until = today - timedelta(days=69), today + timedelta(days=365 - 92)
    assert row["turn"] == {"sort": "used", "since": since.isoformat(), "until": until.isoformat()}
    said = text(paper)
    assert not missing(said, f"rests until {short(until.isoformat())}", f"used up since {short(since.isoformat())}", "Used up since: the day on which")
    # where its next case has no light that anybody measured, it rests all the same
    dark = make_place(PROGRAM, place_id=uuid7(), level="unit", code="H-G-2", name="Case 2", parent_id=case.parent_id)
    move_object(PROGRAM, thing.pk, place_id=dark.pk, happened_at=clock.now() - timedelta(days=1))
    (one,) = gather(Actor.of(curator), "light_plan", ALL, {"hours": "48"}).data["cases"]
    assert (one["things"][0]["turn"]["sort"], one["things"][0]["weeks"], one["unlit"]["high"]) == ("used", None, [])


def test_what_has_less_than_a_day_left_rests_too_and_is_not_called_too_bright(case: Place, curator: Person) -> None:
    """By hand: 31 days of 480 lx h, from 100 to 70 days ago, leave 120 of 15,000; a day here has 480, so it has one again when the first is over a year old."""
    lit_on(case, 100, 70, 60)
    shown(case, "1974.1.1", "felt")
    paper = issue(Actor.of(curator), "light_plan", ALL, options={"hours": "48"})
    (row,) = paper.data["cases"][0]["things"]
    today = clock.today()
    # 56 hours a week at 60 lx, as its logger saw
    assert (row["left"], row["turn"]["sort"], row["turn"]["until"]) == (0, "nearly", (today + timedelta(days=365 - 100)).isoformat())
    assert not missing(text(paper), "used up but for less than a day since")


def test_where_a_day_takes_a_year_s_light_to_a_hair_there_is_no_nearly() -> None:
    had = Light(light_category("high"), 8.0, {date(2025, 1, 1): 100.0})
    assert [_rests(had, None, 15_000 - left) for left in (0, 1e-10, 0.9, 101)] == [None] * 4
    told = _rests(had, None, 14_900)
    assert told is not None
    assert (told["sort"], told["since"], told["until"]) == ("nearly", "2025-01-01", "2026-01-01")


def test_where_a_logger_saw_the_light_on_closed_days_too_the_turn_is_as_short_as_that_light_makes_it(case: Place, curator: Person) -> None:
    """Open sixteen hours a week, lit all day by a window: 150,000 lx h at 50 lx are 3,000 h, 26.7 weeks of 112 hours (rounded down), never 52."""
    it, hours = logger_at(case, "T-L"), int((clock.now() - BEGIN).total_seconds()) // 3600
    at = int(BEGIN.timestamp()) + 3600 * np.arange(hours)
    lux = np.where((at // 3600) % 24 < 16, 50.0, 0.0)
    storing.add("climate_reading", it.number, 0, Batch(at, np.full(hours, 18.0), np.full(hours, 50.0), lux, np.zeros(hours, dtype=np.int64)))
    shown(case, "1974.1.2", "leather", since=clock.now() - timedelta(days=1))
    paper = issue(Actor.of(curator), "light_plan", ALL, options={"hours": "16"})
    (thing,) = paper.data["cases"][0]["things"]
    assert thing["weeks"] == 26.7
    assert not missing(text(paper), "50 lx while it is lit, 112 hours a week, open or not")


def test_what_has_lived_all_year_within_its_budget_may_stay_another(case: Place, curator: Person) -> None:
    """28 lx for 70 hours a week are 102,000 lx h a year of 150,000: two thirds used, and no reason for a turn."""
    it, hours = logger_at(case, "T-L"), int((clock.now() - BEGIN).total_seconds()) // 3600
    at = int(BEGIN.timestamp()) + 3600 * np.arange(hours)
    lux = np.where((at // 3600) % 24 < 10, 28.0, 0.0)
    storing.add("climate_reading", it.number, 0, Batch(at, np.full(hours, 18.0), np.full(hours, 50.0), lux, np.zeros(hours, dtype=np.int64)))
    shown(case, "1974.1.2", "leather")
    shown(case, "1974.1.1", "felt")
    (one,) = gather(Actor.of(curator), "light_plan", ALL, {"hours": "16"}).data["cases"]
    assert (one["stay"], [row["number"] for row in one["things"]]) == (1, ["1974.1.1"])


def test_turns_end_with_the_year_and_a_bright_case_is_dimmed_first(case: Place, curator: Person) -> None:
    for n in range(1, 4):
        shown(case, f"1974.1.{n}", "leather", since=clock.now())
    metered(case, 150)
    by = Actor.of(curator)
    # 150,000 lx h at 150 lx and 40 h a week are 25 weeks, 175 days: two turns and the beginning of a third in 365 days
    (one,) = gather(by, "light_plan", ALL, {"hours": "40"}).data["cases"]
    spans = [(date.fromisoformat(row["turn"]["from"]), date.fromisoformat(row["turn"]["until"])) for row in one["things"]]
    assert [(until - begin).days + 1 for begin, until in spans] == [175, 175, 16]
    assert spans[2][1] == clock.today() + timedelta(days=365)
    assert one["bright"] == 3
    metered(case, 90_000, ago=1)
    assert [row["turn"]["sort"] for row in gather(by, "light_plan", ALL, {"hours": "40"}).data["cases"][0]["things"]] == ["brief"] * 3


def test_without_a_measured_light_there_is_no_plan_but_a_task(case: Place, room: Place, curator: Person, volunteer: Person) -> None:
    shown(case, "1974.1.1", "felt")
    shown(room, "1974.1.9", "felt")
    said = text(issue(Actor.of(curator), "light_plan", ALL))
    assert not missing(said, "No light was measured here", "Fade quickly: 1974.1.1", "56 open hours a week")
    # what stands in a store is not on display
    assert "1974.1.9" not in said
    with pytest.raises(Forbidden):
        gather(Actor.of(volunteer), "light_plan", ALL)
    for hours in ("0", "200", "all day"):
        with pytest.raises(Invalid):
            gather(Actor.of(curator), "light_plan", ALL, {"hours": hours})


def test_an_empty_house_has_no_light_to_plan(society: Any, curator: Person) -> None:
    assert "Nothing stands in a place that is marked as display" in text(issue(Actor.of(curator), "light_plan", ALL))
