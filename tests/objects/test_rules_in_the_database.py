"""What the database itself refuses, whoever writes; and what happens when two write at once."""

from collections.abc import Callable

import pytest
from django.db import IntegrityError, connection, transaction
from django.db.utils import InternalError, ProgrammingError

from collection.objects.actions.numbers import NumberTaken, next_number
from collection.objects.actions.objects import create_object
from collection.objects.actions.parts import add_component
from collection.objects.actions.statements import say
from collection.objects.models import Acceptance, Component, Field, Hazard, MadeOf, Material, Number, Object, Statement
from museum.errors import VersionConflict
from museum.ids import uuid7
from museum.people.action import Act, action
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock
from tests.history.test_at_once import at_once


def refused(act: Callable[[], object]) -> None:
    """The database does not take it, at the latest when all is to be stored."""
    with pytest.raises((IntegrityError, InternalError, ProgrammingError)):
        _stored(act)


@transaction.atomic
def _stored(act: Callable[[], object]) -> None:
    act()
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")


@pytest.mark.django_db
class TestRefused:
    def test_a_number_out_of_form(self) -> None:
        thing = stock.helmet()
        for text in ("74.3", "1974.012.3", "1974.0.3", "X1974.1", "1974.1.1abc", "1974.1.1\n"):
            refused(lambda text=text: Number.objects.create(object=thing, series="entry", text=text, sort_key="x"))  # type: ignore[misc]

    def test_a_number_twice(self) -> None:
        stock.helmet("1974.12.3")
        other = stock.helmet("1974.12.4")
        again = {"object": other, "series": "accession", "text": "1974.12.3", "sort_key": "x", "state": "void"}
        refused(lambda: Number.objects.create(**again))

    def test_two_accession_numbers_on_one_thing(self) -> None:
        thing = stock.helmet("1974.12.3")
        again = {"object": thing, "series": "accession", "text": "1974.12.4", "sort_key": "x"}
        refused(lambda: Number.objects.create(**again))

    def test_a_number_on_another_thing_s_part(self) -> None:
        thing, other = stock.helmet("1974.12.3"), stock.helmet("1974.12.4")
        part = add_component(PROGRAM, other.pk, sort="loose", name="strap", lettered=True)
        wrong = {"object": thing, "component": part, "series": "as_written", "text": "7", "sort_key": "x"}
        refused(lambda: Number.objects.create(**wrong))

    def test_a_second_whole_and_letters_that_are_not_free(self) -> None:
        thing = stock.helmet()
        strap = add_component(PROGRAM, thing.pk, sort="loose", name="strap", lettered=True)
        for wrong in (
            {"sort": "main"}, {"sort": "loose", "letter": strap.letter}, {"sort": "loose", "letter": "a"},
            {"sort": "loose", "letter": "B"}, {"sort": "loose", "letter": "abc"},
        ):  # fmt: skip
            refused(lambda wrong=wrong: Component.objects.create(object=thing, **wrong))  # type: ignore[misc]

    def test_a_danger_closed_without_evidence_or_beyond_the_scale(self) -> None:
        thing = stock.helmet()
        act = thing.screens.model._meta.apps.get_model("history.act").objects.first()
        for level in (0, 4):
            refused(lambda level=level: Hazard.objects.create(act=act, object=thing, code="LEAD", level=level))  # type: ignore[misc]

    def test_a_zone_out_of_form(self) -> None:
        thing = stock.helmet()
        act_id = thing.components.get().made_of.first().act_id  # type: ignore[union-attr]
        steel = Material.objects.get(code="steel")
        main = thing.components.get()
        refused(lambda: MadeOf.objects.create(act_id=act_id, component=main, zone="shell", material=steel))

    def test_an_acceptance_for_another_field_or_a_second_first_value(self) -> None:
        main = stock.helmet().components.get()
        name = Statement.objects.get(component=main, field__code="name")
        title = Field.objects.get(code="title")
        common = {"act_id": name.act_id, "component": main, "single": True}
        another = Statement.objects.create(act_id=name.act_id, component=main, field=name.field, value={"text": "x"})
        refused(lambda: Acceptance.objects.create(statement=another, field=title, **common))
        refused(lambda: Acceptance.objects.create(statement=another, field=name.field, **common))

    def test_what_was_said_is_never_changed_or_removed(self) -> None:
        main = stock.helmet().components.get()
        said = Statement.objects.filter(component=main)
        refused(lambda: said.update(words="something else"))
        refused(said.delete)
        refused(lambda: Acceptance.objects.filter(component=main).delete())


@pytest.mark.django_db(transaction=True)
class TestAtOnce:
    def test_two_first_values_of_one_field(self, curator: Person, registrar: Person) -> None:
        main = stock.helmet().components.get()
        answers = at_once(
            lambda: say(Actor.of(curator), main.pk, "title", "the tall one"),
            lambda: say(Actor.of(registrar), main.pk, "title", "the short one"),
        )
        assert sorted(type(one).__name__ for one in answers) == ["Statement", "VersionConflict"]
        lost = next(one for one in answers if isinstance(one, VersionConflict))
        words = {"the tall one", "the short one"}
        assert {lost.data["mine"]["title"], lost.data["theirs"]["title"]} == words, "both are told, nothing is lost"
        assert Acceptance.objects.filter(component=main, field__code="title").count() == 1

    def test_two_edits_of_one_value(self, curator: Person, registrar: Person) -> None:
        main = stock.helmet().components.get()
        first = say(PROGRAM, main.pk, "title", "the tall one").acceptance
        answers = at_once(
            *(
                lambda who=who: say(Actor.of(who), main.pk, "title", f"{who.name}'s", replaces=first.pk)  # type: ignore[misc]
                for who in (curator, registrar)
            )
        )
        assert sum(isinstance(one, VersionConflict) for one in answers) == 1

    def test_even_a_writer_who_holds_no_lock_collides(self, curator: Person) -> None:
        """The unique constraint has the last word, not the lock."""
        main = stock.helmet().components.get()
        first = say(PROGRAM, main.pk, "title", "the tall one").acceptance
        say(PROGRAM, main.pk, "title", "the taller one", replaces=first.pk)

        @action("tests.accept_twice", may="catalogue.edit")
        def accept_twice(act: Act) -> None:
            field = Field.objects.get(code="title")
            late = Statement.objects.create(act_id=act.id, component=main, field=field, value={"text": "late"})
            common = {"act_id": act.id, "component": main, "field": field, "single": True}
            Acceptance.objects.create(statement=late, replaces=first, **common)

        with pytest.raises(IntegrityError):
            accept_twice(PROGRAM)

    def test_the_next_number_is_given_once(self, registrar: Person) -> None:
        things = [stock.helmet(f"1974.1.{n}") for n in range(1, 7)]
        answers = at_once(*(lambda one=one: next_number(PROGRAM, one.pk, "temporary", 2026) for one in things))  # type: ignore[misc]
        assert sorted(str(one) for one in answers) == [f"T2026.{n}" for n in range(1, 7)]

    def test_one_typed_number_goes_to_one_thing(self, registrar: Person) -> None:
        def make() -> Object:
            return create_object(PROGRAM, object_id=uuid7(), kind="fire", number="1974.12.3", said={"name": "cap"})

        answers = at_once(make, make, make)
        assert sorted(type(one).__name__ for one in answers) == ["NumberTaken", "NumberTaken", "Object"]
        assert isinstance(next(one for one in answers if not isinstance(one, Object)), NumberTaken)
        assert Object.objects.count() == 1, "no half of the others stays"

    def test_two_parts_at_once_get_two_letters(self) -> None:
        thing = stock.helmet("1974.12.3")

        def add() -> Component:
            return add_component(PROGRAM, thing.pk, sort="loose", name="strap", lettered=True)

        assert sorted(one.letter for one in at_once(add, add) if isinstance(one, Component)) == ["b", "c"]
