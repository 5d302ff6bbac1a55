"""Generated museums: every row is as an action would have written it."""

from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from collection.objects.actions.objects import create_object
from collection.objects.models import Card, Number, Object, Photograph
from collection.objects.search import things_found
from conservation.checks import follow
from conservation.checks.actions.record import record_check
from conservation.checks.models import Call, ConditionCheck, Due, Judgement, State
from locations.places.actions import move_object
from locations.places.models import Place, Stay
from museum import clock
from museum.history.models import Change
from museum.history.verify import verify
from museum.ids import uuid7
from museum.people.actor import Actor
from museum.people.models import Person
from tests import stock

pytestmark = pytest.mark.django_db
N = 120


def derived() -> dict[str, list[tuple[Any, ...]]]:
    """All rows that are made from facts, without the keys that the database counts."""
    found = {}
    for model in (Card, State, Due, Stay):
        columns = [field.attname for field in model._meta.concrete_fields if field.get_internal_type() != "BigAutoField"]
        found[model.__name__] = sorted(model._default_manager.values_list(*columns), key=str)
    return found


def test_what_is_generated_is_whole_and_the_house_goes_on(registrar: Person, volunteer: Person) -> None:
    call_command("generate", str(N), verbosity=0)
    assert Object.objects.count() == Card.objects.count() == State.objects.count() == N
    assert ConditionCheck.objects.count() > N
    assert Judgement.objects.exists()
    assert Photograph.objects.exists()
    assert Stay.objects.filter(component__sort="main").count() == N

    verdict = verify()
    assert (verdict.broken_at, verdict.entries) == (None, Change.objects.count())
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE; SET CONSTRAINTS ALL DEFERRED")
    before = derived()
    assert follow.catch_up() == 0
    call_command("rebuild", verbosity=0)
    after = derived()
    assert {name: len(rows) for name, rows in after.items()} == {name: len(rows) for name, rows in before.items()}
    for name in before:
        differing = [(a, b) for old, new in zip(before[name], after[name], strict=True) for a, b in zip(old, new, strict=True) if a != b]
        assert not differing, (name, differing[:3])

    thing = create_object(Actor.of(registrar), object_id=uuid7(), kind="fire", next_in="accession", year=1950, said={"name": "fire helmet"}, whose="own")
    move_object(Actor.of(registrar), thing.pk, place_id=Place.objects.filter(level="shelf").order_by("code")[0].pk)
    record_check(Actor.of(volunteer), stock.full_check(thing))
    card = Card.objects.exclude(pk=thing.pk).order_by("number_sort")[0]
    record_check(Actor.of(volunteer), stock.full_check(card.object, stock.seen(card.object, "SH", "SCRATCH")))
    found = things_found(Actor.of(registrar), card.number)
    assert [one.pk for one in found.cards] == [card.pk]
    assert verify().broken_at is None


def test_things_differ_and_nothing_lies_ahead(registrar: Person) -> None:
    call_command("generate", str(N), verbosity=0)
    assert Card.objects.values("number").distinct().count() == N
    assert Card.objects.values("name").distinct().count() > N // 4
    assert Card.objects.values("description").distinct().count() == N
    assert not Card.objects.filter(place_text__contains="Qx").exists()
    assert not Card.objects.filter(name__contains="qx").exists()
    assert not Change.objects.filter(at__gt=clock.now()).exists()
    assert not ConditionCheck.objects.filter(happened_on__gt=clock.today()).exists()
    assert Number.objects.filter(text__startswith="2199").count() == 0
    assert Call.objects.count() < N


def test_a_second_run_adds_without_touching_the_first(registrar: Person) -> None:
    call_command("generate", "30", verbosity=0)
    first = set(Number.objects.values_list("text", flat=True))
    call_command("generate", "30", verbosity=0)
    texts = list(Number.objects.filter(component=None).values_list("text", flat=True))
    assert len(texts) == len(set(texts)) == 60
    assert first < set(Number.objects.values_list("text", flat=True))
    assert verify().broken_at is None


def test_the_demo_s_people_stand_before_generated_things_and_no_more_are_made_than_asked(db: None) -> None:
    call_command("load_demo", "--people", verbosity=0)
    assert Person.objects.filter(email="volunteer@example.org").exists()
    assert not Object.objects.exists()
    for _start in range(2):
        call_command("generate", "12", "--up-to", verbosity=0)
        assert Object.objects.count() == 12


def test_a_house_that_has_not_begun_is_not_filled(db: None) -> None:
    with pytest.raises(CommandError, match="first_administrator"):
        call_command("generate", "5", verbosity=0)
    assert not Object.objects.exists()
