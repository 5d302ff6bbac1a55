"""The pages of the catalogue, as a browser without scripts sees them."""

import re
from collections.abc import Callable

import pytest
from django.test import Client

from collection.objects.actions.objects import create_object, set_public
from collection.objects.actions.parts import add_component
from collection.objects.actions.statements import say
from collection.objects.models import Kind, MadeOf, Number, Object, Statement
from collection.objects.queries import accepted, hazards_in_force, proposals, zones_of
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]


def form_at(client: Client, address: str, marker: str) -> dict[str, str]:
    """The hidden inputs of the form on a page that holds this text: what a browser sends with what is typed."""
    page = client.get(address).content.decode()
    form = next(one for one in re.findall(r"<form.*?</form>", page, re.DOTALL) if marker in one)
    return dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', form))


def test_a_first_thing_takes_few_entries(as_person: Browser, registrar: Person) -> None:
    """At most 25 actions: here a name, a kind, a number, two ticks and the button."""
    client = as_person(registrar)
    assert "Add the first thing" in client.get("/things/").content.decode()
    sent = form_at(client, "/things/new/", 'name="id"')
    typed = {"name": "fire helmet", "kind": "fire", "number": "1974.012.3", "materials": ["copper_alloy", "leather"]}
    answer = client.post("/things/new/", sent | typed)
    thing = Object.objects.get()
    assert answer.url == f"/things/{thing.pk}/"
    assert (thing.card.number, thing.card.name, thing.card.materials) == (
        "1974.12.3", "fire helmet", ["copper_alloy", "leather"],
    )  # fmt: skip
    client.post("/things/new/", sent | typed)
    assert Object.objects.count() == 1, "the button pressed twice"


def test_what_was_typed_stays_when_a_number_cannot_be_read(as_person: Browser, registrar: Person) -> None:
    answer = as_person(registrar).post("/things/new/", {"name": "steel cap", "kind": "fire", "number": "3.12.1974"})
    page = answer.content.decode()
    assert answer.status_code == 400
    assert "looks like a date" in page
    assert "1974.12.3" in page, "what it may have been"
    assert 'value="steel cap"' in page
    assert not Object.objects.exists()


def test_a_curator_gets_temporary_numbers_only(as_person: Browser, curator: Person) -> None:
    client = as_person(curator)
    assert 'value="accession"' not in client.get("/things/new/").content.decode()
    client.post("/things/new/", {"name": "cap", "kind": "other", "series": "temporary"})
    assert Number.objects.get().series == "temporary"
    refused = client.post("/things/new/", {"name": "cap", "kind": "other", "number": "1974.12.3"})
    assert "registrar" in refused.content.decode()


@pytest.mark.parametrize("page", ["edit", "what", "parts", "numbers", "dangers", "said"])
def test_every_page_of_a_thing_opens(as_person: Browser, curator: Person, page: str) -> None:
    thing = stock.helmet(kind="armed_service")
    add_component(PROGRAM, thing.pk, sort="loose", name="liner shell", lettered=True, zones=["SH", "IN", "LN"])
    say(PROGRAM, thing.components.get(sort="main").pk, "marks", {"text": "No. 3", "kind": "issue", "place": "rim"})
    answer = as_person(curator).get(f"/things/{thing.pk}/{page}/")
    assert answer.status_code == 200
    assert "1974.12.3" in answer.content.decode()


@pytest.mark.parametrize("page", ["edit", "what", "parts", "numbers", "dangers", "said"])
def test_a_reader_changes_nothing(as_person: Browser, reader: Person, page: str) -> None:
    thing = stock.helmet()
    assert as_person(reader).get(f"/things/{thing.pk}/{page}/").status_code == 403


def test_what_a_reader_may_not_see_looks_absent(as_person: Browser, reader: Person, curator: Person) -> None:
    thing = stock.helmet("1974.12.3")
    hidden = as_person(reader).get("/n/1974.12.3/", follow=True).content.decode()
    assert "Nothing has" in hidden
    absent, forbidden = (as_person(curator).get(f"/things/{key}/edit/") for key in (uuid7(), uuid7()))
    assert absent.status_code == forbidden.status_code == 404
    assert str(thing.pk) not in hidden


def test_a_volunteer_s_words_wait_for_a_curator(as_person: Browser, volunteer: Person, curator: Person) -> None:
    thing = stock.helmet()
    client = as_person(volunteer)
    sent = form_at(client, f"/things/{thing.pk}/edit/", 'value="description"')
    client.post(f"/things/{thing.pk}/say/", sent | {"text": "rim bent on the left"})
    proposal = proposals(thing).get()
    page = f"/things/{thing.pk}/edit/"
    assert client.post(f"/things/{thing.pk}/accept/{proposal.pk}/").status_code == 403
    other = as_person(curator)
    other.post(f"/things/{thing.pk}/accept/{proposal.pk}/", form_at(other, page, "/accept/"))
    assert accepted([thing.pk]).get(field__code="description").author == volunteer


def test_a_proposal_is_left_aside_with_a_reason(as_person: Browser, volunteer: Person, curator: Person) -> None:
    thing = stock.helmet()
    proposal = say(Actor.of(volunteer), thing.components.get().pk, "title", "the old dome")
    as_person(curator).post(f"/things/{thing.pk}/decline/{proposal.pk}/", {"reason": "that is its neighbour"})
    assert not proposals(thing).exists()
    assert "that is its neighbour" in as_person(volunteer).get(f"/things/{thing.pk}/said/").content.decode()


def test_two_people_on_one_field_see_both_versions(as_person: Browser, curator: Person, registrar: Person) -> None:
    thing = stock.helmet()
    page, door = f"/things/{thing.pk}/edit/", f"/things/{thing.pk}/say/"
    first, second = as_person(curator), as_person(registrar)
    mine, theirs = (form_at(client, page, 'value="description"') for client in (first, second))
    first.post(door, mine | {"text": "steel bowl"})
    answer = second.post(door, theirs | {"text": "steel bowl, grey paint"})
    shown = answer.content.decode()
    assert answer.status_code == 409
    assert "steel bowl, grey paint" in shown
    assert "Ivo" in shown, "who was first"
    assert proposals(thing).get().words == "steel bowl, grey paint", "kept, should the page be closed now"
    again = re.search(r'<form method="post" action="([^"]+/accept/[^"]+)"', shown)
    assert again is not None
    version = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', shown))["replaces"]
    second.post(again[1], {"replaces": version})
    assert accepted([thing.pk]).get(field__code="description").words == "steel bowl, grey paint"
    assert Statement.objects.filter(field__code="description").count() == 2, "nothing was overwritten"


def test_a_field_emptied_can_be_filled_again(as_person: Browser, curator: Person) -> None:
    thing = stock.helmet()
    client, page, door = as_person(curator), f"/things/{thing.pk}/edit/", f"/things/{thing.pk}/say/"
    for typed in ({"text": "the Hose Tower helmet"}, {"empty": "on"}, {"text": "the Tallowick helmet"}):
        answer = client.post(door, form_at(client, page, 'value="title"') | typed)
        assert answer.status_code == 302
    assert accepted([thing.pk]).get(field__code="title").words == "the Tallowick helmet"
    assert "emptied on purpose" in client.get(f"/things/{thing.pk}/said/").content.decode()


def test_a_button_pressed_twice_stores_once(as_person: Browser, curator: Person) -> None:
    thing = stock.helmet()
    client = as_person(curator)
    sent = form_at(client, f"/things/{thing.pk}/edit/", 'value="marks"') | {"text": "57"}
    for _twice in range(2):
        client.post(f"/things/{thing.pk}/say/", sent)
    assert accepted([thing.pk]).filter(field__code="marks").count() == 1


def test_kind_and_public_change_under_their_version(as_person: Browser, curator: Person) -> None:
    thing = stock.helmet(kind="fire")
    client, page = as_person(curator), f"/things/{thing.pk}/what/"
    sent = form_at(client, page, 'name="kind"') | {"kind": "police", "how_many": "1"}
    create_again = sent | {"public": "on"}
    assert client.post(page, create_again).status_code == 302
    thing.refresh_from_db()
    assert (thing.kind.code, thing.public, thing.card.public) == ("police", True, True)
    late = sent | {"act": str(uuid7()), "kind": "sun"}
    assert client.post(page, late).status_code == 409


def test_a_strap_with_a_letter_takes_its_zone_with_it(as_person: Browser, curator: Person) -> None:
    thing = stock.helmet("1974.12.3", kind="civil_defence")
    part = {"do": "part", "name": "chinstrap", "sort": "loose", "lettered": "on", "zones": ["CS"]}
    as_person(curator).post(f"/things/{thing.pk}/parts/", part)
    strap = thing.components.get(name="chinstrap")
    assert [zone.component_id for zone in zones_of(thing) if zone.code == "CS"] == [strap.pk]
    assert Number.objects.get(component=strap).text == "1974.12.3b"


def test_materials_are_placed_and_taken_back(as_person: Browser, curator: Person) -> None:
    thing = stock.helmet(materials=["steel"])
    client, page = as_person(curator), f"/things/{thing.pk}/parts/"
    rim = next(zone for zone in zones_of(thing) if zone.code == "RB")
    client.post(page, {"do": "material", "where": rim.key, "material": "leather", "finish": "blackened"})
    placed = {zone.code: zone.materials for zone in zones_of(thing)}
    assert (placed["RB"], placed["SH"]) == (("leather", "steel"), ("steel",))
    fact = MadeOf.objects.get(material__code="leather")
    client.post(page, {"do": "withdraw", "made_of": str(fact.pk), "reason": "it is cloth"})
    assert {zone.code: zone.materials for zone in zones_of(thing)}["RB"] == ("steel",)
    assert MadeOf.objects.filter(material__code="leather").count() == 2, "the first telling stays on record"


def test_a_danger_is_told_by_anybody_and_settled_by_a_curator(as_person: Browser, volunteer: Person, curator: Person) -> None:
    thing = stock.helmet()
    page = f"/things/{thing.pk}/dangers/"
    as_person(volunteer).post(page, {"do": "tell", "code": "ASBESTOS", "level": "3", "note": "grey tabs"})
    assert hazards_in_force([thing.pk]) == {thing.pk: {"ASBESTOS": 3}}
    assert "A curator settles it" in as_person(volunteer).get(page).content.decode()
    settle = {"do": "settle", "code": "ASBESTOS", "level": "0", "evidence": "analyst's finding 12 of 3 March"}
    as_person(volunteer).post(page, settle)
    assert hazards_in_force([thing.pk]), "a volunteer cannot"
    as_person(curator).post(page, settle)
    assert hazards_in_force([thing.pk]) == {}
    assert "analyst&#x27;s finding 12" in as_person(volunteer).get(page).content.decode()


def test_the_society_calls_zones_as_it_does(as_person: Browser, curator: Person) -> None:
    thing = stock.helmet(kind="fire")
    client, page = as_person(curator), "/words/kinds/fire/"
    kind = Kind.objects.get(code="fire")
    names = {f"name-{code}": text["en"] for code, text in kind.zones.items()} | {"name-SH": "dome"}
    client.post(page, {"version": str(kind.version), "zones": list(kind.zones), **names, "reason": "our word"})
    assert next(zone.name for zone in zones_of(thing) if zone.code == "SH") == "skull", "as the page loaded it"
    fresh = Object.objects.select_related("kind").get(pk=thing.pk)
    assert next(zone.name for zone in zones_of(fresh) if zone.code == "SH") == "dome"
    late = client.post(page, {"version": str(kind.version), "zones": ["SH"], "name-SH": "bowl"})
    assert late.status_code == 409


def test_a_word_of_the_house_and_back(as_person: Browser, curator: Person, volunteer: Person) -> None:
    client = as_person(curator)
    material = {"do": "rename", "of": "material", "code": "copper_alloy"}
    client.post("/words/", material | {"version": "1", "text": "brass"})
    assert "shipped as brass or copper" in client.get("/words/").content.decode()
    client.post("/words/", material | {"version": "2", "text": ""})
    assert "shipped as" not in client.get("/words/").content.decode()
    assert as_person(volunteer).get("/words/").status_code == 403


def test_a_kind_of_the_society_s_own(as_person: Browser, curator: Person) -> None:
    kind = {"do": "kind", "code": "post", "text": "postal", "outline_set": "other", "zones": ["SH", "LB"]}
    as_person(curator).post("/words/", kind)
    thing = create_object(PROGRAM, object_id=uuid7(), kind="post", next_in="temporary", said={"name": "post cap"})
    assert [zone.code for zone in zones_of(thing)] == ["SH", "LB"]


def test_an_address_leads_to_the_thing_by_any_of_its_numbers(as_person: Browser, curator: Person) -> None:
    thing = stock.helmet("1974.12.3")
    client = as_person(curator)
    for text in ("1974.12.3", "1974.012.3", " 1974 .12.3"):
        assert client.get(f"/n/{text}/").url == f"/things/{thing.pk}/"
    assert client.get("/n/no such number/").url == "/things/?q=no+such+number"


def test_the_list_is_walked_there_and_back(as_person: Browser, curator: Person) -> None:
    for n in range(1, 121):
        create_object(PROGRAM, object_id=uuid7(), kind="fire", number=f"1974.12.{n}", said={"name": "fire helmet"})
    client, address, seen = as_person(curator), "/things/?kind=fire", []
    while address:
        page = client.get(address).content.decode()
        seen.append(re.findall(r'class="tag" href="[^"]+">([^<]+)<', page))
        found = re.search(r'rel="next" href="([^"]+)"', page)
        address = "/things/" + found[1].replace("&amp;", "&") if found else ""
    assert [number for page in seen for number in page] == [f"1974.12.{n}" for n in range(1, 121)]
    back = re.search(r'rel="prev" href="([^"]+)"', page)
    assert back is not None
    before = client.get("/things/" + back[1].replace("&amp;", "&")).content.decode()
    assert re.findall(r'class="tag" href="[^"]+">([^<]+)<', before) == seen[1]


def test_a_page_of_the_list_asks_the_same_few_questions_however_many_things(
    as_person: Browser, curator: Person, django_assert_max_num_queries: Callable[[int], object]
) -> None:
    client = as_person(curator)
    stock.helmet("1974.1.1")
    client.get("/things/")
    for n in range(2, 40):
        stock.helmet(f"1974.1.{n}")
    with django_assert_max_num_queries(9):  # type: ignore[attr-defined]
        client.get("/things/")
    with django_assert_max_num_queries(12):  # type: ignore[attr-defined]
        client.get("/things/?q=helmet")


def test_readers_see_the_building_and_no_state(as_person: Browser, reader: Person) -> None:
    thing = stock.helmet("1974.1.1")
    set_public(PROGRAM, thing.pk, public=True)
    page = as_person(reader).get("/things/").content.decode()
    assert "1974.1.1" in page
    assert "not checked yet" not in page
