"""Whatever order people do things in: no work under a hold or an undecided deposit, none without leave, none on one's own leave."""

from collections.abc import Callable, Sequence
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collection.objects.actions.hazards import report_hazard
from collection.objects.models import Object
from collection.objects.queries import hazards_in_force
from conservation.checks.entry import Seen
from conservation.treatments.actions.deciding import approve, take_back
from conservation.treatments.actions.standing import decide_deposit, give_standing
from conservation.treatments.actions.working import record_spot, record_step
from conservation.treatments.deeds import Meant
from conservation.treatments.follow import catch_up
from conservation.treatments.models import Approval, DepositDecision, Proposal, StandingApproval, Work, WorkStep
from museum.errors import DomainError
from museum.ids import uuid7
from museum.people.actor import Actor
from museum.people.models import Person
from tests import stock as house
from tests.treatments import stock

pytestmark = pytest.mark.django_db
DEEDS = ("propose", "approve", "approve_alone", "standing", "deposit", "hold", "worse", "take_back", "lapse", "begin", "work")
WHO = ("marit", "ivo", "anke")


class Bench:
    """One helmet, three people, and what each name of a deed does."""

    def __init__(self, thing: Object, rust: Seen, mud: Seen | None, people: dict[str, Actor], learner: Person) -> None:
        self.thing, self.rust, self.mud, self.people, self.learner = thing, rust, mud, people, learner
        self.front = stock.picture(people["marit"], thing)

    def do(self, deed: str, who: str) -> None:
        """Carries it out or is refused; what was recorded must have been let through."""
        by, step = self.people[who], Meant(step="TR14", earlier="dry")
        waiting = Proposal.objects.filter(object=self.thing, state="waiting").first()
        deeds: dict[str, Callable[[], Any]] = {
            "propose": lambda: stock.proposed(by, self.thing, self.rust, step),
            "approve": lambda: waiting and approve(by, waiting.pk, version=waiting.version),
            "approve_alone": lambda: waiting and approve(by, waiting.pk, version=waiting.version, second_later=True),
            "standing": lambda: give_standing(by, self.learner.pk, step="TR14", material="steel"),
            "deposit": lambda: self.mud and decide_deposit(by, self.mud.finding, kind="mud", decision="remove", reason="garden mud"),
            "hold": lambda: report_hazard(by, self.thing.pk, code="ASBESTOS", level=3, note="a pad"),
            "worse": lambda: self.worse(by),
            "take_back": lambda: [take_back(by, row.pk, reason="no") for row in Approval.objects.filter(lapse=None)],
            "lapse": catch_up,
            "begin": lambda: stock.begun(by, self.thing, "TR14", before=(self.front,)),
            "work": lambda: self.work(by),
        }
        try:
            with transaction.atomic():
                deeds[deed]()
        except DomainError:
            return

    def worse(self, by: Actor) -> None:
        again = house.seen(self.thing, "RB", "RUST_SPOT", "40", severity=3, activity=3, change="grown", finding=self.rust.finding)
        stock.record(by, self.thing, again)

    def work(self, by: Actor) -> None:
        work = Work.objects.filter(object=self.thing, person=by.person).first()
        if work is None:
            return
        record_spot(by, work.pk, spot_id=uuid7(), step="TR14", surface="steel", unchanged=True)
        done = record_step(by, work.pk, stock.done("TR14"))
        self.must_have_been_open(done, by)

    def must_have_been_open(self, done: WorkStep, by: Actor) -> None:
        assert 3 not in hazards_in_force([self.thing.pk]).get(self.thing.pk, {}).values(), "under a hold"
        if self.mud is not None:
            assert DepositDecision.objects.filter(finding=self.mud.finding).exclude(decision="").exists(), "on an undecided deposit"
        if done.approval is None:
            assert StandingApproval.objects.filter(person=by.person, step="TR14", end=None).exclude(given_by=by.person).exists(), "without leave"
            return
        leave = Approval.objects.get(pk=done.approval)
        assert not hasattr(leave, "lapse"), "on leave that had ended"
        assert leave.proposed_by_id != leave.approved_by_id, "on one's own leave, while there are two curators"


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(deeds=st.lists(st.tuples(st.sampled_from(DEEDS), st.sampled_from(WHO)), min_size=4, max_size=14), muddy=st.booleans())
def test_no_order_of_deeds_ends_with_work_that_was_not_allowed(
    deeds: Sequence[tuple[str, str]], muddy: bool, volunteer: Person, curator: Person, second_curator: Person, conservator: Person
) -> None:
    with transaction.atomic():
        people = {"marit": Actor.of(volunteer), "ivo": Actor.of(curator), "anke": Actor.of(second_curator)}
        thing = house.helmet()
        rust = house.seen(thing, "RB", "RUST_SPOT")
        mud = house.seen(thing, "RB", "SIGNIF_DEPOSIT", material="paint") if muddy else None
        stock.record(people["marit"], thing, *(one for one in (rust, mud) if one))
        for learner in (volunteer, curator, second_curator):
            stock.shown(learner, conservator, "TR14")
        bench = Bench(thing, rust, mud, people, volunteer)
        for deed, who in deeds:
            bench.do(deed, who)
        for deed, who in (("propose", "marit"), ("approve", "ivo"), ("begin", "marit"), ("work", "marit")):
            bench.do(deed, who)
        transaction.set_rollback(True)
