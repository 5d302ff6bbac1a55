"""The air of the room at the time of a step: what its logger said is kept with the step by itself, what somebody read stands beside it."""

from collections.abc import Callable
from datetime import timedelta

import numpy as np
import pytest
from django.test import Client

from collection.objects.models import Object
from conservation.treatments import bench
from conservation.treatments.actions.ending import end_work
from conservation.treatments.actions.working import record_step, stop_step
from conservation.treatments.models import Work, WorkStep
from locations.climate import storing
from locations.climate.actions.loggers import make_logger, place_logger
from locations.climate.files.reading import Batch
from locations.climate.models import Logger
from locations.climate.storing import moment
from locations.places.actions import make_place, move_object
from museum import clock
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from reports.actions import gather
from tests import stock as house
from tests.treatments import stock

pytestmark = pytest.mark.django_db


@pytest.fixture
def at_work(volunteer: Person) -> Work:
    """A thing on a shelf of the store, a session begun on it."""
    by = Actor.of(volunteer)
    thing = house.helmet()
    move_object(PROGRAM, thing.pk, place_id=house.shelf()[2].pk)
    stock.record(by, thing, house.seen(thing, "SH", "DUST", activity=0, material="paint"))
    return stock.begun(by, thing, "TR03", surface="paint", code="SH", before=(stock.picture(by, thing),))


def heard(thing: Object, *, hours_ago: float, rh: float = 47.2, t: float = 18.04) -> int:
    """A logger in the room of the thing said this; the second of its reading."""
    logger = make_logger(PROGRAM, logger_id=uuid7(), name="T-7")
    room = thing.components.get(sort="main").stays.get().place.parent
    now = clock.now()
    place_logger(PROGRAM, logger.pk, place_id=room.pk, at=now - timedelta(days=2))
    return tell(logger, hours_ago=hours_ago, rh=rh, t=t)


def tell(logger: Logger, *, hours_ago: float, rh: float = 47.2, t: float = 18.04) -> int:
    """One reading of a logger; its second."""
    at = int((clock.now() - timedelta(hours=hours_ago)).timestamp())
    storing.add("climate_reading", logger.number, 0, Batch(np.array([at]), np.array([t]), np.array([rh]), np.array([np.nan]), np.zeros(1, dtype=np.int64)))
    return at


def test_the_reading_of_the_rooms_logger_is_kept_with_the_step_and_what_was_read_by_hand_stands_beside_it(
    at_work: Work, volunteer: Person, curator: Person, as_person: Callable[[Person], Client]
) -> None:
    by, at = Actor.of(volunteer), heard(at_work.object, hours_ago=0.5)
    browser = as_person(volunteer)
    form = browser.get(f"/work/{at_work.pk}/?step=TR03&surface=paint").content.decode()
    assert "18.0 °C, 47 % RH (logger T-7" in form, "said before the step"
    record_step(by, at_work.pk, stock.done("TR03", surface="paint", climate="dial: 17 °C, 49 %"))
    row = WorkStep.objects.get()
    assert row.reading == {"logger": "T-7", "place": "Shelf 1", "at": moment(at).isoformat(), "t": 18.0, "rh": 47}
    assert row.climate == "dial: 17 °C, 49 %"
    end_work(by, at_work.pk, end_id=uuid7(), after=[stock.picture(by, at_work.object, shade=5)])
    (session,) = gather(Actor.of(curator), "treatment_report", at_work.pk).data["sessions"]
    on_paper = session["steps"][0]
    for shown in (browser.get(f"/work/{at_work.pk}/").content.decode(), on_paper["air"] + on_paper["climate"]):
        assert "18.0 °C, 47 % RH (logger T-7" in shown
        assert "dial: 17 °C, 49 %" in shown


def test_a_stop_keeps_it_too(at_work: Work, volunteer: Person) -> None:
    heard(at_work.object, hours_ago=1)
    stop_step(Actor.of(volunteer), at_work.pk, stock.done("TR03", surface="paint", note="colour on the brush"))
    reading = WorkStep.objects.get().reading
    assert reading is not None
    assert reading["rh"] == 47


def test_what_a_file_tells_that_comes_after_the_step_is_shown_as_added_later_and_the_fact_stays(
    at_work: Work, volunteer: Person, curator: Person, as_person: Callable[[Person], Client]
) -> None:
    by, browser = Actor.of(volunteer), as_person(volunteer)
    record_step(by, at_work.pk, stock.done("TR03", surface="paint"))
    end_work(by, at_work.pk, end_id=uuid7(), after=[stock.picture(by, at_work.object, shade=5)])
    page = f"/work/{at_work.pk}/"
    assert "% RH" not in browser.get(page).content.decode()
    heard(at_work.object, hours_ago=0.2, rh=61.4, t=12.3)
    said = "12.3 °C, 61 % RH (logger T-7"
    (session,) = gather(Actor.of(curator), "treatment_report", at_work.pk).data["sessions"]
    for shown in (browser.get(page).content.decode(), session["steps"][0]["air"]):
        assert said in shown
        assert "added later, from its file" in shown
    assert WorkStep.objects.get().reading is None, "what was known at the time stays as it was"


def test_a_file_that_tells_nothing_of_that_hour_or_of_another_place_adds_nothing(
    at_work: Work, volunteer: Person, as_person: Callable[[Person], Client]
) -> None:
    record_step(Actor.of(volunteer), at_work.pk, stock.done("TR03", surface="paint"))
    heard(at_work.object, hours_ago=4)
    other = make_logger(PROGRAM, logger_id=uuid7(), name="T-8")
    hall = at_work.object.components.get(sort="main").stays.get().place.parent.parent
    elsewhere = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-X", name="Attic", parent_id=hall.pk)
    place_logger(PROGRAM, other.pk, place_id=elsewhere.pk, at=clock.now() - timedelta(days=2))
    tell(other, hours_ago=0.1)
    assert "% RH" not in as_person(volunteer).get(f"/work/{at_work.pk}/").content.decode()


def test_of_steps_before_and_after_a_move_each_has_the_air_of_its_hour_and_place(society: object) -> None:
    hall, store, board = house.shelf()
    attic, thing = make_place(PROGRAM, place_id=uuid7(), level="room", code="H-X", name="Attic", parent_id=hall.pk), house.helmet()
    now = clock.now()
    for place, ago in ((board, 10), (attic, 4)):
        move_object(PROGRAM, thing.pk, place_id=place.pk, happened_at=now - timedelta(hours=ago))
    for name, room, told in (("T-7", store, ((8.2, 47),)), ("T-8", attic, ((8.1, 70), (1.1, 62)))):
        logger = make_logger(PROGRAM, logger_id=uuid7(), name=name)
        place_logger(PROGRAM, logger.pk, place_id=room.pk, at=now - timedelta(days=2))
        for hours_ago, rh in told:
            tell(logger, hours_ago=hours_ago, rh=rh)
    steps = [WorkStep(happened_at=now - timedelta(hours=ago)) for ago in (8, 4.5, 1)]
    airs = bench.airs_of(thing, steps)
    assert [(air.logger, air.rh, air.later) if air else None for air in airs] == [("T-7", 47, True), None, ("T-8", 62, True)]


def test_what_a_logger_said_long_before_says_nothing_of_now(at_work: Work, volunteer: Person) -> None:
    heard(at_work.object, hours_ago=5)
    record_step(Actor.of(volunteer), at_work.pk, stock.done("TR03", surface="paint"))
    assert WorkStep.objects.get().reading is None
