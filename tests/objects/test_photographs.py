"""Photographs: kept byte for byte, shown upright and without position to those who may see the thing."""

import hashlib
import io
from collections.abc import Callable
from datetime import date
from uuid import UUID

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from collection.objects import derived
from collection.objects.actions.photographs import MAKE_SMALLER, Subject, add_photograph, correct_photograph, derivative_path, make_smaller, withdraw_photograph
from collection.objects.models import Derivative, Object, Photograph, Shows
from collection.objects.photos import WIDTHS
from collection.objects.queries import photographs_of
from collection.objects.tasks import smaller_pictures
from museum.errors import Forbidden, Invalid, NotFound, SameKeyOtherContent
from museum.history.models import About, Change
from museum.ids import uuid7
from museum.jobs import running
from museum.jobs.models import Job
from museum.papers import files
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock
from tests.objects.pictures import TAKEN, made, picture, png_that_says, sent

pytestmark = pytest.mark.django_db


def add(by: Actor, thing: Object, data: bytes, *more: Subject, key: UUID | None = None, view: str = "V01") -> Photograph:
    key = key or uuid7()
    return add_photograph(by.keyed(key), key, sent(data), shows=[("object", thing.pk), *more], view=view)


def test_the_original_is_kept_byte_for_byte_under_its_hash(volunteer: Person) -> None:
    thing, data = stock.helmet(), made(orientation=6, position=True)
    kept = add(Actor.of(volunteer), thing, data)
    with files.open_file(kept.file) as original:
        assert original.read() == data
    assert kept.file.sha256 == hashlib.sha256(data).hexdigest()
    assert (kept.file.media_type, kept.taken_by) == ("image/jpeg", volunteer)
    thing.card.refresh_from_db()
    assert (thing.card.photograph, thing.card.photographs) == (kept.pk, 1)


def test_the_smaller_ones_are_upright_and_carry_nothing_of_the_camera(volunteer: Person) -> None:
    data = made(image=picture((2400, 1800)), orientation=6, position=True, taken=TAKEN)
    kept = add(Actor.of(volunteer), stock.helmet(), data)
    assert (kept.width, kept.height) == (1800, 2400)
    assert make_smaller(PROGRAM, kept.pk) == 2
    for row in kept.derivatives.all():
        path = derivative_path(row)
        with Image.open(path) as smaller:
            assert smaller.size == (row.width, row.width * 4 // 3)
            assert not dict(smaller.getexif())
            # turned by a quarter to the right, the left side is on top
            red = [smaller.getpixel((row.width // 2, y))[0] for y in (10, smaller.height - 10)]  # type: ignore[index]
            assert red[0] < 180 < red[1]
        assert b"Exif" not in path.read_bytes()
        assert TAKEN.encode() not in path.read_bytes()


def test_nothing_is_made_larger_than_it_came(volunteer: Person) -> None:
    kept = add(Actor.of(volunteer), stock.helmet(), made(image=picture((300, 200))))
    make_smaller(PROGRAM, kept.pk)
    for row in kept.derivatives.all():
        with Image.open(derivative_path(row)) as smaller:
            assert smaller.size == (300, 200)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_way_a_phone_can_be_held(orientation: int, volunteer: Person) -> None:
    kept = add(Actor.of(volunteer), stock.helmet(), made(image=picture((640, 480)), orientation=orientation))
    assert (kept.width, kept.height) == ((480, 640) if orientation > 4 else (640, 480))
    make_smaller(PROGRAM, kept.pk)
    with Image.open(derivative_path(kept.derivatives.get(width=1600))) as smaller:
        assert smaller.size == (kept.width, kept.height)


@pytest.mark.parametrize(
    ("form", "mode"),
    [("PNG", "RGBA"), ("PNG", "P"), ("PNG", "L"), ("PNG", "1"), ("PNG", "I;16"), ("JPEG", "L"), ("JPEG", "CMYK"), ("WEBP", "RGB"), ("WEBP", "RGBA")],
)
def test_all_that_a_camera_or_a_scanner_makes(form: str, mode: str, volunteer: Person) -> None:
    image = Image.new("I;16", (640, 480), 40_000) if mode == "I;16" else picture(mode=mode)
    kept = add(Actor.of(volunteer), stock.helmet(), made(form, image))
    make_smaller(PROGRAM, kept.pk)
    with Image.open(derivative_path(kept.derivatives.get(width=480))) as smaller:
        assert (smaller.format, smaller.mode, smaller.size) == ("JPEG", "RGB", (480, 360))
        left = smaller.getpixel((100, 100))
    if mode == "I;16":
        assert left == (156, 156, 156)
    elif mode not in ("L", "1"):
        assert left[0] > left[1] + 60  # type: ignore[index]


def test_what_is_clear_stands_on_white(volunteer: Person) -> None:
    kept = add(Actor.of(volunteer), stock.helmet(), made("PNG", Image.new("RGBA", (50, 50), (0, 0, 0, 0))))
    make_smaller(PROGRAM, kept.pk)
    with Image.open(derivative_path(kept.derivatives.get(width=480))) as smaller:
        assert smaller.getpixel((25, 25)) == (255, 255, 255)


def test_smaller_ones_are_made_by_a_job_and_again_after_they_were_lost(volunteer: Person, django_capture_on_commit_callbacks: Callable[..., object]) -> None:
    kept = add(Actor.of(volunteer), stock.helmet(), made())
    job = Job.objects.get(kind=MAKE_SMALLER)
    assert smaller_pictures.__name__ == "smaller_pictures"
    running.run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.error) == ("done", "")
    paths = [derivative_path(row) for row in kept.derivatives.all()]
    before = [path.read_bytes() for path in paths]
    assert make_smaller(PROGRAM, kept.pk) == 0
    for path in paths:
        path.unlink()
    derived.rebuild()
    assert [path.read_bytes() for path in paths] == before
    assert Derivative.objects.count() == len(WIDTHS)


def test_the_same_file_for_the_same_thing_adds_nothing(volunteer: Person, curator: Person) -> None:
    thing, data, finding = stock.helmet(), made(), uuid7()
    first = add(Actor.of(volunteer), thing, data)
    entries = Change.objects.count()
    assert add(Actor.of(curator), thing, data) == first
    assert Change.objects.count() == entries
    add(Actor.of(volunteer), thing, data, ("finding", finding))
    assert list(photographs_of("finding", finding)) == [first]
    assert Photograph.objects.count() == 1
    assert Shows.objects.count() == 2


def test_one_file_may_show_two_things(volunteer: Person) -> None:
    one, other, data = stock.helmet(), stock.helmet("1974.12.4"), made()
    first, second = add(Actor.of(volunteer), one, data), add(Actor.of(volunteer), other, data)
    assert first != second
    assert first.file == second.file


def test_sent_twice_under_one_key_it_is_kept_once_and_other_content_is_shown(volunteer: Person) -> None:
    thing, key = stock.helmet(), uuid7()
    first = add(Actor.of(volunteer), thing, made(), key=key)
    assert add(Actor.of(volunteer), thing, made(), key=key) == first
    with pytest.raises(SameKeyOtherContent):
        add(Actor.of(volunteer), thing, made(image=picture((100, 100))), key=key)
    assert Photograph.objects.get() == first


def test_the_day_is_the_camera_s_unless_that_cannot_be(volunteer: Person) -> None:
    thing = stock.helmet()
    by = Actor.of(volunteer)
    assert add(by, thing, made(taken=TAKEN)).happened_on == date(2025, 3, 5)
    undated = add(by, thing, made())
    for wrong in ("2125:01:01 00:00:00", "0000:00:00 00:00:00", "yesterday", "1904:01:01 00:00:00"):
        kept = add(by, thing, made(taken=wrong, image=picture((len(wrong) * 10, 100))))
        assert (kept.happened_on, kept.happened_at) == (undated.happened_on, None)


def test_it_stands_in_the_time_line_of_what_it_shows(volunteer: Person) -> None:
    thing, finding = stock.helmet(), uuid7()
    add(Actor.of(volunteer), thing, made(), ("finding", finding))
    entry = Change.objects.get(what="photograph.added")
    assert set(About.objects.filter(change=entry).values_list("kind", "key")) == {("object", thing.pk), ("finding", finding)}


def test_said_better_it_shows_the_same_under_its_new_view(volunteer: Person, curator: Person) -> None:
    thing = stock.helmet()
    old = add(Actor.of(volunteer), thing, made(), view="V02")
    make_smaller(PROGRAM, old.pk)
    new = correct_photograph(Actor.of(curator), old.pk, view="V01", caption="crack above the peak")
    assert list(photographs_of("object", thing.pk)) == [new]
    assert (new.file, new.taken_by, new.derivatives.count()) == (old.file, volunteer, 2)
    thing.card.refresh_from_db()
    assert (thing.card.photograph, thing.card.photographs) == (new.pk, 1)
    with pytest.raises(NotFound):
        correct_photograph(Actor.of(curator), old.pk, view="V03", caption="")


def test_taken_back_it_is_shown_no_more_and_its_file_stays(volunteer: Person, curator: Person, as_person: Callable[[Person], Client]) -> None:
    thing = stock.helmet()
    kept = add(Actor.of(volunteer), thing, made())
    with pytest.raises(Invalid):
        withdraw_photograph(Actor.of(curator), kept.pk, reason=" ")
    withdraw_photograph(Actor.of(curator), kept.pk, reason="shows another helmet")
    assert not photographs_of("object", thing.pk).exists()
    thing.card.refresh_from_db()
    assert (thing.card.photograph, thing.card.photographs) == (None, 0)
    assert files.path_of(kept.file).exists()
    assert as_person(volunteer).get(f"/photos/{kept.pk}/480.jpg").status_code == 404
    assert add(Actor.of(volunteer), thing, made()) != kept


def test_a_volunteer_changes_their_own_photographs_only(volunteer: Person, curator: Person) -> None:
    thing = stock.helmet()
    own, other = add(Actor.of(volunteer), thing, made()), add(Actor.of(curator), thing, made(image=picture((90, 90))))
    assert correct_photograph(Actor.of(volunteer), own.pk, view="V05", caption="").view == "V05"
    with pytest.raises(Forbidden):
        withdraw_photograph(Actor.of(volunteer), other.pk, reason="not nice")


def test_what_it_shows_must_be_said_and_be_there(volunteer: Person, reader: Person) -> None:
    thing = stock.helmet()
    for shows in ([], [("party", uuid7())]):
        with pytest.raises(Invalid):
            add_photograph(Actor.of(volunteer), uuid7(), sent(made()), shows=shows)
    with pytest.raises(NotFound):
        add_photograph(Actor.of(volunteer), uuid7(), sent(made()), shows=[("object", uuid7())])
    with pytest.raises(Invalid):
        add(Actor.of(volunteer), thing, made(), view="V99")
    with pytest.raises(Forbidden):
        add(Actor.of(reader), thing, made())


def upload(client: Client, thing: Object, *pictures: tuple[str, bytes], **fields: str) -> str:
    """Sends them as a phone without scripts does; answers the page that follows."""
    answer = client.post(f"/things/{thing.pk}/photographs/", {"photo": [SimpleUploadedFile(name, data) for name, data in pictures], **fields}, follow=True)
    return str(answer.content.decode())


def test_several_come_from_a_phone_and_a_wrong_one_keeps_none_of_the_others_out(volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    thing = stock.helmet()
    page = upload(as_person(volunteer), thing, ("a.jpg", made()), ("b.pdf", b"%PDF-1.7 leaflet"), ("c.png", made("PNG")), view="V08")
    assert "2 photographs are kept." in page
    assert "b.pdf is not a JPEG, PNG or WebP picture" in page
    assert set(Photograph.objects.values_list("view", "file__name")) == {("V08", "a.jpg"), ("V08", "c.png")}
    assert f"/photos/{Photograph.objects.order_by('id')[0].pk}/480.jpg" in page
    assert "Choose a photograph first." in upload(as_person(volunteer), thing)


def test_who_may_see_the_thing_sees_its_pictures(volunteer: Person, reader: Person, administrator: Person, as_person: Callable[[Person], Client]) -> None:
    thing = stock.helmet()
    kept = add(Actor.of(volunteer), thing, made(position=True))
    address = f"/photos/{kept.pk}/480.jpg"
    waiting = as_person(volunteer).get(address)
    assert (waiting["Content-Type"], waiting["Cache-Control"]) == ("image/svg+xml", "no-store")
    make_smaller(PROGRAM, kept.pk)
    answer = as_person(volunteer).get(address, headers={"accept-encoding": "gzip"})
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["Cache-Control"] == "private, max-age=31536000, immutable"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Disposition"].startswith("inline; filename=")
    assert "Content-Encoding" not in answer
    with Image.open(io.BytesIO(b"".join(answer.streaming_content))) as shown:  # type: ignore[attr-defined]
        assert shown.size == (480, 360)
    for person in (reader, administrator):
        assert as_person(person).get(address).status_code in (403, 404)
    Object.objects.filter(pk=thing.pk).update(public=True)
    assert as_person(reader).get(address).status_code == 200
    assert as_person(volunteer).get(f"/photos/{kept.pk}/481.jpg").status_code == 404
    assert as_person(volunteer).get(f"/photos/{uuid7()}/480.jpg").status_code == 404
    assert Client().get(address).status_code == 302


def test_the_original_is_for_those_who_edit_and_always_saved(volunteer: Person, curator: Person, as_person: Callable[[Person], Client]) -> None:
    data = made("PNG", position=True)
    kept = add(Actor.of(volunteer), stock.helmet(), data)
    answer = as_person(curator).get(f"/photos/{kept.pk}/original/")
    assert b"".join(answer.streaming_content) == data  # type: ignore[attr-defined]
    assert answer["Content-Disposition"] == 'attachment; filename="front.png"'
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert as_person(volunteer).get(f"/photos/{kept.pk}/original/").status_code == 403


def test_one_photograph_has_a_page_that_says_it_better_or_takes_it_back(
    volunteer: Person, curator: Person, reader: Person, as_person: Callable[[Person], Client]
) -> None:
    thing = stock.helmet()
    kept = add(Actor.of(volunteer), thing, made())
    assert "Save the original" in as_person(curator).get(f"/photos/{kept.pk}/").content.decode()
    assert "Save the original" not in as_person(volunteer).get(f"/photos/{kept.pk}/").content.decode()
    assert as_person(reader).get(f"/photos/{kept.pk}/").status_code == 404
    as_person(volunteer).post(f"/photos/{kept.pk}/", {"view": "V07", "caption": "dent", "act": str(uuid7())})
    new = photographs_of("object", thing.pk).get()
    assert (new.view, new.caption) == ("V07", "dent")
    assert f"/photos/{new.pk}/" in as_person(volunteer).get(f"/photos/{kept.pk}/").content.decode()
    as_person(volunteer).post(f"/photos/{new.pk}/", {"do": "withdraw", "reason": "blurred"})
    assert not photographs_of("object", thing.pk).exists()


def api(client: Client, **fields: object) -> tuple[int, dict[str, str]]:
    answer = client.post("/api/photos/", {name: value for name, value in fields.items() if value is not None})
    return answer.status_code, answer.json()


def test_a_device_sends_it_as_often_as_it_must(volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    thing, finding, key, data = stock.helmet(), uuid7(), uuid7(), made()
    for _ in range(2):
        status, body = api(as_person(volunteer), id=key, object=thing.pk, finding=finding, view="V13", photo=SimpleUploadedFile("f.jpg", data))
        assert (status, body["id"], body["sha256"]) == (201, str(key), hashlib.sha256(data).hexdigest())
    assert photographs_of("finding", finding).get() == photographs_of("object", thing.pk).get()
    status, body = api(as_person(volunteer), id=key, object=thing.pk, photo=SimpleUploadedFile("f.jpg", made(image=picture((9, 9)))))
    assert (status, body["code"]) == (409, "same_key_other_content")


def test_a_picture_may_arrive_before_its_finding(volunteer: Person, reader: Person, as_person: Callable[[Person], Client]) -> None:
    status, body = api(as_person(volunteer), id=uuid7(), finding=uuid7(), photo=SimpleUploadedFile("f.jpg", made()))
    assert status == 201
    assert as_person(volunteer).get(body["address"]).status_code == 200
    assert as_person(reader).get(body["address"]).status_code == 404


def test_what_a_device_sends_wrongly_is_named(volunteer: Person, reader: Person, as_person: Callable[[Person], Client]) -> None:
    thing = stock.helmet().pk
    client = as_person(volunteer)
    assert api(client, id=uuid7(), object=thing)[1]["field"] == "photo"
    assert api(client, id="x", object=thing, photo=SimpleUploadedFile("f.jpg", made()))[1]["field"] == "id"
    assert api(client, id=uuid7(), object="x", photo=SimpleUploadedFile("f.jpg", made()))[1]["field"] == "object"
    status, body = api(client, id=uuid7(), object=thing, photo=SimpleUploadedFile("f.png", png_that_says(30_000, 30_000)))
    assert (status, body["code"], body["field"]) == (400, "picture_too_large", "photo")
    assert api(as_person(reader), id=uuid7(), object=thing, photo=SimpleUploadedFile("f.jpg", made()))[0] == 403
    assert not Photograph.objects.exists()
