"""Papers: the climate one thing lived through, the band of a room's own seasons, its air beside a colder wall; against plain counts and other libraries."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import psychrolib
import pytest

from locations.climate import exposure
from locations.climate.actions.loggers import make_logger, place_logger
from locations.places.actions import make_place
from locations.places.models import Place
from museum import clock
from museum.errors import Forbidden, Invalid
from museum.ids import uuid7
from museum.papers.models import IssuedPaper
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from reports.actions import gather
from reports.issuing import issue
from tests import stock
from tests.climate.test_exposure import logger_at, put, tell
from tests.reports.test_climate_papers import CAUTION, days, text

pytestmark = pytest.mark.django_db
BEGIN = datetime(2025, 9, 10, tzinfo=UTC)
NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)


@pytest.fixture
def room(society: Any) -> Iterator[Place]:
    with clock.at(NOW):
        yield stock.shelf()[1]


def sine(size: float, hours: int) -> Any:
    n = np.arange(hours)
    return 50 + 10 * np.sin(2 * np.pi * n / 8760) + size * np.sin(2 * np.pi * n / 24)


def test_the_band_of_the_worked_example(room: Place, curator: Person) -> None:
    """Reference 5.1, FLU-004 to 006: a season of 10 % and a day of 12 % give -11.64 and +11.64 %, 86.0 % of the hours within."""
    it, hours = logger_at(room, "T-1"), 24 * 430
    place_logger(PROGRAM, it.pk, place_id=room.pk, at=BEGIN - timedelta(days=30))
    tell(it, sine(12, hours), begin=BEGIN - timedelta(days=10))
    data = gather(Actor.of(curator), "climate_record", room.pk, days(datetime(2026, 9, 1, tzinfo=UTC).date(), 60)).data
    band = data["band"]
    assert band["why"] == ""
    assert float(band["p7"]) == pytest.approx(-11.64, abs=0.1)
    assert float(band["p93"]) == pytest.approx(11.64, abs=0.1)
    assert float(band["inside"]) == pytest.approx(86.0, abs=0.3)
    assert not band["widened"]


def test_no_band_of_too_little_and_of_a_logger_that_was_moved(room: Place, curator: Person) -> None:
    it = logger_at(room, "T-1")
    tell(it, sine(12, 24 * 430), begin=BEGIN)
    by, asked = Actor.of(curator), days(datetime(2026, 8, 1, tzinfo=UTC).date(), 60)
    assert gather(by, "climate_record", room.pk, asked).data["band"]["why"] == "changed", "it came within the thirteen months"
    other = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-N", name="New", parent_id=room.parent_id, use="store")
    quiet = make_logger(PROGRAM, logger_id=uuid7(), name="T-2")
    place_logger(PROGRAM, quiet.pk, place_id=other.pk, at=BEGIN - timedelta(days=500))
    tell(quiet, sine(12, 24 * 100), begin=BEGIN + timedelta(days=200))
    assert gather(by, "climate_record", other.pk, asked).data["band"]["why"] == "too_little"


def test_no_band_of_a_logger_that_was_taken_away(room: Place, curator: Person) -> None:
    it = logger_at(room, "T-1")
    place_logger(PROGRAM, it.pk, place_id=room.pk, at=BEGIN - timedelta(days=30))
    tell(it, sine(12, 24 * 430), begin=BEGIN - timedelta(days=10))
    place_logger(PROGRAM, it.pk, place_id=None, at=datetime(2026, 9, 20, tzinfo=UTC))
    asked = days(datetime(2026, 9, 1, tzinfo=UTC).date(), 60)
    assert gather(Actor.of(curator), "climate_record", room.pk, asked).data["band"]["why"] == "changed", "the air of the last weeks is not in it"


def test_beside_a_colder_wall_by_another_library(room: Place, curator: Person) -> None:
    """PsychroLib: the vapour of the air over what saturates the colder surface, hour by hour. Reference PSY-083: 18 °C/65 % at 14 °C is 83.9 %."""
    rng, hours = np.random.default_rng(3), 24 * 50
    t, rh = np.round(15 + 4 * np.sin(np.arange(hours) / 30), 1), np.round(np.clip(62 + rng.normal(0, 9, hours), 20, 99), 1)
    tell(logger_at(room, "T-1"), rh, begin=BEGIN, t=t)
    walls = gather(Actor.of(curator), "climate_record", room.pk, days(datetime(2025, 9, 12, tzinfo=UTC).date(), 30)).data["walls"]
    psychrolib.SetUnitSystem(psychrolib.SI)
    part = slice(47, 47 + 30 * 24)  # in summer time the twelfth begins at 23:00 UTC
    for wall in walls:
        at_wall = [
            psychrolib.GetVapPresFromRelHum(float(warm), float(damp) / 100) / psychrolib.GetSatVapPres(float(warm) - wall["colder"]) * 100
            for warm, damp in zip(t[part], rh[part], strict=True)
        ]
        assert wall["damp"] == pytest.approx(sum(one > 65 for one in at_wall), abs=2)
        assert wall["mould"] == pytest.approx(sum(one > 80 for one in at_wall), abs=2)
        assert wall["dew"] == pytest.approx(sum(one >= 100 for one in at_wall), abs=2)
        assert float(wall["mean"]) == pytest.approx(np.mean(at_wall), abs=1)


def test_a_things_lived_climate(room: Place, curator: Person, volunteer: Person) -> None:
    thing = stock.helmet()
    rh = np.concatenate([np.full(24 * 25, 50.0), np.full(24 * 30, 78.0), np.full(24 * 5, np.nan), np.full(24 * 10, 50.0)])
    tell(logger_at(room, "T-1"), rh, begin=BEGIN)
    put(thing, room, BEGIN)
    with clock.at(BEGIN + timedelta(days=70)):
        exposure.refresh()
    whole = gather(Actor.of(curator), "lived_climate", thing.pk, {}).data
    leather = next(one for one in whole["parts"] if one["band"] == "45–65\u00a0%")
    assert (leather["over"], leather["over_longest"], leather["unknown"], leather["at_least"]) == (720, 720, 120, True)
    since = gather(Actor.of(curator), "lived_climate", thing.pk, {"begin": "2025-10-20"}).data
    leather = next(one for one in since["parts"] if one["band"] == "45–65\u00a0%")
    # 25 days from 10 September are 5 October; 30 damp days end on 4 November, of them from 20 October (23:00 UTC of the day before) on
    assert leather["over"] == 15 * 24 + 1
    assert [row["month"] for row in since["worst"]["months"]] == ["2025-10-01", "2025-11-01"]
    paper = issue(Actor.of(curator), "lived_climate", thing.pk, options={"begin": "2025-10-20"})
    said = text(paper)
    assert CAUTION in said
    assert "Counted from the beginning of 20 October 2025" in said
    assert thing.card.number in said
    assert IssuedPaper.objects.visible_to(Actor.of(curator)).get() == paper
    assert not IssuedPaper.objects.visible_to(Actor.of(volunteer)).exists(), "its months and moves tell where it stood"
    with pytest.raises(Forbidden):
        gather(Actor.of(volunteer), "lived_climate", thing.pk, {})
    for wrong in ("yesterday", "2027-01-01"):
        with pytest.raises(Invalid):
            gather(Actor.of(curator), "lived_climate", thing.pk, {"begin": wrong})
