"""Who treats: a trained volunteer, two curators, a conservator from outside."""

import pytest

from museum.people import actions as people
from museum.people.actor import Actor
from museum.people.models import Person, Society
from museum.people.permissions import Role
from tests.conftest import cast


@pytest.fixture
def second_curator(society: Society) -> Person:
    return cast("Anke", Role.CURATOR)


@pytest.fixture
def conservator(curator: Person) -> Person:
    """Somebody from outside who helps as a volunteer, the qualification on file."""
    person = cast("Rhea", Role.VOLUNTEER)
    people.give_qualification(Actor.of(curator), person.pk, "conservator", evidence="a diploma, seen")
    return person
