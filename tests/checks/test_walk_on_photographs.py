"""The walk on a thing's own photographs: views beside the outline drawings, touched as those are."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from collection.objects.actions.drawing import draw_zone
from collection.objects.actions.objects import change_object
from collection.objects.actions.photographs import add_photograph
from collection.objects.models import Object, Photograph
from collection.objects.queries import zones_of
from conservation.checks.models import Draft, Finding
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from museum.people.models import Person
from tests import stock
from tests.checks.test_walk_photographs import finding_of, phone
from tests.objects.pictures import made, sent

__all__ = ["phone"]
SQUARE = [[0.1, 0.2], [0.5, 0.2], [0.5, 0.6], [0.1, 0.6]]


@pytest.fixture
def thing(society: Any) -> Object:
    return stock.helmet()


@pytest.fixture
def photo(thing: Object) -> Photograph:
    """The front, with the rim drawn on it."""
    taken = add_photograph(PROGRAM, uuid7(), sent(made()), shows=[("object", thing.pk)], view="V01")
    draw_zone(PROGRAM, thing.components.get(sort="main").pk, zone="RB", photograph=taken.pk, shape=SQUARE)
    return taken


def no_drawing(thing: Object) -> None:
    change_object(PROGRAM, thing.pk, version=thing.version, kind=thing.kind.code, outline_set="photograph")


def walk(client: Client, thing: Object, **query: Any) -> str:
    return client.get(reverse("checks:full", args=[thing.pk]), query).content.decode()


def test_the_photograph_stands_beside_the_drawings(phone: Client, thing: Object, photo: Photograph) -> None:
    page = walk(phone, thing)
    assert "FRONT" in page, "the drawing comes first"
    assert f"view=photo%3A{photo.pk}" in page
    drawn = walk(phone, thing, view=f"photo:{photo.pk}")
    assert f'<image href="/photos/{photo.pk}/1600.jpg"' in drawn
    key = str(stock.zone(thing, "RB"))
    assert f'<a href="?zone={key}&amp;view=photo%3A{photo.pk}#hand" aria-label="RB rim bead' in drawn


def test_where_no_drawing_fits_the_photographs_stand_alone(phone: Client, thing: Object, photo: Photograph) -> None:
    no_drawing(thing)
    page = walk(phone, thing)
    assert "<image " in page
    assert "FRONT" not in page


def test_with_neither_the_list_is_open(phone: Client, thing: Object) -> None:
    no_drawing(thing)
    page = walk(phone, thing)
    assert "<image " not in page
    assert '<details class="zones-fold" open' in page


def test_a_finding_keeps_the_point_that_was_touched(phone: Client, thing: Object, photo: Photograph) -> None:
    view = f"photo:{photo.pk}"
    page = walk(phone, thing, zone=str(stock.zone(thing, "RB")), view=view, x="120.5", y="99")
    assert '<input type="hidden" name="x" value="120.5"><input type="hidden" name="y" value="99.0">' in page
    assert "Its number stands where you touched." in page
    assert 'cx="120.5" cy="99"' in page
    phone.post(reverse("checks:touch", args=[thing.pk]), finding_of(thing) | {"view": view, "x": "120.5", "y": "99.0"})
    (seen,) = Draft.objects.get().content["seen"].values()
    assert (seen["view"], seen["x"], seen["y"]) == (view, "120.5", "99.0")
    assert 'cx="120.5" cy="99"' in walk(phone, thing, view=view), "it is numbered in the picture from now on"
    assert 'cx="120.5"' not in walk(phone, thing, view="front"), "a point in one view is none in another"
    for zone in zones_of(thing):
        if zone.code != "RB":
            phone.post(reverse("checks:touch", args=[thing.pk]), {"zone": zone.key, "do": "nothing"})
    phone.post(reverse("checks:finish", args=[thing.pk]), {"do": "store"})
    assert [(row.view, row.x, row.y) for row in Finding.objects.all()] == [(view, 120.5, 99.0)]


@pytest.mark.parametrize("point", [{"x": "", "y": ""}, {"x": "500", "y": "3"}, {"x": "left", "y": "3"}, {"x": "nan", "y": "3"}, {"x": "7"}])
def test_a_point_that_is_none_is_left_out(phone: Client, thing: Object, photo: Photograph, point: dict[str, str]) -> None:
    page = walk(phone, thing, view=f"photo:{photo.pk}", **point)
    assert '<input type="hidden" name="x" value="">' in page


def test_a_view_that_is_none_is_the_first(phone: Client, thing: Object, photo: Photograph) -> None:
    assert "FRONT" in walk(phone, thing, view=f"photo:{uuid7()}")


def test_who_may_draw_is_shown_the_way(thing: Object, curator: Person, as_person: Any) -> None:
    no_drawing(thing)
    client = as_person(curator)
    client.post(reverse("checks:screen", args=[thing.pk]), {f"{n}": "no" for n in range(1, 11)})
    assert reverse("objects:drawn", args=[thing.pk]) in walk(client, thing)
