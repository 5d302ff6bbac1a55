"""The condition report numbers findings on a thing's own photographs."""

from dataclasses import replace
from io import BytesIO
from typing import Any

import pytest
from PIL import Image
from pypdf import PdfReader

from collection.objects.actions.drawing import draw_zone
from collection.objects.actions.objects import change_object
from collection.objects.actions.photographs import add_photograph, correct_photograph, derivative_path, make_smaller
from collection.objects.models import Object, Photograph
from conservation.checks.actions.record import record_check
from museum.ids import uuid7
from museum.papers.files import open_file
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from reports.actions import gather
from reports.issuing import issue
from tests import stock
from tests.objects.pictures import made, picture, sent

SQUARE = [[0.1, 0.2], [0.5, 0.2], [0.5, 0.6], [0.1, 0.6]]


@pytest.fixture
def thing(society: Any) -> Object:
    return stock.helmet()


@pytest.fixture
def photo(thing: Object) -> Photograph:
    """A side view, higher than wide, with rim and decal drawn on it."""
    taken = add_photograph(PROGRAM, uuid7(), sent(made(image=picture((600, 900)))), shows=[("object", thing.pk)], view="V04")
    for code, shift in (("RB", 0.0), ("DC", 0.4)):
        draw_zone(PROGRAM, thing.components.get(sort="main").pk, zone=code, photograph=taken.pk, shape=[[x + shift, y] for x, y in SQUARE])
    return taken


def checked(thing: Object, by: Person, *seen: Any) -> None:
    entry = stock.full_check(thing, *seen)
    record_check(Actor.of(by).keyed(entry.id), entry)


def pointed(thing: Object, photo: Photograph) -> Any:
    return replace(stock.seen(thing, "RB", "RUST_SPOT", "2"), view=f"photo:{photo.pk}", x=100.0, y=120.0)


def drawings(thing: Object, by: Person) -> Any:
    return gather(Actor.of(by), "condition_report", thing.pk).data["drawings"]


def test_a_finding_stands_where_it_was_pointed_at_the_others_on_the_outlines(thing: Object, photo: Photograph, curator: Person) -> None:
    checked(thing, curator, pointed(thing, photo), stock.seen(thing, "DC", "DECAL_LIFT", "5", material="decal"))
    found = drawings(thing, curator)
    (shown,) = found["photographs"]
    assert [(mark["x"], mark["y"]) for mark in shown["marks"]] == [(100.0, 120.0)]
    assert shown["sha256"] == photo.file.sha256
    numbers = [mark["n"] for view in found["views"] for mark in view["marks"]] + [mark["n"] for mark in shown["marks"]]
    assert sorted(numbers) == [1, 2], "each finding in one view"


def test_where_no_drawing_fits_all_stand_on_photographs(thing: Object, photo: Photograph, curator: Person) -> None:
    change_object(PROGRAM, thing.pk, version=thing.version, kind=thing.kind.code, outline_set="photograph")
    checked(thing, curator, pointed(thing, photo), stock.seen(thing, "DC", "DECAL_LIFT", "5", material="decal"))
    correct_photograph(PROGRAM, photo.pk, view="V03", caption="")
    found = drawings(thing, curator)
    assert found["views"] == []
    assert [(mark["n"], mark["x"]) for mark in found["photographs"][0]["marks"]] == [(1, 100.0), (2, None)]


@pytest.mark.parametrize("made_already", [True, False])
def test_the_paper_holds_the_stored_smaller_picture_and_its_numbers(thing: Object, photo: Photograph, curator: Person, made_already: bool) -> None:
    change_object(PROGRAM, thing.pk, version=thing.version, kind=thing.kind.code, outline_set="photograph")
    checked(thing, curator, pointed(thing, photo), stock.seen(thing, "DC", "DECAL_LIFT", "5", material="decal"))
    if made_already:
        make_smaller(PROGRAM, photo.pk)
        assert derivative_path(photo.derivatives.get(width=1600)).exists()
    paper = issue(Actor.of(curator), "condition_report", thing.pk)
    with open_file(paper.file) as opened:
        reader = PdfReader(BytesIO(opened.read()))
    pictures = [image.image for page in reader.pages for image in page.images]
    upright = [one for one in pictures if one is not None and (one.width, one.height) == (600, 900)]
    assert upright, "the photograph itself is in the file"
    assert _reddish(upright[0])
    assert "Where they are" in " ".join(page.extract_text() for page in reader.pages)


def _reddish(image: Image.Image) -> bool:
    """Its left half is dark red, as it was taken."""
    red, green, _blue = image.convert("RGB").getpixel((20, 20))  # type: ignore[misc]
    return bool(red > 100 > green)
