"""Several people act at the same time."""

import threading
from collections.abc import Callable

import pytest
from django.db import connection

from museum.errors import Invalid, VersionConflict
from museum.history.models import Act, Change
from museum.history.verify import verify
from museum.ids import uuid7
from museum.people import actions
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person, RoleFact, Society
from museum.people.secret import Secret

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(*acts: Callable[[], object]) -> list[object]:
    """Runs all of them from one starting shot; what each answered or raised."""
    gate, answers = threading.Barrier(len(acts)), [None] * len(acts)  # type: list[object]

    def run(number: int, act: Callable[[], object]) -> None:
        gate.wait(10)
        try:
            answers[number] = act()
        except Exception as error:
            answers[number] = error
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=each) for each in enumerate(acts)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    return answers


def test_the_chain_has_no_gap(administrator: Person, volunteer: Person) -> None:
    actor = Actor.of(administrator)

    def many() -> None:
        for role in ("curator", "registrar", "volunteer", "administrator") * 3:
            actions.give_role(actor, volunteer.id, role)

    assert at_once(many, many, many, many) == [None] * 4
    assert list(Change.objects.order_by("n").values_list("n", flat=True)) == list(range(1, 49))
    assert verify().broken_at is None


def test_one_key_sent_twice_at_once_is_stored_once(administrator: Person, volunteer: Person) -> None:
    actor = Actor.of(administrator).keyed(uuid7())
    first, second = at_once(*[lambda: actions.give_role(actor, volunteer.id, "curator")] * 2)
    assert isinstance(first, RoleFact)
    assert first == second
    assert RoleFact.objects.filter(role="curator").count() == 1
    assert Act.objects.filter(pk=actor.key).count() == 1


def test_of_two_edits_the_second_is_told(administrator: Person, society: Society) -> None:
    actor = Actor.of(administrator)
    answers = at_once(*[lambda name=name: actions.change_society(actor, version=1, name=name) for name in ("One", "Two")])
    lost = [answer for answer in answers if isinstance(answer, VersionConflict)]
    assert len(lost) == 1
    assert Society.load().name == lost[0].data["theirs"]["name"]


def test_of_two_first_administrators_one_comes_too_late(transactional_db: None) -> None:
    def first(name: str) -> Callable[[], object]:
        return lambda: actions.first_act(PROGRAM, name=name, email=f"{name}@example.org", password=Secret("a rope and a bucket"), society="Tallowick")

    answers = at_once(first("oda"), first("nell"))
    assert {type(answer) for answer in answers} == {Person, Invalid}
    assert Person.objects.count() == 1


def test_two_administrators_cannot_end_each_other(administrator: Person, curator: Person) -> None:
    actions.give_role(Actor.of(administrator), curator.id, "administrator")
    one, other = Actor.of(administrator), Actor.of(curator)
    answers = at_once(
        lambda: actions.end_role(one, curator.id, "administrator"),
        lambda: actions.end_role(other, administrator.id, "administrator"),
    )
    assert sum(isinstance(answer, Invalid) for answer in answers) == 1
