"""The catalogue: numbers for ever, parts and letters, what is said, two writers, finding."""

import pytest
from django.db import IntegrityError, transaction

from collection.objects import derived
from collection.objects.actions.hazards import report_hazard, settle_hazard
from collection.objects.actions.numbers import NumberTaken, give_number, next_number, renumber, void_number
from collection.objects.actions.objects import create_object
from collection.objects.actions.parts import add_component
from collection.objects.actions.statements import accept_statement, say
from collection.objects.models import Card, Number, Object
from collection.objects.queries import accepted, proposals, zones_of
from collection.objects.search import cards_for
from museum.errors import Forbidden, Invalid, VersionConflict
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock

pytestmark = pytest.mark.django_db


def test_two_spellings_are_one_number(db: None) -> None:
    stock.helmet("1974.12.3")
    with pytest.raises(NumberTaken):
        stock.helmet("1974.012.003")


def test_a_void_number_is_never_issued_again(registrar: Person) -> None:
    thing = stock.helmet("1974.12.3")
    void_number(Actor.of(registrar), Number.objects.get().pk, reason="entered twice")
    assert Number.objects.get().state == "void"
    with pytest.raises(NumberTaken):
        give_number(Actor.of(registrar), thing.pk, "1974.12.3")


def test_the_next_number_passes_over_those_given(registrar: Person) -> None:
    for text in ("T2026.1", "T2026.2"):
        stock.helmet(text)
    made = create_object(Actor.of(registrar), object_id=uuid7(), kind="other", next_in="temporary", year=2026, said={"name": "cap"})
    assert made.numbers.get().text == "T2026.3"
    assert next_number(PROGRAM, made.pk, "temporary", 2026).text == "T2026.4"


def test_a_former_number_is_still_found(registrar: Person) -> None:
    thing = stock.helmet("1974.12.3")
    renumber(Actor.of(registrar), thing.pk, "1974.13.1", reason="wrong lot")
    assert [card.pk for card in cards_for(Actor.of(registrar), "1974.12.3")] == [thing.pk]
    thing.card.refresh_from_db()
    assert thing.card.number == "1974.13.1"


def test_only_a_registrar_issues_accession_numbers(curator: Person) -> None:
    with pytest.raises(Forbidden):
        create_object(Actor.of(curator), object_id=uuid7(), kind="fire", number="1974.12.3")
    assert not Object.objects.exists()


def test_numbers_as_written_keep_their_form(registrar: Person) -> None:
    first = create_object(Actor.of(registrar), object_id=uuid7(), kind="other", number="45.1", as_written=True)
    second = create_object(Actor.of(registrar), object_id=uuid7(), kind="other", number="45.10", as_written=True)
    assert first.pk != second.pk
    assert [c.number for c in cards_for(Actor.of(registrar))] == ["45.1", "45.10"]


def test_the_database_refuses_a_number_out_of_form(db: None) -> None:
    thing = stock.helmet()
    with pytest.raises(IntegrityError), transaction.atomic():
        Number.objects.create(object=thing, series="accession", text="74-3", sort_key="x")


def test_the_whole_becomes_a_when_a_second_letter_is_given(db: None) -> None:
    thing = stock.helmet("1974.12.3", kind="armed_service")
    liner = add_component(PROGRAM, thing.pk, sort="loose", name="liner shell", lettered=True, zones=["SH", "IN", "RB", "LN", "HB"])
    assert (thing.components.get(sort="main").letter, liner.letter) == ("a", "b")
    assert Number.objects.get(component=liner).text == "1974.12.3b"
    own = [zone.code for zone in zones_of(thing) if zone.component_id == liner.pk]
    assert own == ["SH", "IN", "RB", "LN", "HB"]


def test_a_volunteer_proposes_and_blocks_nobody(volunteer: Person, curator: Person) -> None:
    thing = stock.helmet()
    main = thing.components.get()
    proposal = say(Actor.of(volunteer), main.pk, "description", "rim bead bent on the left")
    assert list(proposals(thing)) == [proposal]
    assert not accepted([thing.pk]).filter(field__code="description").exists()
    accept_statement(Actor.of(curator), proposal.pk, replaces=None)
    assert accepted([thing.pk]).get(field__code="description").words == "rim bead bent on the left"


def test_the_second_writer_sees_both_versions(curator: Person, registrar: Person) -> None:
    main = stock.helmet().components.get()
    first = say(Actor.of(curator), main.pk, "description", "steel bowl")
    with pytest.raises(VersionConflict) as refused:
        say(Actor.of(registrar), main.pk, "description", "steel bowl, grey paint")
    assert refused.value.data["theirs"] == {"description": "steel bowl"}
    assert refused.value.data["mine"] == {"description": "steel bowl, grey paint"}
    say(Actor.of(registrar), main.pk, "description", "steel bowl, grey paint", replaces=first.acceptance.pk)
    assert accepted([main.object_id]).get(field__code="description").words == "steel bowl, grey paint"


def test_a_hazard_never_disappears_and_is_settled_with_evidence(volunteer: Person, curator: Person) -> None:
    thing = stock.helmet()
    report_hazard(Actor.of(volunteer), thing.pk, code="ASBESTOS", level=3)
    with pytest.raises(Forbidden):
        settle_hazard(Actor.of(volunteer), thing.pk, code="ASBESTOS", level=0, evidence="looks fine")
    with pytest.raises(Invalid):
        settle_hazard(Actor.of(curator), thing.pk, code="ASBESTOS", level=0, evidence=" ")
    settle_hazard(Actor.of(curator), thing.pk, code="ASBESTOS", level=0, evidence="analyst's finding of 3 March")
    thing.card.refresh_from_db()
    assert (thing.card.hazard_level, thing.hazards.count()) == (0, 2)


def test_helmets_come_before_what_only_mentions_them(curator: Person) -> None:
    badge = stock.helmet("1974.1.1", kind="other", name="badge")
    say(PROGRAM, badge.components.get().pk, "description", "a badge that shows a helmet")
    helmet = stock.helmet("1974.1.2", name="fire helmet")
    assert [card.pk for card in cards_for(Actor.of(curator), "helmet")] == [helmet.pk, badge.pk]


@pytest.mark.parametrize("typed", ["helmt", "hemlet", "fire helmit"])
def test_a_typing_error_still_finds(curator: Person, typed: str) -> None:
    thing = stock.helmet(name="fire helmet")
    assert thing.pk in [card.pk for card in cards_for(Actor.of(curator), typed)]


def test_a_reader_finds_what_is_public_only(reader: Person) -> None:
    stock.helmet("1974.1.1")
    shown = create_object(PROGRAM, object_id=uuid7(), kind="fire", number="1974.1.2", said={"name": "fire helmet"}, public=True)
    assert [card.pk for card in cards_for(Actor.of(reader))] == [shown.pk]


def test_an_administrator_alone_sees_no_content(administrator: Person) -> None:
    stock.helmet()
    assert not Object.objects.visible_to(Actor.of(administrator)).exists()


def test_cards_are_rebuilt_to_equal_rows(db: None) -> None:
    thing = stock.helmet()
    say(PROGRAM, thing.components.get().pk, "description", "steel bowl")
    columns = [f.attname for f in Card._meta.concrete_fields]
    before = list(Card.objects.values_list(*columns))
    derived.rebuild()
    assert list(Card.objects.values_list(*columns)) == before
