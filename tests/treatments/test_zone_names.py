"""A zone is called on every page and paper as the thing itself calls it, not as zones are called in general."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from uuid import UUID

import pytest
from django.test import Client
from pytest_django.fixtures import DjangoAssertNumQueries

from collection.objects.actions.parts import add_component, note_zone
from collection.objects.models import Object
from collection.objects.queries import zones_called, zones_of
from conservation.checks.entry import Seen
from conservation.treatments.actions.deciding import approve
from conservation.treatments.actions.ending import end_work
from conservation.treatments.actions.following import look_again
from conservation.treatments.actions.proposals import return_proposal
from conservation.treatments.actions.stock import add_batch
from conservation.treatments.actions.working import record_spot, record_step
from conservation.treatments.deeds import Meant
from museum import clock
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person, Society
from reports.actions import gather
from tests import stock as house
from tests.treatments import stock

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]
OURS = "the drip edge with its wire"
BRUSH = Meant(step="TR14", earlier="dry already")


@pytest.fixture
def rusty(volunteer: Person) -> tuple[Object, Seen]:
    thing, seen = stock.rusty(Actor.of(volunteer))
    note_zone(PROGRAM, house.zone(thing, "RB").component, zone="RB", present=True, name=OURS)
    return thing, seen


def test_names_of_many_things_are_what_each_calls_its_zones(django_assert_num_queries: DjangoAssertNumQueries) -> None:
    """Of its kind, of the thing's own, of a loose part; a zone that was taken away keeps its name."""
    named = house.helmet("1974.12.4")
    part = add_component(PROGRAM, named.pk, sort="loose", name="liner shell", lettered=True, zones=["SH", "RB"])
    note_zone(PROGRAM, part.pk, zone="RB", present=True, name=OURS)
    gone = house.helmet("1974.12.5", kind="flying")
    main = house.zone(gone, "CS").component
    things = [named, gone]
    wanted = {zone.key: zone.name for thing in things for zone in zones_of(thing)}
    pairs = [(zone.component_id, zone.code) for thing in things for zone in zones_of(thing)]
    assert wanted[f"{part.pk}/RB"] == OURS
    with django_assert_num_queries(2):
        assert zones_called(pairs) == wanted
    note_zone(PROGRAM, main, zone="CS", present=False)
    assert zones_called([(main, "CS")]) == {f"{main}/CS": wanted[f"{main}/CS"]}
    with django_assert_num_queries(0):
        assert zones_called([]) == {}


def test_what_waits_was_returned_or_signed_alone_is_told_by_the_name_of_the_thing(
    rusty: tuple[Object, Seen], volunteer: Person, curator: Person, as_person: Browser
) -> None:
    sent, desk = stock.proposed(Actor.of(volunteer), *rusty, BRUSH), as_person(curator)
    for page in ("/", "/proposals/", f"/proposals/{sent.pk}/"):
        assert OURS in desk.get(page).content.decode(), page
    return_proposal(Actor.of(curator), sent.pk, version=1, remark="which brush?")
    assert f"{OURS}: loose rust off" in as_person(volunteer).get("/proposals/").content.decode()
    alone = stock.proposed(Actor.of(curator), *rusty, BRUSH)
    approve(Actor.of(curator), alone.pk, version=1, second_later=True)
    assert f"{OURS}: <span" in desk.get("/proposals/").content.decode()


def test_work_and_its_papers_tell_it_by_the_name_of_the_thing(
    rusty: tuple[Object, Seen], volunteer: Person, curator: Person, conservator: Person, as_person: Browser
) -> None:
    marit, (thing, seen) = Actor.of(volunteer), rusty
    sent = stock.proposed(marit, thing, seen, BRUSH)
    approve(Actor.of(curator), sent.pk, version=1, until=clock.today() + timedelta(days=60))
    stock.shown(volunteer, conservator, "TR14")
    work = stock.begun(marit, thing, "TR14", before=(stock.picture(marit, thing),), finding_id=seen.finding)
    browser = as_person(volunteer)
    for page in ("/work/", f"/work/{work.pk}/", f"/things/{thing.pk}/may/"):
        assert OURS in browser.get(page).content.decode(), page
    record_spot(marit, work.pk, spot_id=uuid7(), step="TR14", surface="steel", unchanged=True)
    film = add_batch(marit, supply="polyester_film", number="F-1", received_on=clock.today())
    record_step(marit, work.pk, replace(stock.done("TR14", batch_ids=[film.pk]), acknowledged=["TR14", "CX73"]))
    used = gather(marit, "material_list", thing.pk).data
    assert (used["groups"][0]["rows"][0]["zone_words"], used["steps"][0]["zone_words"]) == (OURS, OURS)
    assert gather(marit, "treatment_report", work.pk).data["zone"]["words"] == OURS
    assert gather(marit, "treatment_proposal", sent.pk).data["proposal"]["zone_words"] == OURS
    plan = gather(Actor.of(curator), "care_plan", UUID(Society.KEY)).data["others"]
    (leave,) = [row["words"] for row in plan if row["sort"] == "leave ends"]
    assert leave == f"1974.12.3, {OURS} (RB): TR14 loose rust powder"
    end_work(marit, work.pk, end_id=uuid7(), after=[stock.picture(marit, thing, shade=2)])
    look_again(marit, work.pk, follow_id=uuid7(), reading="powder")
    assert OURS in browser.get("/work/").content.decode()
    assert OURS in browser.get(f"/things/{thing.pk}/may/").content.decode()
