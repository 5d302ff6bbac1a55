"""A step of work with its batches: what the table refuses is stored nowhere, what was used is found from both ends."""

from datetime import timedelta

import pytest

from conservation.treatments import stock as shelf
from conservation.treatments.actions.deciding import approve
from conservation.treatments.actions.stock import BatchRefused, add_batch
from conservation.treatments.actions.working import record_spot, record_step
from conservation.treatments.deeds import Meant
from conservation.treatments.models import WorkStep
from museum import clock
from museum.ids import uuid7
from museum.people.actor import Actor
from museum.people.models import Person
from tests.treatments import stock

pytestmark = pytest.mark.django_db


def test_a_refused_batch_stops_the_step_and_a_good_one_is_found_again(volunteer: Person, curator: Person, conservator: Person) -> None:
    marit = Actor.of(volunteer)
    thing, seen = stock.rusty(marit)
    approve(Actor.of(curator), stock.proposed(marit, thing, seen, Meant(step="TR14")).pk, version=1)
    stock.shown(volunteer, conservator, "TR14")
    work = stock.begun(marit, thing, "TR14", before=(stock.picture(marit, thing),))
    record_spot(marit, work.pk, spot_id=uuid7(), step="TR14", surface="steel", unchanged=True)
    old = add_batch(marit, supply="mask", number="M-1", received_on=clock.today(), expires_on=clock.today() - timedelta(days=1))
    film = add_batch(marit, supply="polyester_film", number="F-1", received_on=clock.today())
    with pytest.raises(BatchRefused):
        record_step(marit, work.pk, stock.done("TR14", batch_ids=[film.pk, old.pk]))
    assert not WorkStep.objects.exists()
    assert not list(shelf.uses_of(film))
    step = record_step(marit, work.pk, stock.done("TR14", batch_ids=[film.pk]))
    assert [(use.object_id, use.work_step_id, use.zone) for use in shelf.uses_of(film)] == [(thing.pk, step.pk, work.zone_key)]
