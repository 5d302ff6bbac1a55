"""4.1 of the reference (ours, on common practice), at the action that begins work: which hands may do which sort of step.

Every paper is there: approved by a curator, on what another proposed, with the conservator's letter and a reason. So only hands decide.
"""

from collections.abc import Mapping
from typing import Final

import pytest
from django.db import transaction

from collection.objects.actions.hazards import report_hazard
from collection.objects.models import Object
from conservation.checks.entry import Seen
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments.actions.deciding import approve
from conservation.treatments.deeds import Meant
from conservation.treatments.refusal import Refused
from museum.people import actions as people
from museum.people.actor import Actor
from museum.people.models import Person
from museum.people.permissions import Role
from tests import stock as house
from tests.conftest import cast
from tests.treatments import stock

pytestmark = pytest.mark.django_db
#: v volunteer, V one who was shown it, b a volunteer beside somebody who was shown it, k a volunteer beside a conservator, r registrar,
#: R one who was shown it, c curator, C one who was shown it, K conservator, S licensed specialist
EVERYBODY: Final = "vVbkrRcCKS"
GENTLE: Final = "VbkRCK"
#: step to the layer touched, the finding it answers ('' = asked for by name), and whose hands
STEPS: Final[Mapping[str, tuple[str, str, str]]] = {
    # check, photograph, box, support, tag; dust a sound surface
    "TR01": ("steel", "", "vVbkrRcCK"), "TR58": ("steel", "", "vVbkrRcCK"), "TR03": ("steel", "DUST", "vVbkrRcCK"),
    "TR35": ("leather", "STRAP_BREAK", "vVbkrRcCK"),
    # gentle rows: by whoever was shown it, a learner beside somebody who was, a curator who was, a conservator
    "TR07": ("paint", "DUST", GENTLE), "TR08": ("leather", "DUST", GENTLE), "TR10": ("paint", "DUST", GENTLE), "TR13": ("glass", "DUST", GENTLE),
    "TR14": ("steel", "RUST_SPOT", GENTLE), "TR18": ("copper_alloy", "CU_SOAP", GENTLE), "TR22": ("copper_alloy", "POLISH_RESIDUE", GENTLE),
    "TR24": ("aluminium", "AL_CORR", GENTLE), "TR65": ("leather", "MOULD_DORMANT", GENTLE),
    # a curator who was shown it: mould, soot, splints, wax
    "TR41": ("leather", "MOULD_DORMANT", "CK"), "TR55": ("steel", "SOOT", "CK"), "TR36": ("leather", "STRAP_BREAK", "CK"),
    "TR68": ("leather", "STRAP_BREAK", "CK"),
    "TR28": ("steel", "", "CK"), "TR66": ("leather", "", "CK"), "TR67": ("paint", "", "CK"),
    # a curator: isolate dry, wrap red rot, number mark on bare metal
    "TR15": ("steel", "RUST_SPOT", "cCK"), "TR32": ("leather", "RED_ROT", "cCK"), "TR64": ("steel", "", "cCK"),
    # a conservator: acids, solvents, consolidant, restoration
    "TR16": ("steel", "RUST_SPOT", "K"), "TR19": ("copper_alloy", "CU_SOAP", "K"), "TR46": ("paint", "PAINT_FLAKE", "K"), "TR60": ("steel", "", "K"),
    # make safe: a curator, a licensed specialist
    "TR63": ("steel", "", "cCS"),
}  # fmt: skip


@pytest.fixture
def hands(volunteer: Person, registrar: Person, curator: Person, conservator: Person, second_curator: Person) -> Mapping[str, Person]:
    """One person for each letter; the curator who decides is none of them."""
    deciding = second_curator
    licensed = cast("Lio", Role.VOLUNTEER)
    people.give_qualification(Actor.of(deciding), licensed.pk, "licensed specialist", evidence="a licence, seen")
    people.give_qualification(Actor.of(deciding), conservator.pk, "conservator", evidence="a diploma, seen")
    others = {letter: cast(f"Trained{letter}", role) for letter, role in (("V", Role.VOLUNTEER), ("R", Role.REGISTRAR), ("C", Role.CURATOR))}
    return {"v": volunteer, "b": volunteer, "k": volunteer, "r": registrar, "c": curator, "K": conservator, "S": licensed, **others}


def on(material: str, term: str, by: Actor) -> tuple[Object, str, Seen]:
    """A helmet of one material, and where it is touched."""
    thing = house.helmet(materials=[material])
    seen = house.seen(thing, "CS" if term == "STRAP_BREAK" else "SH", term or "SCRATCH", severity=1, activity=0, material=material)
    stock.record(by, thing, seen)
    return thing, seen.zone.code, seen


@pytest.mark.parametrize("step", list(STEPS))
def test_whose_hands(step: str, hands: Mapping[str, Person], second_curator: Person, conservator: Person) -> None:
    material, term, able = STEPS[step]
    proposer = Actor.of(cast("Proposer", Role.VOLUNTEER))
    thing, code, seen = on(material, term, proposer)
    rules = treatment_rules_in_force()
    if rules.steps[step].competence:
        for letter in "VRC":
            stock.shown(hands[letter], conservator, step)
    meant = Meant(step=step, earlier="the lesser steps were tried")
    proposal = stock.proposed(proposer, thing, seen if term else None, meant, surface=material, code=code, written="letter of 3 May, file 12")
    approve(Actor.of(second_curator), proposal.pk, version=1, reason="handled by school parties; it may cloud")
    did, gates = tried(step, hands, EVERYBODY, thing, code, material, hands["V"])
    assert did == "".join(letter for letter in EVERYBODY if letter in able)
    # some of a conservator's steps bring what a row keeps for conservators; that row is asked before
    assert gates <= {"ROLE", "COMPETENCE"} | ({"CX11"} if step == "TR16" else set())


def tried(step: str, hands: Mapping[str, Person], letters: str, thing: Object, code: str, material: str, teacher: Person) -> tuple[str, set[str]]:
    """Who of them could begin, and which gates the others met."""
    front, did, gates = stock.picture(Actor.of(hands["v"]), thing), "", set()
    for letter in letters:
        beside = {"b": teacher, "k": hands["K"]}.get(letter)
        with transaction.atomic():
            try:
                stock.begun(Actor.of(hands[letter]), thing, step, surface=material, before=(front,), code=code, beside=beside.pk if beside else None)
                did += letter
            except Refused as refused:
                gates.add(str(refused.data["gate"]))
            transaction.set_rollback(True)
    return did, gates


@pytest.mark.parametrize("step", ["TR14", "TR10", "TR03"])
def test_in_danger_only_a_curator_who_may_and_a_conservator(step: str, hands: Mapping[str, Person], second_curator: Person, conservator: Person) -> None:
    """While a hazard of level 2 is open, gentle rows are the curator's alone, and dusting too."""
    material, term, _able = STEPS[step]
    proposer = Actor.of(cast("Proposer", Role.VOLUNTEER))
    thing, code, seen = on(material, term, proposer)
    for letter in "VC" if step != "TR03" else "":
        stock.shown(hands[letter], conservator, step)
    proposal = stock.proposed(proposer, thing, seen, Meant(step=step, earlier="dry since March"), surface=material, code=code)
    approve(Actor.of(second_curator), proposal.pk, version=1)
    report_hazard(proposer, thing.pk, code="LEAD_PAINT", level=2)
    assert tried(step, hands, "vVbkCK", thing, code, material, hands["C"]) == ("CK", {"ROLE"})
