"""Things in no record: whoever finds one enters it, the registrar finds out what it is."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from collection.objects.actions.found import StandsAlone, number_found
from collection.objects.actions.hazards import report_hazard
from collection.objects.found import waiting
from collection.objects.models import Card, Number, Object, Ownership
from collection.objects.queries import photographs_of
from conservation.rules.tables import hazards
from locations.places.found import enter_where_found, identify
from locations.places.queries import where_is
from museum.errors import Forbidden, Invalid, NotFound
from museum.history.verify import verify
from museum.ids import uuid7
from museum.people.actor import Actor
from museum.people.models import Person
from tests import stock
from tests.objects import pictures

AsPerson = Callable[[Person], Client]
HAZARD = next(iter(hazards()))
pytestmark = pytest.mark.django_db


def entered(person: Person, **more: object) -> Object:
    return enter_where_found(Actor.of(person), object_id=uuid7(), name="black cap with a badge", note="lay in a box of lamps", where="behind the door", **more)  # type: ignore[arg-type]


def test_a_volunteer_enters_it_by_phone_and_the_registrar_is_told(volunteer: Person, registrar: Person, as_person: AsPerson) -> None:
    _hall, _store, board = stock.shelf()
    key = str(uuid4())
    browser = as_person(volunteer)
    assert browser.get("/things/found/").status_code == 200
    for _again in range(2):
        sent = {"id": key, "name": "black cap", "where": "on the floor", "note": "a label, unreadable", "place": str(board.pk)}
        photo = SimpleUploadedFile("found.jpg", pictures.made(), "image/jpeg")
        answer = browser.post("/things/found/", sent | {"photo": photo}, follow=True)
        assert answer.status_code == 200
    thing = Object.objects.get()
    number = Number.objects.get()
    assert (number.series, number.state) == ("temporary", "current")
    assert number.text in answer.content.decode()
    assert Ownership.objects.get().whose == "found"
    place = where_is(thing).place
    assert place is not None
    assert place.pk == board.pk
    assert photographs_of("object", thing.pk).count() == 1
    assert "1 thing waits to be identified" in as_person(registrar).get("/").content.decode()
    assert "waits to be identified" not in browser.get("/").content.decode()
    assert "This is a thing we know" not in browser.get("/things/found/").content.decode()


def test_what_it_looks_like_is_asked_and_what_was_typed_kept(volunteer: Person, as_person: AsPerson) -> None:
    answer = as_person(volunteer).post("/things/found/", {"name": " ", "note": "a label"})
    assert answer.status_code == 400
    assert "a label" in answer.content.decode()
    assert not Object.objects.exists()


def test_a_name_is_no_story(volunteer: Person, as_person: AsPerson) -> None:
    answer = as_person(volunteer).post("/things/found/", {"name": "x" * 201})
    assert answer.status_code == 400
    assert "at most 200 letters" in answer.content.decode()


def test_found_to_be_a_known_thing_all_goes_there(registrar: Person, as_person: AsPerson) -> None:
    _hall, _store, board = stock.shelf()
    known, thing = stock.helmet("1974.12.3"), entered(registrar, place_id=board.pk)
    browser = as_person(registrar)
    browser.post(f"/things/{thing.pk}/photographs/", {"photo": SimpleUploadedFile("a.jpg", pictures.made(), "image/jpeg")})
    temporary = Number.objects.get(series="temporary").text
    assert "No thing goes by the number 1999.1" in browser.post(f"/things/{thing.pk}/known/", {"do": "is", "number": "1999.1"}, follow=True).content.decode()
    answer = browser.post(f"/things/{thing.pk}/known/", {"do": "is", "number": "1974.12.3", "reason": "the badge"}, follow=True)
    assert answer.redirect_chain[-1][0] == f"/things/{known.pk}/"
    number = Number.objects.get(text=temporary)
    assert (number.object_id, number.state, number.reason) == (known.pk, "former", "the badge")
    assert photographs_of("object", known.pk).count() == 1
    place = where_is(known).place
    assert place is not None
    assert place.pk == board.pk
    assert browser.get(f"/things/{thing.pk}/").status_code == 404
    assert Card.objects.get(pk=known.pk).number == "1974.12.3"
    assert str(known.pk) in browser.get("/things/", {"q": temporary}, follow=True).content.decode()
    assert not waiting(Actor.of(registrar))
    assert verify().broken_at is None


def test_it_gets_a_number_of_its_own(registrar: Person) -> None:
    actor = Actor.of(registrar)
    first, second = entered(registrar), entered(registrar)
    assert number_found(actor, first.pk, number="1974.12.3").series == "accession"
    assert number_found(actor, second.pk).series == "accession"
    assert not waiting(actor)
    assert Number.objects.filter(series="temporary", state="former").count() == 2
    with pytest.raises(NotFound):
        number_found(actor, first.pk)
    third = entered(registrar)
    with pytest.raises(Invalid):
        number_found(actor, third.pk, number="L2024.2.1")


def test_what_was_written_otherwise_keeps_the_record_apart(registrar: Person) -> None:
    actor, known, thing = Actor.of(registrar), stock.helmet(), entered(registrar)
    report_hazard(actor, thing.pk, code=HAZARD, level=1)
    with pytest.raises(StandsAlone):
        identify(actor, thing.pk, target=known.pk)
    assert Object.objects.get(pk=thing.pk).withdrawn == ""
    with pytest.raises(Invalid):
        identify(actor, thing.pk, target=thing.pk)


def test_who_may(volunteer: Person, curator: Person, registrar: Person, reader: Person, administrator: Person) -> None:
    known = stock.helmet()
    things = [entered(person) for person in (volunteer, curator, registrar)]
    for person in (reader, administrator):
        with pytest.raises(Forbidden):
            entered(person)
    for person in (volunteer, reader, administrator):
        with pytest.raises(Forbidden):
            identify(Actor.of(person), things[0].pk, target=known.pk)
    for person in (volunteer, curator, reader, administrator):
        with pytest.raises(Forbidden):
            number_found(Actor.of(person), things[0].pk)
    assert identify(Actor.of(curator), things[0].pk, target=known.pk) == known


def test_by_program(volunteer: Person, registrar: Person, as_person: AsPerson) -> None:
    key, json = str(uuid4()), "application/json"
    for _again in range(2):
        answer = as_person(volunteer).post("/api/found/", {"id": key, "name": "cap"}, content_type=json)
        assert answer.status_code == 201
    assert Object.objects.count() == 1
    assert as_person(volunteer).post("/api/found/", {"name": "cap"}, content_type=json).status_code == 400
    assert as_person(volunteer).post("/api/found/", {"id": str(uuid4()), "name": "cap", "place": "x"}, content_type=json).status_code == 400
    answer = as_person(registrar).post(f"/api/found/{key}/", {"id": str(uuid4()), "do": "number", "number": "1974.12.4"}, content_type=json)
    assert answer.json() == {"id": key, "number": "1974.12.4"}
