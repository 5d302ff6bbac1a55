"""The air of the room at the time of a step: what its logger said is kept with the step by itself, what somebody read stands beside it."""

from collections.abc import Callable
from datetime import timedelta

import numpy as np
import pytest
from django.test import Client

from collection.objects.models import Object
from conservation.treatments.actions.ending import end_work
from conservation.treatments.actions.working import record_step, stop_step
from conservation.treatments.models import Work, WorkStep
from locations.climate import storing
from locations.climate.actions.loggers import make_logger, place_logger
from locations.climate.files.reading import Batch
from locations.climate.storing import moment
from locations.places.actions import move_object
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
    at = int((now - timedelta(hours=hours_ago)).timestamp())
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


def test_what_a_logger_said_long_before_says_nothing_of_now(at_work: Work, volunteer: Person) -> None:
    heard(at_work.object, hours_ago=5)
    record_step(Actor.of(volunteer), at_work.pk, stock.done("TR03", surface="paint"))
    assert WorkStep.objects.get().reading is None
