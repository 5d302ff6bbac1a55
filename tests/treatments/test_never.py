"""Whatever order people do things in: no work under a hold or an undecided deposit, none without leave, none on one's own leave.

`--whole` runs the large count; else a sample, always the same one.
"""

import pytest
from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis.stateful import run_state_machine_as_test

from museum.people import actions as people
from museum.people.actor import Actor
from museum.people.models import Person
from museum.people.permissions import Role
from tests.conftest import cast
from tests.treatments.society import TALLY, Cast, House

pytestmark = pytest.mark.django_db
#: runs, and deeds in each
SAMPLE, WHOLE = (20, 25), (400, 40)
SEED = 1938


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
    house = type("Here", (House,), {"cast": everybody})
    run_state_machine_as_test(house if whole else seed(SEED)(house), settings=held)
    print(f"{runs} runs of at most {deeds} deeds: {dict(sorted(TALLY.items()))}")
    assert TALLY["touched"] >= runs // 10, "the sample hardly came to any work"
