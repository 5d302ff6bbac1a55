"""An action as somebody does it, and the house in which they do."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from collection.objects.models import Object
from conservation.checks.actions.incidents import open_incident
from conservation.checks.entry import Seen
from conservation.checks.models import Incident
from conservation.treatments.actions import deciding, learning
from conservation.treatments.actions import stock as stocking
from conservation.treatments.deeds import Meant
from conservation.treatments.models import Approval, Batch, Proposal, Work
from locations.places.models import Place
from museum import clock
from museum.ids import uuid7
from museum.people.actor import Actor
from museum.people.models import Competence, Person
from tests import stock as house
from tests.treatments import stock


@dataclass
class Ways:
    """An action as somebody does it: itself, by its address for programs, by its page; None = it has none."""

    call: Callable[[Actor], Any]
    api: tuple[str, dict[str, Any]] | None = None
    page: tuple[str, dict[str, Any]] | None = None


class World:
    """A helmet with rust and mud, a house with one curator, a volunteer, a conservator from outside."""

    def __init__(self, volunteer: Person, curator: Person, conservator: Person) -> None:
        self.marit, self.ivo, self.rhea = Actor.of(volunteer), Actor.of(curator), Actor.of(conservator)
        self.volunteer, self.curator, self.conservator = volunteer, curator, conservator
        self.thing: Object = house.helmet()
        self.rust: Seen = house.seen(self.thing, "RB", "RUST_SPOT")
        self.mud: Seen = house.seen(self.thing, "SH", "SIGNIF_DEPOSIT", material="paint")
        stock.record(self.marit, self.thing, self.rust, self.mud)
        self.shelf: Place = house.shelf()[2]
        self.zone = stock.zone_of(self.thing)
        self.brush = Meant(step="TR14", earlier="dry since March")
        # while there is one curator: whoever tries may be the second
        self.signed_alone = self.alone()

    def proposed(self, by: Actor) -> Proposal:
        return stock.proposed(by, self.thing, self.rust, self.brush)

    def approval(self) -> Approval:
        proposal = self.proposed(self.marit)
        deciding.approve(self.ivo, proposal.pk, version=1)
        return Approval.objects.get(decision__proposal=proposal)

    def alone(self) -> Approval:
        proposal = self.proposed(self.ivo)
        deciding.approve(self.ivo, proposal.pk, version=1, second_later=True)
        return Approval.objects.get(decision__proposal=proposal)

    def work(self, by: Actor) -> Work:
        return stock.begun(by, self.thing, "TR01")

    def batch(self, supply: str = "polyester_film") -> Batch:
        return stocking.add_batch(self.marit, supply=supply, number="F-1", received_on=clock.today())

    def practice(self) -> Competence:
        (key,) = learning.tell_practice(self.marit, self.volunteer.pk, ["TR14"], on=clock.today(), practice="six years, pictures in folder 4")
        return Competence.objects.get(pk=key)

    def incident(self) -> Incident:
        return open_incident(self.marit, incident_id=uuid7(), kind="mould", place_id=self.shelf.parent_id or self.shelf.pk)
