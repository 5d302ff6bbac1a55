"""Whatever order people do things in: no work under a hold or an undecided deposit, none without leave, none on one's own leave.

`--whole` runs the large count; else a sample, always the same one.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any, Final

import pytest
from django.db import IntegrityError
from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis.stateful import run_state_machine_as_test

from conservation.rules import gate, leave
from conservation.treatments import asking
from conservation.treatments.actions import deciding, working
from conservation.treatments.actions.common import locked_work
from conservation.treatments.models import Approval, OwnerLeave, StandingApproval
from museum.people import actions as people
from museum.people.actor import Actor
from museum.people.models import Person
from museum.people.permissions import Role
from tests.conftest import cast
from tests.treatments.amiss import AMISS, Amiss
from tests.treatments.society import TALLY, Cast

pytestmark = pytest.mark.django_db
#: runs, and deeds in each
SAMPLE, WHOLE = (14, 25), (400, 40)
SEED = 1938
Change = Callable[[pytest.MonkeyPatch], None]


@pytest.fixture
def everybody(
    volunteer: Person, registrar: Person, curator: Person, second_curator: Person, conservator: Person, reader: Person, administrator: Person
) -> Cast:
    outside = cast("Cass", Role.READER, kind="conservator")
    people.give_qualification(Actor.of(curator), outside.pk, "conservator", evidence="a diploma, seen")
    return Cast(
        marit=volunteer, bo=cast("Bo", Role.VOLUNTEER), nell=registrar, ivo=curator, anke=second_curator, rhea=conservator, cass=outside, tove=reader,
        oda=administrator,
    )  # fmt: skip


def test_no_order_of_deeds_ends_with_work_that_was_not_allowed(everybody: Cast, request: pytest.FixtureRequest) -> None:
    whole = bool(request.config.getoption("--whole"))
    runs, deeds = WHOLE if whole else SAMPLE
    TALLY.clear()
    held = settings(
        max_examples=runs, stateful_step_count=deeds, deadline=None, database=None, suppress_health_check=list(HealthCheck),
        phases=[Phase.generate, Phase.shrink] if whole else [Phase.generate],
    )  # fmt: skip
    house = type("Here", (Amiss,), {"cast": everybody})
    run_state_machine_as_test(house if whole else seed(SEED)(house), settings=held)
    print(f"{runs} runs of at most {deeds} deeds: {dict(sorted(TALLY.items()))}")
    assert TALLY["touched"] >= runs // 10, "the sample hardly came to any work"


def tried(everybody: Cast, amiss: str) -> str:
    """What becomes of work on a fresh thing with this amiss: recorded, or the gate that refuses it. Raises AssertionError where the oracle objects."""
    TALLY.clear()
    here = type("Here", (Amiss,), {"cast": everybody})()
    try:
        here.open_the_house(made_of=("steel", "paint", "leather"), finds=[], muddy=False)
        here.all_in_order_but(amiss)
        here.nothing_is_recorded_by_another_door()
        return "" if here.known else ", ".join(what.removeprefix("amiss: ") for what in TALLY if what.startswith("amiss: "))
    finally:
        here.teardown()


def test_with_all_in_order_but_one_thing_that_gate_refuses_and_no_other(everybody: Cast) -> None:
    """Each gate by itself: first that the work is let through, then each that shuts it, by name."""
    assert {amiss: tried(everybody, amiss) for amiss in AMISS} == AMISS


def without(check: str) -> Change:
    """The gate without one of its checks."""
    return lambda patch: patch.setattr(gate, "CHECKS", tuple(one for one in gate.CHECKS if one.__name__ != check))


def deaf(where: Any, name: str, answer: Any) -> Change:
    """A question that is always answered so."""
    return lambda patch: patch.setattr(where, name, lambda *_a, **_k: answer)


def both(*changes: Change) -> Change:
    """Two gates that stand one behind the other: each alone still shuts."""
    return lambda patch: [change(patch) for change in changes][-1]


def blind(name: str, **sees: Callable[[Any, dict[str, Any]], Any]) -> Change:
    """A rule of leave that takes what it is asked about for what the leave says."""
    asked = getattr(leave, name)
    return lambda patch: patch.setattr(leave, name, lambda row, **said: asked(row, **said | {key: see(row, said) for key, see in sees.items()}))


def with_any_letter(facts_of: Any) -> Any:
    return lambda thing, **how: replace(facts_of(thing, **how), owner_consent=OwnerLeave.objects.filter(object=thing).exists())


def of_its_day(competent: Any) -> Any:
    return lambda record, step, person, day, *more, **how: competent(record, step, person, record.on if record else day, *more, **how)


def as_if_by_two(fault: Any) -> Any:
    return lambda row, **said: fault(replace(row, proposed_by="somebody else"), **said)


def any_leave(facts: Any, _key: str, material: str, added: Any) -> Any:
    return [row for row in facts.approvals if row.surface == material and added <= set(row.agents)]


def every_standing() -> Any:
    return [
        leave.Standing(
            step=row.step, person=str(row.person_id), material=row.material, given_by=str(row.given_by_id), giver_role=row.giver_role, on=row.happened_on,
            valid_to=row.until, key=str(row.pk),
        )
        for row in StandingApproval.objects.all()
    ]  # fmt: skip


def every_approval() -> Any:
    return Approval.objects.select_related("countersign", "approved_by", "proposed_by")


#: what is taken out of the program, and what is amiss then without anybody noticing
MUTANTS: Final[Mapping[str, tuple[Change, str]]] = {
    "no hold": (without("_hold"), "hold"),
    "no owner": (without("_owner"), "borrowed"),
    "owner's leave without end": (lambda patch: patch.setattr(asking, "facts_of", with_any_letter(asking.facts_of)), "owner's leave ended"),
    "no screen": (without("_screen"), "opened"),
    "no deposits": (without("_deposit"), "mud"),
    "keep is no answer": (lambda patch: patch.setattr(gate, "KEEP", "nobody says so"), "mud that is kept"),
    "loose dust is no answer": (lambda patch: patch.setattr(gate, "KEEP_LOOSE_DUST", "nobody says so"), "only loose dust may go"),
    "no defaults": (deaf(asking, "deposit_defaults", {"coal_dust": "remove"}), "mud kept by default"),
    "no role": (without("_role"), "danger"),
    "no competence": (without("_competence"), "nobody showed a curator"),
    "competence without end": (lambda patch: patch.setattr(leave, "competent", of_its_day(leave.competent)), "shown too long ago"),
    "no approval": (lambda patch: patch.setattr(gate, "CHECKS", gate.CHECKS[:-2]), "no leave"),
    "approval without end": (blind("approval_fault", day=lambda row, _said: row.on), "leave ran out"),
    "approval of any zone": (
        both(lambda patch: patch.setattr(asking.ObjectFacts, "leaves", any_leave), blind("approval_fault", zone=lambda row, _said: row.zone)),
        "leave for another zone",
    ),
    "approval of any grade": (
        both(
            lambda patch: patch.setattr(asking, "unchanged_since", list),
            blind("approval_fault", grade=lambda row, _said: row.zone_grade, activity=lambda row, _said: row.zone_activity),
        ),
        "worse",
    ),
    "approval that comes back": (lambda patch: patch.setattr(asking, "unchanged_since", list), "worse and back"),
    "approval taken back in vain": (lambda patch: patch.setattr(asking, "approvals_standing", every_approval), "taken back"),
    "approver = proposer": (
        both(deaf(deciding, "_alone", False), lambda patch: patch.setattr(leave, "approval_fault", as_if_by_two(leave.approval_fault))), "own leave",
    ),
    "second person never": (without("_second"), "own leave, and a second curator came"),
    "standing leave for any grade": (blind("standing_covers", grade=lambda *_: 0), "standing leave, but worse"),
    "standing leave for anybody": (
        lambda patch: patch.setattr(asking, "_standings", lambda person: [replace(row, person=str(person)) for row in every_standing()]),
        "standing leave of somebody else",
    ),
    "standing leave that ended": (
        lambda patch: patch.setattr(asking, "_standings", lambda person: every_standing()), "standing leave ended",
    ),
    "standing leave for any layer": (blind("standing_covers", material=lambda row, _said: row.material), "standing leave for another layer"),
    "no photograph": (deaf(working, "_fresh", True), "photograph of the last session"),
    "no spot": (deaf(working, "_tried", True), "spot that changed"),
    "no cautions": (deaf(working, "cautions_of", []), "cautions unread"),
    "anybody's session": (lambda patch: patch.setattr(working, "_mine", locked_work), "somebody else's session"),
}  # fmt: skip


@pytest.mark.parametrize("mutant", MUTANTS)
def test_what_is_taken_out_of_the_gates_is_noticed(everybody: Cast, mutant: str, request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    if not request.config.getoption("--whole"):
        pytest.skip("the large count")
    change, amiss = MUTANTS[mutant]
    change(monkeypatch)
    try:
        said = tried(everybody, amiss)
    except (AssertionError, IntegrityError) as objects:
        print(f"{mutant}: {type(objects).__name__}: {str(objects).splitlines()[0]}")
    else:
        print(f"{mutant}: {said or 'recorded'} instead of {AMISS[amiss]}")
        assert said != AMISS[amiss]
