"""Brought in from a register, a thing often lacks its materials: what may be done is answered all the same."""

import pytest

from collection.objects.actions.objects import create_object
from conservation.treatments.answering import what_may_i_do
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock as house
from tests.treatments import stock

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("materials", [(), ("leather", "steel")])
def test_a_finding_whose_material_nobody_told_is_asked_on_what_such_a_thing_is_seen_on(materials: tuple[str, ...], volunteer: Person) -> None:
    by = Actor.of(volunteer)
    thing = create_object(PROGRAM, object_id=uuid7(), kind="civil_defence", number="1980.1", said={"name": "helmet"}, materials=list(materials))
    stock.record(by, thing, house.seen(thing, "RB", "RUST_SPOT", material=""), house.seen(thing, "SH", "DUST", material=""))
    told = {matter.term: matter for matter in what_may_i_do(by, thing.pk, words="bleach").matters}
    assert told["RUST_SPOT"].surface == "steel"
    assert [way.code for way in told["RUST_SPOT"].ways if way.leads] in (["TR14"], ["TR15"])
    assert told["DUST"].surface
    assert all(spot.surfaces for spot in what_may_i_do(by, thing.pk).spots)
