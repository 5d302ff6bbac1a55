"""Photographs: kept byte for byte, shown without position data, hostile files refused in plain words."""

import io
import zipfile
from collections.abc import Callable

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image, ImageFile

from collection.objects.actions.photographs import add_photograph, derivative_path, make_smaller
from collection.objects.models import Photograph
from collection.objects.photos import Upload, look_at
from museum.errors import Invalid
from museum.ids import uuid7
from museum.papers import files
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock

pytestmark = pytest.mark.django_db


def jpeg(size: tuple[int, int] = (640, 480), *, turned: bool = False, position: bool = False) -> bytes:
    image = Image.new("RGB", size, "#8e2c1a")
    notes = Image.Exif()
    if turned:
        notes[0x0112] = 6
    if position:
        notes.get_ifd(0x8825)[1] = "N"
    out = io.BytesIO()
    image.save(out, "JPEG", exif=notes)
    return out.getvalue()


def sent(data: bytes) -> Upload:
    return Upload.of(io.BytesIO(data), "front.jpg")


def test_the_original_is_kept_byte_for_byte_and_the_smaller_ones_carry_no_position(volunteer: Person) -> None:
    thing, data = stock.helmet(), jpeg(turned=True, position=True)
    kept = add_photograph(Actor.of(volunteer), uuid7(), sent(data), shows=[("object", thing.pk)], view="V01")
    assert files.open_file(kept.file).read() == data
    assert (kept.width, kept.height) == (480, 640)
    make_smaller(PROGRAM, kept.pk)
    with Image.open(derivative_path(kept.derivatives.get(width=480))) as smaller:
        assert not dict(smaller.getexif())
        assert smaller.height > smaller.width
    thing.card.refresh_from_db()
    assert thing.card.photographs == 1


def test_the_same_file_for_the_same_thing_is_kept_once(volunteer: Person) -> None:
    thing, data = stock.helmet(), jpeg()
    for _ in range(2):
        add_photograph(Actor.of(volunteer), uuid7(), sent(data), shows=[("object", thing.pk)])
    assert Photograph.objects.count() == 1


def archive() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr("a.txt", "hidden")
    return out.getvalue()


HOSTILE = {
    "empty": b"",
    "words": b"not a picture",
    "svg": b"<svg xmlns='http://www.w3.org/2000/svg'/>",
    "cut off": jpeg()[:900],
    "a page behind it": jpeg() + b"<script>alert(1)</script>",
    "an archive behind it": jpeg() + archive(),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_what_is_no_photograph_is_refused(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also where another library told Pillow to bear with pictures that break off."""
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)
    with pytest.raises(Invalid):
        look_at(sent(HOSTILE[name]))


def test_a_picture_that_would_fill_the_memory_is_refused() -> None:
    out = io.BytesIO()
    Image.new("1", (9000, 9000)).save(out, "PNG")
    with pytest.raises(Invalid):
        look_at(sent(out.getvalue()))


def test_it_is_shown_to_who_may_see_the_thing_only(volunteer: Person, reader: Person, as_person: Callable[[Person], Client]) -> None:
    thing = stock.helmet()
    as_person(volunteer).post(f"/things/{thing.pk}/photographs/", {"photo": SimpleUploadedFile("a.jpg", jpeg()), "view": "V01"})
    kept = Photograph.objects.get()
    make_smaller(PROGRAM, kept.pk)
    address = f"/photos/{kept.pk}/480.jpg"
    assert as_person(volunteer).get(address)["Content-Type"] == "image/jpeg"
    assert as_person(reader).get(address).status_code == 404
