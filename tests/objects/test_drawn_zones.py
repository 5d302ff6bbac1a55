"""Zones drawn on a thing's own photograph: what is taken, what is refused in plain words, and two people at once."""

import re
from collections.abc import Callable
from math import cos, pi, sin
from typing import Any
from uuid import UUID

import pytest
from django.test import Client
from hypothesis import given
from hypothesis import strategies as some

from collection.objects import shapes
from collection.objects.actions.drawing import DrawnMeanwhile, draw_zone, erase_zone
from collection.objects.actions.photographs import add_photograph, correct_photograph, withdraw_photograph
from collection.objects.drawn import drawn_views
from collection.objects.models import Object, Photograph, ZoneNote
from collection.objects.queries import zones_of
from collection.objects.shapes import Fault
from museum.errors import Forbidden, Invalid, NotFound
from museum.history.models import Change
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock
from tests.objects.pictures import made, picture, sent

Browser = Callable[[Person], Client]
SQUARE = [[0.1, 0.2], [0.5, 0.2], [0.5, 0.6], [0.1, 0.6]]
HOUR_GLASS = [[0.1, 0.1], [0.5, 0.5], [0.5, 0.1], [0.1, 0.5]]


@pytest.fixture
def thing(society: Any) -> Object:
    return stock.helmet(kind="other", name="diver's hood")


@pytest.fixture
def photo(thing: Object) -> Photograph:
    return add_photograph(PROGRAM, uuid7(), sent(made()), shows=[("object", thing.pk)], view="V01")


def main(thing: Object) -> UUID:
    return thing.components.get(sort="main").pk


# the shapes themselves


@pytest.mark.parametrize(
    ("corners", "fault"),
    [
        ([[0.1, 0.1], [0.5, 0.1]], Fault.FEW),
        ([[0.1, 0.1], [0.1, 0.1], [0.5, 0.1], [0.5, 0.1], [0.1, 0.1]], Fault.FEW),
        ([[0.1, 0.1], [1.01, 0.1], [0.5, 0.6]], Fault.OUTSIDE),
        ([[-0.001, 0.1], [0.9, 0.1], [0.5, 0.6]], Fault.OUTSIDE),
        (HOUR_GLASS, Fault.CROSSING),
        ([[0.1, 0.1], [0.9, 0.1], [0.5, 0.1], [0.5, 0.9]], Fault.CROSSING),
        ([[0.1, 0.1], [0.9, 0.1], [0.5, 0.5], [0.5, 0.1], [0.1, 0.9]], Fault.CROSSING),
        ([[0.1, 0.1], [0.9, 0.1], [0.5, 0.1001]], Fault.FLAT),
        ([[n / 100, (n * n) / 10_000] for n in range(70)], Fault.MANY),
        (SQUARE, None),
        ([[0, 0], [1, 0], [1, 1], [0, 1], [0, 0]], None),
        ([[0.1, 0.1], [0.5, 0.4], [0.9, 0.1], [0.9, 0.9], [0.1, 0.9]], None),
    ],
)
def test_what_a_shape_may_be(corners: list[list[float]], fault: Fault | None) -> None:
    points = shapes.points_of(corners)
    assert points is not None
    assert shapes.fault_of(shapes.tidied(points)) == fault


@given(some.lists(some.floats(0.06, 0.49), min_size=3, max_size=40))
def test_a_star_is_taken_and_its_middle_lies_inside(rays: list[float]) -> None:
    """Corners round a middle in the order of their angles never cross: whoever goes round once is never refused for that."""
    points = [(0.5 + ray * cos(2 * pi * n / len(rays)), 0.5 + ray * sin(2 * pi * n / len(rays))) for n, ray in enumerate(rays)]
    tidied = shapes.tidied(points)
    assert shapes.fault_of(tidied) is None
    middle = shapes.middle_of(tidied)
    crossings = [a for a, b in zip(tidied, [*tidied[1:], tidied[0]], strict=True) if (a[1] > middle[1]) != (b[1] > middle[1])]
    assert crossings, "a line across at its height meets the shape"


@pytest.mark.parametrize(
    ("text", "points"),
    [
        ("12.5 40; 60 40; 35 80", [(0.125, 0.4), (0.6, 0.4), (0.35, 0.8)]),
        ("10,20\n30,40", [(0.1, 0.2), (0.3, 0.4)]),
        ("", []),
        ("10 20; 30", None),
        ("ten twenty", None),
        ("1e3 4", None),
        ("9" * 7000, None),
    ],
)
def test_corners_written_as_text(text: str, points: Any) -> None:
    assert shapes.points_in(text) == points


@pytest.mark.parametrize("sent", [None, "x", 7, [1, 2], [[1]], [["a", "b"]], [[True, 0]], [[float("nan"), 0], [0, 1], [1, 1]], [[1e300, 0]]])
def test_what_is_no_list_of_corners(sent: Any) -> None:
    assert shapes.points_of(sent) is None


# the action


def test_a_zone_is_drawn_and_a_later_shape_takes_its_place(thing: Object, photo: Photograph, curator: Person) -> None:
    by = Actor.of(curator)
    first = draw_zone(by, main(thing), zone="SH", photograph=photo.pk, shape=SQUARE, name="hood")
    second = draw_zone(by, main(thing), zone="SH", photograph=photo.pk, shape=SQUARE[:3], name="hood", replaces=first.pk)
    (view,) = drawn_views(thing)
    assert [zone.note for zone in view.zones] == [second]
    assert second.corrects == first
    assert ZoneNote.objects.get(pk=first.pk).shape == SQUARE, "what stood before stays on record"
    assert next(zone.name for zone in zones_of(thing) if zone.code == "SH") == "hood"
    entry = Change.objects.filter(what="zone.drawn").order_by("-n")[0]
    assert entry.before["corners"] == "10 20; 50 20; 50 60; 10 60"


def test_drawing_a_zone_gives_it_to_the_thing_and_taking_it_back_takes_it(thing: Object, photo: Photograph) -> None:
    missing = next(code for code in ("NG", "PL", "CC", "AC", "PD") if code not in {zone.code for zone in zones_of(thing)})
    note = draw_zone(PROGRAM, main(thing), zone=missing, photograph=photo.pk, shape=SQUARE)
    assert missing in {zone.code for zone in zones_of(thing)}
    erase_zone(PROGRAM, note.pk, reason="that is a shadow")
    assert missing not in {zone.code for zone in zones_of(thing)}
    assert not drawn_views(thing)


def test_two_people_at_once_and_the_second_is_told(thing: Object, photo: Photograph, curator: Person, registrar: Person) -> None:
    first = draw_zone(Actor.of(curator), main(thing), zone="SH", photograph=photo.pk, shape=SQUARE)
    with pytest.raises(DrawnMeanwhile) as told:
        draw_zone(Actor.of(registrar), main(thing), zone="SH", photograph=photo.pk, shape=SQUARE[:3])
    assert told.value.data["who"] == "Ivo"
    assert told.value.data["standing"] == str(first.pk)
    same = draw_zone(Actor.of(registrar), main(thing), zone="SH", photograph=photo.pk, shape=SQUARE)
    assert same == first, "who draws the very same collides with nobody"
    erase_zone(Actor.of(curator), first.pk)
    with pytest.raises(DrawnMeanwhile):
        draw_zone(Actor.of(registrar), main(thing), zone="SH", photograph=photo.pk, shape=SQUARE[:3], replaces=first.pk)
    with pytest.raises(DrawnMeanwhile):
        erase_zone(Actor.of(registrar), first.pk)


def test_one_zone_stands_on_several_photographs(thing: Object, photo: Photograph) -> None:
    back = add_photograph(PROGRAM, uuid7(), sent(made(image=picture((300, 400)))), shows=[("object", thing.pk)], view="V02")
    for shown in (back, photo):
        draw_zone(PROGRAM, main(thing), zone="SH", photograph=shown.pk, shape=SQUARE)
    assert [view.photograph for view in drawn_views(thing)] == [photo, back], "in the order of the standard views"


def test_what_was_drawn_stays_when_the_photograph_is_said_better_and_goes_when_it_is_taken_back(thing: Object, photo: Photograph) -> None:
    first = draw_zone(PROGRAM, main(thing), zone="SH", photograph=photo.pk, shape=SQUARE)
    better = correct_photograph(PROGRAM, photo.pk, view="V05", caption="")
    (view,) = drawn_views(thing)
    assert view.photograph == better
    assert view.is_named(f"photo:{photo.pk}"), "a finding pointed at before is found again"
    again = draw_zone(PROGRAM, main(thing), zone="SH", photograph=better.pk, shape=SQUARE[:3], replaces=first.pk)
    withdraw_photograph(PROGRAM, better.pk, reason="it shows another hood")
    assert not drawn_views(thing)
    with pytest.raises(Invalid):
        draw_zone(PROGRAM, main(thing), zone="SH", photograph=better.pk, shape=SQUARE, replaces=again.pk)


def test_a_photograph_of_another_thing_is_refused(thing: Object, society: Any) -> None:
    other = stock.helmet("1974.12.4")
    photo = add_photograph(PROGRAM, uuid7(), sent(made()), shows=[("object", other.pk)])
    with pytest.raises(Invalid, match="invalid"):
        draw_zone(PROGRAM, main(thing), zone="SH", photograph=photo.pk, shape=SQUARE)
    with pytest.raises(NotFound):
        draw_zone(PROGRAM, main(thing), zone="SH", photograph=uuid7(), shape=SQUARE)
    with pytest.raises(Invalid):
        draw_zone(PROGRAM, main(other), zone="XX", photograph=photo.pk, shape=SQUARE)


def test_a_volunteer_draws_nothing(thing: Object, photo: Photograph, volunteer: Person) -> None:
    with pytest.raises(Forbidden):
        draw_zone(Actor.of(volunteer), main(thing), zone="SH", photograph=photo.pk, shape=SQUARE)


# the page


def hidden(page: str) -> dict[str, str]:
    """The hidden fields of the form that draws."""
    drawing = page.partition('name="do" value="draw"')[2].partition("</form>")[0]
    return dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', drawing))


def form(client: Client, thing: Object, photo: Photograph, code: str = "SH") -> dict[str, str]:
    page = client.get(f"/things/{thing.pk}/zones/", {"photo": photo.pk, "zone": f"{main(thing)}/{code}"}).content.decode()
    return hidden(page) | {"do": "draw"}


def test_a_zone_is_drawn_by_the_form_alone(as_person: Browser, curator: Person, thing: Object, photo: Photograph) -> None:
    client, door = as_person(curator), f"/things/{thing.pk}/zones/"
    answer = client.post(door, form(client, thing, photo) | {"points": "10 20; 50 20; 50 60", "name": "hood"}, follow=True)
    page = answer.content.decode()
    assert "Stored." in page
    assert 'aria-label="SH hood"' in page, "the drawn zone is a way to draw it anew"
    assert f'href="/photos/{photo.pk}/1600.jpg"' in page
    assert ZoneNote.objects.get().shape == [[0.1, 0.2], [0.5, 0.2], [0.5, 0.6]]


@pytest.mark.parametrize(
    ("points", "words"),
    [
        ("10 20; 50 20", "at least three corners"),
        ("10 20; 150 20; 50 60", "outside the photograph"),
        ("10 10; 50 50; 50 10; 10 50", "crosses or touches itself"),
        ("left corner, right corner", "cannot be read"),
        ("", "at least three corners"),
    ],
)
def test_a_wrong_shape_is_refused_in_plain_words_and_kept(
    as_person: Browser, curator: Person, thing: Object, photo: Photograph, points: str, words: str
) -> None:
    client, door = as_person(curator), f"/things/{thing.pk}/zones/"
    answer = client.post(door, form(client, thing, photo) | {"points": points, "name": "hood"})
    page = answer.content.decode()
    assert answer.status_code == 400
    assert words in page
    assert f">{points}</textarea>" in page
    assert 'value="hood"' in page
    assert not ZoneNote.objects.exists()


def test_the_second_of_two_sees_both_and_may_go_on(as_person: Browser, curator: Person, registrar: Person, thing: Object, photo: Photograph) -> None:
    door, first, second = f"/things/{thing.pk}/zones/", as_person(curator), as_person(registrar)
    mine, theirs = form(first, thing, photo), form(second, thing, photo)
    first.post(door, mine | {"points": "10 20; 50 20; 50 60"})
    answer = second.post(door, theirs | {"points": "10 20; 90 20; 90 60"})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "Ivo drew" in page
    assert "10 20; 90 20; 90 60" in page, "what was drawn is kept"
    assert 'data-zone="SH"' in page, "the first stands in the picture"
    second.post(door, hidden(page) | {"do": "draw", "points": "10 20; 90 20; 90 60"})
    (view,) = drawn_views(thing)
    assert view.zones[0].points[1] == (0.9, 0.2)


def test_a_zone_is_taken_off_and_no_drawing_fits(as_person: Browser, curator: Person, thing: Object, photo: Photograph) -> None:
    client, door = as_person(curator), f"/things/{thing.pk}/zones/"
    note = draw_zone(PROGRAM, main(thing), zone="SH", photograph=photo.pk, shape=SQUARE)
    client.post(door, {"do": "erase", "photo": photo.pk, "note": note.pk, "reason": "a shadow"})
    assert not drawn_views(thing)
    client.post(door, {"do": "drawings", "outline_set": "photograph", "version": thing.version})
    thing.refresh_from_db()
    assert thing.outline_set == "photograph"
    stale = client.post(door, {"do": "drawings", "outline_set": "", "version": 1})
    assert stale.status_code == 409
    client.post(door, {"do": "drawings", "outline_set": "", "version": thing.version})
    thing.refresh_from_db()
    assert thing.outline_set == ""


def test_without_a_photograph_the_page_says_what_comes_first(as_person: Browser, curator: Person, thing: Object) -> None:
    assert "No photograph yet" in as_person(curator).get(f"/things/{thing.pk}/zones/").content.decode()
    nothing = as_person(curator).post(f"/things/{thing.pk}/zones/", {"do": "draw", "zone": "x", "photo": str(uuid7())})
    assert nothing.status_code == 404


# programs


def test_programs_draw_and_erase(as_person: Browser, curator: Person, thing: Object, photo: Photograph) -> None:
    client, door = as_person(curator), f"/api/objects/{thing.pk}/zones/"
    body = {"id": str(uuid7()), "component": str(main(thing)), "zone": "SH", "photograph": str(photo.pk), "shape": SQUARE}
    first, again = (client.post(door, body, content_type="application/json") for _twice in range(2))
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json() == again.json()
    refused = client.post(door, body | {"id": str(uuid7()), "shape": HOUR_GLASS}, content_type="application/json")
    assert refused.status_code == 400
    assert refused.json()["code"] == "invalid"
    meanwhile = client.post(door, body | {"id": str(uuid7()), "shape": SQUARE[:3]}, content_type="application/json")
    assert (meanwhile.status_code, meanwhile.json()["code"]) == (409, "drawn_meanwhile")
    (row,) = client.get(door).json()["zones"]
    assert row["shape"] == SQUARE
    erased = client.post(f"/api/zones/{row['id']}/erase/", {"id": str(uuid7())}, content_type="application/json")
    assert erased.status_code == 204
    assert client.get(door).json()["zones"] == []
