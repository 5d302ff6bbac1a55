"""What every page carries, the pages that say what went wrong, and the page of components."""

import re
from collections.abc import Callable

import pytest
from django.http import HttpRequest, QueryDict
from django.template.loader import render_to_string
from django.test import Client, RequestFactory
from django.utils import translation

from museum.errors import Forbidden, NotFound, VersionConflict
from museum.people.models import Person, Society
from museum.web import showcase, views
from museum.web.errors import answer
from tests.web.stylesheet import ROOT

SPECIMENS = ROOT / "museum" / "web" / "templates" / "web" / "specimens"
As = Callable[[Person], Client]


@pytest.fixture
def asked(society: Society) -> HttpRequest:
    return RequestFactory().get("/things/1/")


@pytest.mark.django_db
def test_the_styleguide_shows_every_component_with_its_markup(client: Client, society: Society) -> None:
    response = client.get("/styleguide/")
    page = response.content.decode()
    assert response["X-Robots-Tag"] == "noindex"
    for specimen in SPECIMENS.glob("*.html"):
        assert f'id="{specimen.stem}"' in page
        assert f"Markup of {specimen.stem}" in page
    assert "{% grade 2 %}" in page, "the markup is shown as it is written"
    assert not re.search(r"\sstyle=", page)
    found = re.findall(r'\sid="([^"]+)"', page)
    assert len(found) == len(set(found))
    assert {f'#i-{name}"' in page for name in showcase.symbols("icons.svg", "i")} == {True}


@pytest.mark.django_db
@pytest.mark.parametrize(("look", "dress"), [("dark", ' data-theme="dark"'), ("light", ' data-theme="light"'), ("pink", "")])
def test_light_or_dark_is_written_by_the_server(client: Client, society: Society, look: str, dress: str) -> None:
    assert f'<html lang="en"{dress}>' in client.get("/styleguide/", {"look": look}).content.decode()
    client.cookies["theme"] = look
    assert f'<html lang="en"{dress}>' in client.get("/sign-in/").content.decode()


@pytest.mark.django_db
def test_a_page_says_whose_it_is_and_who_reads_it(as_person: As, volunteer: Person) -> None:
    page = as_person(volunteer).get("/account/").content.decode()
    assert '<a class="skip" href="#main">' in page
    assert '<main class="page" id="main" tabindex="-1">' in page
    assert "· Tallowick Rescue</title>" in page
    assert 'class="mast-who" href="/account/"' in page
    assert "Marit" in page
    ways = re.findall(r'<a href="([^"]+)"[^>]*><svg class="i"[^>]*><use[^>]*></svg><span>(\w+)</span>', page)
    assert [name for _address, name in ways] == ["Today", "Things", "Places", "Rounds", "Papers"]


@pytest.mark.django_db
def test_a_stranger_sees_no_ways_through_the_house(client: Client, society: Society) -> None:
    assert "mast-nav" not in client.get("/sign-in/").content.decode()


def test_absent_and_forbidden_give_the_very_same_page(asked: HttpRequest) -> None:
    absent = views.not_found(asked, Exception())
    hidden = answer(asked, NotFound("This one is Oda's."))
    assert absent.status_code == hidden.status_code == 404
    assert absent.content == hidden.content
    assert "Nothing here" in absent.content.decode()


@pytest.mark.parametrize(
    ("view", "status", "words"),
    [
        (lambda request: views.bad_request(request, Exception()), 400, "This could not be read"),
        (lambda request: views.forbidden(request, Exception()), 403, "Your role does not allow this."),
        (views.csrf_failure, 403, "This page stood open too long"),
    ],
)
def test_what_went_wrong_is_said_in_plain_words(asked: HttpRequest, view: Callable[[HttpRequest], object], status: int, words: str) -> None:
    response = view(asked)
    page = response.content.decode()  # type: ignore[attr-defined]
    assert response.status_code == status  # type: ignore[attr-defined]
    assert words in page
    assert "Nothing was changed." in page
    assert ("Not for your role" in page) == ("Your role" in words), "the heading says what happened, no more"
    assert 'href="/"' in page, "there is a way on"


def test_a_fault_of_the_program_needs_nothing_that_may_have_broken() -> None:
    """No database here: the fixture is not asked for, so any query would fail."""
    response = views.server_error(RequestFactory().get("/things/"))
    page = response.content.decode()
    assert response.status_code == 500
    assert "It is not your doing." in page
    assert "Traceback" not in page


def test_programs_are_told_in_their_form() -> None:
    request = RequestFactory().get("/api/things/")
    for response in (
        views.server_error(request),
        views.not_found(request, Exception()),
        answer(request, Forbidden("No.")),
    ):
        assert response["Content-Type"] == "application/problem+json"


@pytest.mark.django_db
def test_an_address_that_is_not_there(client: Client, society: Society) -> None:
    response = client.get("/no/such/page/")
    assert response.status_code == 404
    assert "There is nothing here, or it is not for you to see." in response.content.decode()


def test_two_versions_field_by_field_and_all_that_was_typed(asked: HttpRequest) -> None:
    conflict = VersionConflict(who="Oda", theirs={"name": "<b>north</b>"}, mine={"name": "by the door"}, version=7)
    typed = QueryDict("csrfmiddlewaretoken=old&version=6&name=by+the+door&materials=steel&materials=leather")
    context = {
        "conflict": conflict,
        "again": "/places/1/",
        "back": "/places/",
        "typed": typed,
        "names": {"name": "Name"},
    }
    page = render_to_string("web/conflict.html", context, request=asked)
    assert "Oda changed this while you were writing." in page
    assert '<th scope="row">Name</th>' in page
    assert "&lt;b&gt;north&lt;/b&gt;" in page
    assert page.count('name="materials"') == 2, "an input of several values is kept whole"
    assert 'name="version" value="7"' in page
    assert 'value="6"' not in page
    assert 'value="old"' not in page, "the token of this page, not of the last"
    assert 'href="/places/"' in page


def test_the_broken_page_speaks_the_reader_s_language() -> None:
    with translation.override("fr"):
        assert '<html lang="fr">' in views.server_error(RequestFactory().get("/")).content.decode()


@pytest.mark.django_db
def test_a_stranger_cannot_fill_the_disk(client: Client, society: Society) -> None:
    """Refused by the announced length, before a byte is kept."""
    much = client.post("/api/photos/", data="x" * (1_048_576 + 1), content_type="multipart/form-data; boundary=x")
    assert much.status_code == 413
    assert much.json()["code"] == "too_much"
    assert client.get("/sign-in/", CONTENT_LENGTH="nonsense").status_code == 413


@pytest.mark.django_db
def test_who_is_signed_in_may_send_photographs_and_no_more_than_the_bound(volunteer: Person, as_person: As) -> None:
    browser = as_person(volunteer)
    assert browser.post("/api/checks/", CONTENT_LENGTH=str(2 * 1_048_576)).status_code != 413
    assert browser.post("/api/checks/", CONTENT_LENGTH=str(251 * 1_048_576)).status_code == 413


@pytest.mark.django_db
def test_only_a_registrar_is_shown_the_way_to_imports(registrar: Person, curator: Person, as_person: As) -> None:
    assert "/import/" in as_person(registrar).get("/things/").content.decode()
    assert "/import/" not in as_person(curator).get("/things/").content.decode()


@pytest.mark.parametrize("address", ["/things/?kind=%00", "/things/?after=a%00b", "/papers/?q=a%00b", "/p/P%00", "/api/objects?kind=%00"])
@pytest.mark.django_db
def test_an_address_with_a_nul_cannot_be_read(client: Client, address: str) -> None:
    """No text of the database holds one; it was a fault of the program before."""
    assert client.get(address).status_code == 400


@pytest.mark.django_db
def test_a_text_with_a_nul_cannot_be_read_whichever_door_it_takes(curator: Person, as_person: As) -> None:
    browser = as_person(curator)
    assert browser.post("/things/new/", {"name": "fire\0helmet"}).status_code == 400
    said = browser.post("/api/objects", '{"id": "0192f0c1-1111-7000-8000-000000000000", "name": "fire\\u0000helmet"}', content_type="application/json")
    assert said.status_code == 400


@pytest.mark.parametrize("address", ["/rounds/new/", "/papers/issue/", "/sign-out/"])
@pytest.mark.django_db
def test_an_address_that_only_takes_a_form_says_so(curator: Person, as_person: As, address: str) -> None:
    answer = as_person(curator).get(address)
    assert (answer.status_code, answer["Allow"]) == (405, "POST")
    assert "only takes what a form sends" in answer.content.decode()
