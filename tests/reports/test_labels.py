"""Labels: the number by eye, the code by machine at 10 mm and 203 dots an inch, the caution always, the sheet begun where it is left."""

import re
from collections.abc import Callable
from io import BytesIO
from typing import Any

import pypdfium2
import pytest
import zxingcpp
from django.contrib.staticfiles import finders
from django.test import Client
from fontTools.ttLib import TTFont
from PIL import Image
from pypdf import PdfReader

from collection.objects.actions.hazards import report_hazard
from collection.objects.actions.parts import add_component
from collection.objects.models import Object
from locations.places.actions import make_place, move_box, move_object
from locations.places.models import Place
from museum.errors import Forbidden, Invalid, NotFound
from museum.ids import uuid7
from museum.jobs.kinds import KINDS
from museum.jobs.models import Job
from museum.jobs.progress import result_path
from museum.jobs.running import run
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from reports.labels.asking import ask_for_labels
from reports.labels.codes import LEAST_DOTS, SMALLEST_MM, code_of, content_for, dots_a_cell
from reports.labels.content import Wanted, labels_for
from reports.labels.setting import set_labels
from reports.labels.stock import LEAST_NUMBER, MM_OF_POINT, NUMBER_WIDTH, STOCKS, Words, cells, lines_of
from reports.labels.views import STOCK_WORDS
from reports.tasks import print_labels
from tests import stock

Browser = Callable[[Person], Client]
DPI = 203


@pytest.fixture
def thing(society: Any) -> Object:
    return stock.helmet()


@pytest.fixture
def box(society: Any) -> Place:
    """A box on a shelf, with two helmets, one of them with an asbestos pad."""
    _hall, _store, board = stock.shelf()
    made = make_place(PROGRAM, place_id=uuid7(), level="box", code="B-07", name="Box of liners", mobile=True)
    move_box(PROGRAM, made.pk, place_id=board.pk)
    for number, danger in (("1974.30.1", ""), ("1974.30.2", "ASBESTOS")):
        inside = stock.helmet(number)
        move_object(PROGRAM, inside.pk, place_id=made.pk)
        if danger:
            report_hazard(PROGRAM, inside.pk, code=danger, level=3)
    return made


def pages(pdf: bytes) -> list[Image.Image]:
    """Each page as a label printer prints it: 203 dots an inch, black or white."""
    document = pypdfium2.PdfDocument(pdf)
    grey = [page.render(scale=DPI / 72, grayscale=True).to_pil() for page in document]
    return [page.point(lambda value: 255 if value > 127 else 0) for page in grey]


def read(page: Image.Image) -> list[str]:
    return [found.text for found in zxingcpp.read_barcodes(page, formats=zxingcpp.BarcodeFormat.QRCode)]


def words(pdf: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(pdf)).pages]


def all_of(actor: Actor, wanted: Wanted, code: str, start: int = 1) -> bytes:
    return set_labels(STOCKS[code], labels_for(actor, wanted), start)


# the code


@pytest.mark.parametrize("site", ["http://localhost:8000", "https://museum.example.org", "https://10.0.0.12:8443"])
def test_a_code_leads_to_the_thing_with_three_dots_a_cell(site: str) -> None:
    """goals.md: read at 10 mm and 203 dpi. ISO/IEC 18004: version n has 17 + 4n cells."""
    content = content_for(site, "N", "1974.12.3")
    assert content == f"{site}/N/1974.12.3".upper()
    assert dots_a_cell(content) >= LEAST_DOTS
    assert code_of(content).symbol_size(border=0) == (25, 25)


@pytest.mark.parametrize("site", ["https://objects.a-rather-long-name-of-a-society.example.org", "https://example.org/museum", ""])
def test_where_the_address_does_not_fit_the_number_stands_alone(site: str) -> None:
    content = content_for(site, "N", "1974.12.3")
    assert content == "1974.12.3"
    assert dots_a_cell(content) >= LEAST_DOTS


@pytest.mark.parametrize(
    ("code", "wide"), [("roll12", 10.0), ("5x13", 10.0), ("roll29", 16.0), ("roll62", 18.0), ("3x8", 15.0), ("2x4", 26.0), ("plain", 22.0)]
)
def test_codes_are_read_from_the_print(thing: Object, code: str, wide: float) -> None:
    assert STOCKS[code].qr == wide >= SMALLEST_MM
    (page,) = pages(all_of(PROGRAM, Wanted([thing.pk]), code))
    assert read(page) == ["HTTP://LOCALHOST:8000/N/1974.12.3"]


def test_a_sheet_of_the_smallest_labels_is_read_whole(society: Any) -> None:
    things = [stock.helmet(f"1974.{lot}.{n}") for lot in range(1, 14) for n in range(1, 6)]
    (page,) = pages(all_of(PROGRAM, Wanted([thing.pk for thing in things]), "5x13"))
    assert {f"HTTP://LOCALHOST:8000/N/1974.{lot}.{n}" for lot in range(1, 14) for n in range(1, 6)} <= set(read(page))


# the words


LONG = "TRHS/Loan 1987-88/12.3 (b)"


@pytest.mark.parametrize("code", STOCKS)
@pytest.mark.parametrize("number", ["7", "1974.12.3", "1974.112.1003a", LONG])
def test_the_number_is_whole_and_large_on_every_label(code: str, number: str) -> None:
    label = STOCKS[code]
    lines = [
        line
        for line in lines_of(label, Words(number, "civil-defence helmet", "CAUTION: lead paint. Local rules first.", "CAUTION: 1 danger."))
        if line.kind == "number"
    ]
    assert "".join(line.text for line in lines) == number
    assert all(line.size >= LEAST_NUMBER for line in lines)
    assert all(len(line.text) * line.size * NUMBER_WIDTH * MM_OF_POINT <= label.room[0] + 0.1 for line in lines)
    if number != LONG:
        assert sum(line.size for line in lines) * MM_OF_POINT <= label.room[1] + 0.1


@pytest.mark.parametrize("code", STOCKS)
def test_the_caution_stands_on_every_label(thing: Object, code: str) -> None:
    for danger in ("LEAD_PAINT", "PESTICIDE", "MOULD", "CELLULOSE_NITRATE"):
        report_hazard(PROGRAM, thing.pk, code=danger, level=1)
    (page,) = words(all_of(PROGRAM, Wanted([thing.pk]), code))
    assert "1974.12.3" in page
    assert "CAUTION:" in page
    if code in ("2x4", "2x7", "plain", "roll62"):
        assert "arsenic, mercury or DDT residues" in page
        assert "local rules" in page


def test_what_is_printed_stays_on_its_label(thing: Object) -> None:
    """Nothing is printed nearer to the edge of a label than half its margin, whatever has to stand on it."""
    for danger in ("LEAD_PAINT", "PESTICIDE", "MOULD", "CELLULOSE_NITRATE"):
        report_hazard(PROGRAM, thing.pk, code=danger, level=1)
    for code, label in STOCKS.items():
        if not label.is_roll or code == "roll9":
            continue
        (page,) = pages(all_of(PROGRAM, Wanted([thing.pk]), code))
        edge = max(1, round(label.pad / 2 / 25.4 * DPI))
        inner = page.crop((edge, edge, page.width - edge, page.height - edge))
        outer = page.copy()
        outer.paste(255, (edge, edge, edge + inner.width, edge + inner.height))
        assert outer.getextrema() == (255, 255), code


def test_the_face_of_numbers_is_as_wide_as_is_reckoned() -> None:
    face = TTFont(finders.find("web/fonts/print-mono-700.woff2"))
    assert face["hmtx"]["one"][0] / face["head"].unitsPerEm <= NUMBER_WIDTH


def test_a_box_says_what_is_dangerous_in_it_and_where_it_stands(box: Place, curator: Person) -> None:
    by = Actor.of(curator)
    (page,) = words(all_of(by, Wanted(places=[box.pk]), "2x4"))
    assert "B-07" in page
    assert "Box of liners" in page
    assert "HELD, do not open or work on it: asbestos" in page
    assert "Shelf 1, Cold store, Hose hall" in page
    (image,) = pages(all_of(by, Wanted(places=[box.pk]), "2x4"))
    assert read(image) == ["HTTP://LOCALHOST:8000/P/B-07"]


def test_with_all_that_is_in_it(box: Place, curator: Person) -> None:
    numbers = [label.words.number for label in labels_for(Actor.of(curator), Wanted(places=[box.pk], inside=True))]
    assert numbers == ["B-07", "1974.30.1", "1974.30.2"]


def test_parts_with_numbers_of_their_own(thing: Object) -> None:
    add_component(PROGRAM, thing.pk, sort="loose", name="liner shell", lettered=True)
    labels = labels_for(PROGRAM, Wanted([thing.pk], parts=True))
    assert len(labels) == 2
    assert "liner shell" in labels[1].words.name
    assert labels[1].words.number.startswith("1974.12.3")


# where they lie


def test_a_sheet_is_begun_where_it_was_left() -> None:
    label = STOCKS["3x8"]
    assert cells(label, 24, 3) == [(0, 140.0, 0.5 + 7 * 37), (1, 0.0, 0.5), (1, 70.0, 0.5)]
    assert [page for page, _left, _top in cells(STOCKS["roll62"], 1, 3)] == [0, 1, 2]


def test_used_labels_stay_empty(society: Any) -> None:
    things = [stock.helmet(f"1974.1.{n}") for n in range(1, 4)]
    first, second = pages(all_of(PROGRAM, Wanted([thing.pk for thing in things]), "3x8", start=23))
    used = first.crop((0, 0, first.width, round(first.height * 7 / 8)))
    assert used.getextrema() == (255, 255)
    assert (len(read(first)), len(read(second))) == (2, 1)


@pytest.mark.parametrize("label", STOCKS.values(), ids=STOCKS)
def test_the_table_of_sheets_lies_on_its_paper(label: Any) -> None:
    wide, high = label.page
    assert label.left + label.columns * label.width + (label.columns - 1) * label.gap_x <= wide + 0.1
    assert label.top + label.rows * label.height + (label.rows - 1) * label.gap_y <= high + 0.1
    assert label.room[0] > 10
    assert label.code in STOCK_WORDS


# who, and by which door


def test_a_volunteer_labels_things_but_not_places(thing: Object, box: Place, volunteer: Person, reader: Person) -> None:
    assert labels_for(Actor.of(volunteer), Wanted([thing.pk]))
    with pytest.raises(Forbidden):
        labels_for(Actor.of(volunteer), Wanted(places=[box.pk]))
    with pytest.raises(Forbidden):
        ask_for_labels(Actor.of(reader), "plain", things=[thing.pk])
    with pytest.raises(NotFound):
        labels_for(Actor.of(volunteer), Wanted([uuid7()]))


@pytest.mark.parametrize("asked", [{"stock": "4x9"}, {"stock": "3x8", "start": 25}, {"stock": "3x8", "start": 0}, {"stock": "roll62", "start": 2}])
def test_what_cannot_be_printed_is_refused_at_once(thing: Object, volunteer: Person, asked: dict[str, Any]) -> None:
    with pytest.raises(Invalid):
        ask_for_labels(Actor.of(volunteer), asked.pop("stock"), things=[thing.pk], **asked)
    assert not Job.objects.filter(kind="print_labels").exists()


def test_from_the_list_to_the_print(as_person: Browser, volunteer: Person, thing: Object) -> None:
    client = as_person(volunteer)
    assert f'name="thing" value="{thing.pk}" form="labels"' in client.get("/things/").content.decode()
    page = client.get("/labels/", {"thing": thing.pk}).content.decode()
    assert "1974.12.3" in page
    wrong = client.post("/labels/", {"thing": thing.pk, "stock": "3x8", "start": "99"})
    assert wrong.status_code == 400
    assert "labels 1 to 24" in wrong.content.decode()
    answer = client.post("/labels/", {"thing": thing.pk, "stock": "3x8", "start": "2"})
    job = Job.objects.get(kind="print_labels")
    assert answer["Location"] == f"/jobs/{job.pk}/"
    assert KINDS["print_labels"].work is print_labels
    run(job.pk)
    job.refresh_from_db()
    assert job.state == Job.State.DONE, job.error
    assert "1974.12.3" in words(result_path(job.pk).read_bytes())[0]


def test_the_ways_to_labels(as_person: Browser, curator: Person, box: Place) -> None:
    client, thing = as_person(curator), Object.objects.first()
    assert thing is not None
    assert f"/labels/?thing={thing.pk}" in client.get(f"/things/{thing.pk}/").content.decode()
    assert re.search(rf"/labels/\?place={box.pk}&amp;inside=on", client.get(f"/places/{box.pk}/").content.decode())
    assert "Nothing is chosen" in client.get("/labels/").content.decode()


def test_programs_ask_too(as_person: Browser, curator: Person, box: Place) -> None:
    body = {"id": str(uuid7()), "stock": "2x4", "places": [str(box.pk)], "inside": True}
    first, again = (as_person(curator).post("/api/labels", body, content_type="application/json") for _twice in range(2))
    assert (first.status_code, again.status_code) == (202, 202)
    assert Job.objects.filter(kind="print_labels").count() == 1


def test_what_a_phone_reads_leads_there(as_person: Browser, curator: Person, box: Place, volunteer: Person) -> None:
    client = as_person(curator)
    thing = Object.objects.get(card__number="1974.30.1")
    assert client.get("/N/1974.30.1")["Location"] == f"/things/{thing.pk}/"
    assert client.get("/P/B-07")["Location"] == f"/places/{box.pk}/"
    assert client.get("/P/GONE")["Location"] == "/places/"
    assert client.get("/N/1999.1.1", follow=True).status_code == 200
    assert as_person(volunteer).get("/P/B-07").status_code == 403
