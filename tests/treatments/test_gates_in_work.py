"""Ways round a gate that were open once, each shut: a spot, leave of another state of the zone, an owner whom nobody named."""

import pytest

from collection.objects.actions.hazards import report_hazard
from collection.objects.actions.objects import create_object
from conservation.treatments.actions.deciding import approve
from conservation.treatments.actions.standing import give_standing
from conservation.treatments.actions.working import record_spot, record_step
from conservation.treatments.deeds import Meant
from conservation.treatments.follow import catch_up
from conservation.treatments.models import Approval, Lapse, TestSpot
from conservation.treatments.refusal import Refused
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock as house
from tests.treatments import stock

pytestmark = pytest.mark.django_db
BRUSH = Meant(step="TR14", earlier="dry since March")


def gate_of(refused: pytest.ExceptionInfo[Refused]) -> str:
    return str(refused.value.data["gate"])


def test_a_spot_is_work_too_and_one_that_showed_a_change_is_always_kept(volunteer: Person) -> None:
    by = Actor.of(volunteer)
    thing, _seen = stock.rusty(by)
    work = stock.begun(by, thing, "TR01")
    with pytest.raises(Refused) as refused:
        record_spot(by, work.pk, spot_id=uuid7(), step="TR14", surface="steel", unchanged=True)
    assert gate_of(refused) == "ROLE"
    report_hazard(by, thing.pk, code="ASBESTOS", level=3)
    with pytest.raises(Refused) as refused:
        record_spot(by, work.pk, spot_id=uuid7(), step="TR14", surface="steel", unchanged=True)
    assert gate_of(refused) == "HOLD"
    assert not TestSpot.objects.exists()
    record_spot(by, work.pk, spot_id=uuid7(), step="TR14", surface="steel", unchanged=False, note="bright metal")
    assert TestSpot.objects.count() == 1


def test_leave_that_lapsed_does_not_come_back_with_the_old_state(volunteer: Person, curator: Person, conservator: Person) -> None:
    """Worse and as before again within the hour, both told at once by a device that was away: the leave was for a zone that had not moved."""
    by = Actor.of(volunteer)
    thing, rust = stock.rusty(by)
    stock.shown(volunteer, conservator, "TR14")
    approve(Actor.of(curator), stock.proposed(by, thing, rust, BRUSH).pk, version=1)
    for severity, activity, change in ((3, 3, "grown"), (2, 1, "less")):
        again = house.seen(thing, "RB", "RUST_SPOT", severity=severity, activity=activity, change=change, finding=rust.finding)
        stock.record(by, thing, again)
    with pytest.raises(Refused) as refused:
        stock.begun(by, thing, "TR14", before=(stock.picture(by, thing),))
    assert gate_of(refused) == "APPROVAL"
    assert catch_up() == 1
    assert Lapse.objects.get().why == "zone_changed"


def test_a_step_rests_on_the_leave_that_carries_it(volunteer: Person, curator: Person, conservator: Person) -> None:
    """Of two approvals the newer is for another state of the zone: the older one lapsed with it, and standing leave carries the work."""
    by, ivo = Actor.of(volunteer), Actor.of(curator)
    thing, rust = stock.rusty(by)
    stock.shown(volunteer, conservator, "TR14")
    first = stock.proposed(by, thing, rust, BRUSH)
    second = stock.proposed(by, thing, rust, BRUSH)
    approve(ivo, first.pk, version=1)
    approve(ivo, second.pk, version=1)
    work = stock.begun(by, thing, "TR14", before=(stock.picture(by, thing),))
    record_spot(by, work.pk, spot_id=uuid7(), step="TR14", surface="steel", unchanged=True)
    newest = Approval.objects.get(decision__proposal=second)
    assert record_step(by, work.pk, stock.done("TR14")).approval == newest.pk
    stock.record(by, thing, house.seen(thing, "RB", "RUST_SPOT", activity=0, change="less", finding=rust.finding))
    standing = give_standing(ivo, volunteer.pk, step="TR14", material="steel")
    assert record_step(by, work.pk, stock.done("TR14")).approval == standing.pk


def test_the_everyday_loop_on_a_thing_of_which_nobody_told_whose_it_is(volunteer: Person, curator: Person, conservator: Person) -> None:
    by = Actor.of(volunteer)
    thing = create_object(PROGRAM, object_id=uuid7(), kind="civil_defence", number="1980.1", said={"name": "helmet"}, materials=["steel", "paint"])
    dust = house.seen(thing, "RB", "DUST", activity=0, material="paint")
    stock.record(by, thing, dust, house.seen(thing, "RB", "RUST_SPOT"))
    stock.shown(volunteer, conservator, "TR14")
    give_standing(Actor.of(curator), volunteer.pk, step="TR14", material="steel")
    work = stock.begun(by, thing, "TR03", surface="paint", before=(stock.picture(by, thing),))
    with pytest.raises(Refused) as refused:
        record_step(by, work.pk, stock.done("TR03", surface="paint"))
    assert (gate_of(refused), refused.value.data["why"]) == ("CAUTIONS", "these cautions are not ticked: OWNER")
    for step, surface in (("TR03", "paint"), ("TR14", "steel")):
        if step == "TR14":
            record_spot(by, work.pk, spot_id=uuid7(), step=step, surface=surface, unchanged=True)
        done = stock.done(step, surface=surface)
        row = record_step(by, work.pk, type(done)(id=done.id, meant=done.meant, surface=surface, acknowledged=[*done.acknowledged, "OWNER"]))
        assert "OWNER" in row.acknowledged
    with pytest.raises(Refused) as refused:
        approve(Actor.of(curator), stock.proposed(by, thing, None, Meant(step="TR28", earlier="for schools")).pk, version=1, reason="for schools")
    assert gate_of(refused) in ("OWNER", "UNFIT")
