"""The documents as files: what a reader, a machine and an archive find in them."""

import hashlib
import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from django.utils import formats
from PIL import Image
from pypdf import PdfReader

from collection.objects.actions.hazards import report_hazard
from collection.objects.actions.objects import withdraw_object
from collection.objects.actions.statements import say
from collection.objects.models import Component, Object, Photograph, Shows
from conservation.checks.actions.record import record_check
from conservation.checks.actions.rounds import make_round
from conservation.checks.models import ConditionCheck
from locations.places.actions import move_object
from museum import clock
from museum.errors import NotFound
from museum.papers.files import open_file, path_of, store
from museum.papers.models import IssuedPaper
from museum.people.action import Act, action
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person, Society
from museum.web.templatetags.look import GRADES, URGENCIES
from reports.actions import gather
from reports.documents.condition import NotChecked
from reports.issuing import issue
from reports.pictures import for_paper
from reports.render import Envelope, House, PictureMissing, render
from reports.reprint import reprinted
from reports.templatetags.paper import between
from tests import stock


@action("tests.photograph", may="photo.add")
def photograph(act: Act, view: str, about: str, subject: Any, colour: str) -> Photograph:
    """A drawn picture, told to show something."""
    out = BytesIO()
    Image.new("RGB", (1600, 1200), colour).save(out, "JPEG")
    file = store(act, out.getvalue(), name=f"{view}.jpg", media_type="image/jpeg")
    made = Photograph.objects.create(act_id=act.id, file=file, view=view, taken_by_id=act.actor.person, width=1600, height=1200)
    Shows.objects.create(act_id=act.id, photograph=made.pk, kind=about, subject=subject)
    return made


@pytest.fixture
def checked(volunteer: Person) -> ConditionCheck:
    """A civil-defence helmet checked by Marit: three findings, two pictures of it and one of a finding."""
    thing = stock.helmet()
    rust = stock.seen(thing, "RB", "RUST_SPOT", "2")
    entry = stock.full_check(
        thing, rust, stock.seen(thing, "DC", "DECAL_LIFT", "5", severity=3, material="decal"),
        stock.seen(thing, "HB", "LEA_DRY", "100", activity=0, material="leather"), limits="liner not lifted",
    )  # fmt: skip
    check = record_check(Actor.of(volunteer).keyed(entry.id), entry)
    photograph(Actor.of(volunteer), "V01", "check", check.pk, "darkred")
    photograph(Actor.of(volunteer), "V04", "object", thing.pk, "darkgreen")
    photograph(Actor.of(volunteer), "V13", "finding", rust.finding, "peru")
    return check


def read(paper: IssuedPaper) -> PdfReader:
    with open_file(paper.file) as opened:
        return PdfReader(BytesIO(opened.read()))


def words(paper: IssuedPaper) -> str:
    return " ".join(page.extract_text() for page in read(paper).pages)


def text(paper: IssuedPaper) -> str:
    """The words without the line ends of the setting."""
    return " ".join(words(paper).split())


def say_of(thing: Object, **said: Any) -> None:
    main = Component.objects.get(object=thing, sort="main")
    for code, value in said.items():
        say(PROGRAM, main.pk, code, value)


def test_a_condition_report_holds_what_the_standard_expects(checked: ConditionCheck, curator: Person) -> None:
    """EN 16095:2012, the expected contents as listed in public summaries of the standard."""
    say_of(
        checked.object,
        dimensions="height 114 mm",
        description="Bowl of pressed steel.",
        earlier_treatment="waxed in 1988",
    )
    report_hazard(PROGRAM, checked.object_id, code="LEAD_PAINT", level=2)
    paper = issue(Actor.of(curator), "condition_report", checked.pk, issued_to="the board")
    said = text(paper)
    expected = {
        "identification": ["1974.12.3", "Civil-defence helmet"], "owner": ["Tallowick Rescue Heritage Society"],
        "date": [formats.date_format(checked.happened_on, "j F Y")], "examiner": ["Marit"], "reason": ["Routine"],
        "method and limits": ["by eye, zone by zone", "liner not lifted"],
        "description": ["Bowl of pressed steel.", "height 114 mm", "steel, paint, leather"],
        "condition with place": ["RB rim bead", "rust spotting, on steel", "2 %", "S2 A1", "HB headband", "100 %"],
        "earlier treatments": ["waxed in 1988"], "cause": ["Coating damage plus RH above about 55 %"],
        "rust": ["RB rim bead 2 %", "Ri 3 (from 2 %)", "Ri 3 (from 2 %) 5"],
        "risk": [f"{GRADES[2]}".capitalize(), str(URGENCIES[1])], "recommendations": ["Look again", "full check"],
        "hazards": ["Likely: Lead paint", "Your local safety rules and a qualified person’s advice come first"],
        "images": ["V01", "V04", "1-1"], "signature": ["Examiner", "Second person", "name, role, date"],
    }  # fmt: skip
    missing = {part: [word for word in needed if word not in said] for part, needed in expected.items()}
    assert not any(missing.values()), missing


def test_each_page_carries_number_page_and_society(checked: ConditionCheck, curator: Person) -> None:
    paper = issue(Actor.of(curator), "condition_report", checked.pk)
    pages = read(paper).pages
    assert len(pages) >= 3
    for n, page in enumerate(pages, start=1):
        said = " ".join(page.extract_text().split())
        for word in ("1974.12.3", paper.number, f"page {n} of {len(pages)}", "Tallowick Rescue Heritage Society"):
            assert word in said, (n, word)


def test_it_is_tagged_archival_pdf_with_its_fonts_in_it(checked: ConditionCheck, curator: Person) -> None:
    """Structure only: ISO 19005-3 conformance is declared; no validator is at hand."""
    pdf = read(issue(Actor.of(curator), "condition_report", checked.pk))
    root = pdf.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] is not None
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    metadata = root["/Metadata"].get_data().decode()
    assert "<pdfaid:part>3</pdfaid:part>" in metadata.replace(" ", "") or 'pdfaid:part="3"' in metadata
    assert "<pdfaid:conformance>A</pdfaid:conformance>" in metadata.replace(" ", "") or 'pdfaid:conformance="A"' in metadata
    intent = root["/OutputIntents"][0].get_object()
    assert intent["/DestOutputProfile"].get_object().get_data()
    tags = list(structure(root["/StructTreeRoot"]))
    assert {"/H1", "/H2", "/Table", "/TH", "/TD", "/Figure", "/P"} <= {tag for tag, _alt in tags}
    assert all(alt for tag, alt in tags if tag == "/Figure"), "a drawing or picture says nothing to those who listen"
    for page in pdf.pages:
        for font in page["/Resources"].get("/Font", {}).values():
            below = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
            assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(below), font
            assert "Hyperlegible" in below["/FontName"]


def structure(node: Any) -> Iterator[tuple[str, str | None]]:
    """Every element of the structure tree with its spoken words."""
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, list):
        for one in node:
            yield from structure(one)
    elif isinstance(node, dict):
        if "/S" in node:
            yield str(node["/S"]), node.get("/Alt")
        if "/K" in node:
            yield from structure(node["/K"])


def test_the_attached_data_have_the_hash_that_is_printed(checked: ConditionCheck, curator: Person) -> None:
    paper = issue(Actor.of(curator), "condition_report", checked.pk)
    ((name, (content,)),) = read(paper).attachments.items()
    assert name == f"{paper.number}.json"
    assert hashlib.sha256(content).hexdigest() == paper.data_hash
    assert json.loads(content) == paper.data
    assert paper.data_hash in "".join(words(paper).split())


def test_the_same_data_give_the_same_bytes(checked: ConditionCheck, curator: Person) -> None:
    gathered = gather(Actor.of(curator), "condition_report", checked.pk)
    assert render("reports/condition_report.html", gathered.data, envelope(gathered.hash)) == render(
        "reports/condition_report.html", json.loads(json.dumps(gathered.data)), envelope(gathered.hash)
    )


def envelope(code: str = "0" * 64) -> Envelope:
    return Envelope(
        number="P2026.1", data_hash=code, title="A test", version="1",
        issued_at=datetime(2026, 11, 25, 9, 12, tzinfo=UTC), issued_by="Ivo", issued_to="", supersedes="",
        address="http://localhost:8000/p/P2026.1", society=Society.load(),
    )  # fmt: skip


def test_what_somebody_typed_stays_text(checked: ConditionCheck, curator: Person) -> None:
    """Markup, addresses and signs of other alphabets are set as they were typed; nothing of them is fetched or run."""
    typed = '<img src="http://127.0.0.1:9/x.png"><style>*{display:none}</style>&amp; Łódź 100% {{ data }} %(x)s'
    say_of(checked.object, description=typed, marks={"text": "<b>F 17</b>", "place": "file:///etc/passwd"})
    sheet = text(issue(Actor.of(curator), "accession_sheet", checked.object_id))
    assert typed in sheet
    assert "<b>F 17</b>" in sheet
    assert "file:///etc/passwd" in sheet


def test_nothing_is_fetched_from_outside_the_house(society: Society) -> None:
    for address in (
        "http://127.0.0.1:9/x.png",
        "file:///etc/passwd",
        "house:../../museum/settings.py",
        "data:text/html,x",
        "/etc/passwd",
    ):
        with pytest.raises(BaseException) as refused:
            House().fetch(address)
        assert type(refused.value).__mro__[1].__name__ == "FatalURLFetchingError"


def test_a_missing_picture_fails_the_paper_and_uses_no_number(checked: ConditionCheck, curator: Person) -> None:
    shown = Photograph.objects.get(view="V01")
    path_of(shown.file).unlink()
    with pytest.raises(PictureMissing) as refused, transaction.atomic():
        issue(Actor.of(curator), "condition_report", checked.pk)
    assert "V01.jpg" in refused.value.sentence
    assert not IssuedPaper.objects.exists()
    store_again(shown)
    assert issue(Actor.of(curator), "condition_report", checked.pk).number.endswith(".1")


def store_again(shown: Photograph) -> None:
    out = BytesIO()
    Image.new("RGB", (1600, 1200), "darkred").save(out, "JPEG")
    path_of(shown.file).write_bytes(out.getvalue())


def test_a_file_that_is_no_picture_fails_the_paper(checked: ConditionCheck, curator: Person) -> None:
    path_of(Photograph.objects.get(view="V01").file).write_bytes(b"GIF89a not really")
    with pytest.raises(PictureMissing):
        issue(Actor.of(curator), "condition_report", checked.pk)


def test_pictures_on_paper_are_small_upright_and_say_nothing_of_the_camera(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # lies on its side
    exif[0x010F] = "a camera"
    Image.new("RGB", (4000, 3000), "olive").save(tmp_path / "wide.jpg", exif=exif)
    with Image.open(BytesIO(for_paper(tmp_path / "wide.jpg"))) as small:
        assert small.size == (900, 1200)
        assert not small.getexif()
    Image.new("RGBA", (40, 30), (0, 0, 0, 0)).save(tmp_path / "clear.png")
    with Image.open(BytesIO(for_paper(tmp_path / "clear.png"))) as flat:
        assert flat.getpixel((5, 5)) == (255, 255, 255)


def test_findings_are_numbered_on_the_drawings(checked: ConditionCheck, curator: Person) -> None:
    gathered = gather(Actor.of(curator), "condition_report", checked.pk)
    marked = {mark["n"]: (view["view"], mark["zone"]) for view in gathered.data["drawings"]["views"] for mark in view["marks"]}
    assert marked == {1: ("front", "RB"), 2: ("front", "DC"), 3: ("inside", "HB")}
    assert [row["n"] for row in gathered.data["findings"]] == [1, 2, 3]


def test_two_findings_in_one_zone_do_not_hide_each_other(volunteer: Person, curator: Person) -> None:
    thing = stock.helmet()
    entry = stock.full_check(thing, stock.seen(thing, "SH", "RUST_SPOT", "2"), stock.seen(thing, "SH", "DENT", "1"))
    check = record_check(Actor.of(volunteer).keyed(entry.id), entry)
    (view,) = gather(Actor.of(curator), "condition_report", check.pk).data["drawings"]["views"]
    (first, second) = view["marks"]
    assert abs(first["x"] - second["x"]) >= 26  # the ring's width


def test_what_was_not_seen_this_time_is_said_not_dropped(checked: ConditionCheck, volunteer: Person, curator: Person) -> None:
    """'Not visible' is not 'same' and not 'gone': the finding stands as it was last seen."""
    thing = checked.object
    entry = stock.full_check(thing)
    looks = {**entry.looks, str(stock.zone(thing, "HB")): "not_visible"}
    later = replace(entry, looks=looks)
    check = record_check(Actor.of(volunteer).keyed(later.id), later)
    data = gather(Actor.of(curator), "condition_report", check.pk).data
    assert [(row["code"], row["last_seen"]) for row in data["findings"]] == [("HB", checked.happened_on.isoformat())]
    assert data["zones"]["not_visible"] == ["HB headband, sweatband"]


def test_what_is_gone_is_told_without_measures_and_not_drawn(checked: ConditionCheck, volunteer: Person, curator: Person) -> None:
    entry = stock.full_check(checked.object)
    rust = checked.observations.get(term="RUST_SPOT")
    gone = stock.seen(checked.object, "RB", "RUST_SPOT", change="gone", finding=rust.finding_id)
    later = replace(entry, seen=(gone,), looks={**entry.looks, str(gone.zone): "findings"})
    check = record_check(Actor.of(volunteer).keyed(later.id), later)
    data = gather(Actor.of(curator), "condition_report", check.pk).data
    (row,) = [row for row in data["findings"] if row["code"] == "RB"]
    assert (row["gone"], row["percent"], row["severity"]) == (True, None, None)
    assert not [view for view in data["drawings"]["views"] for mark in view["marks"] if mark["zone"] == "RB"]


def test_without_a_check_there_is_no_report(curator: Person) -> None:
    with pytest.raises(NotChecked):
        gather(Actor.of(curator), "condition_report", stock.helmet().pk)


def test_an_object_stands_for_its_latest_whole_check(checked: ConditionCheck, curator: Person) -> None:
    actor = Actor.of(curator)
    assert gather(actor, "condition_report", checked.object_id).hash == gather(actor, "condition_report", checked.pk).hash


def test_an_accession_sheet_leaves_out_people_and_says_where_it_belongs(checked: ConditionCheck, registrar: Person) -> None:
    *_, shelf = stock.shelf()
    move_object(PROGRAM, checked.object_id, place_id=shelf.pk)
    say_of(
        checked.object,
        holder="a fireman of Dock Street",
        model="mark II",
        date_made={"text": "about 1940", "earliest": "1938-01-01"},
    )
    sheet = text(issue(Actor.of(registrar), "accession_sheet", checked.object_id))
    assert "Dock Street" not in sheet
    for word in ("mark II", "about 1940 (from 1 January 1938)", "Hose hall › Cold store › Shelf 1", "our own, accessioned", "Recorder"):
        assert word in sheet, word


def test_a_round_list_walks_room_by_room_with_boxes_to_tick(checked: ConditionCheck, volunteer: Person, curator: Person) -> None:
    *_, shelf = stock.shelf()
    move_object(PROGRAM, checked.object_id, place_id=shelf.pk)
    report_hazard(PROGRAM, checked.object_id, code="ASBESTOS", level=3)
    made = make_round(Actor.of(curator), name="Spring round", due_by=clock.today() + timedelta(900), walkers=[volunteer.pk])
    listed = text(issue(Actor.of(volunteer), "round_list", made.pk))
    for word in (
        "Spring round",
        "Hose hall, Cold store",
        "1974.12.3",
        "Shelf 1",
        "Held: asbestos",
        "same look gone",
        "Walked by",
    ):
        assert word in listed, word


@pytest.mark.parametrize(
    ("earliest", "latest", "words"),
    [
        ("", "", ""), ("1938-01-01", "1942-12-31", "1938 to 1942"), ("1938-01-01", "1938-12-31", ""), ("1938-03-02", "1938-03-02", "2 March 1938"),
        ("1938-03-02", "1938-04-01", "2 March 1938 to 1 April 1938"), ("", "1942-12-31", "until 31 December 1942"), ("1938-01-01", "", "from 1 January 1938"),
    ],
)  # fmt: skip
def test_a_date_says_what_it_lies_between(earliest: str, latest: str, words: str) -> None:
    assert between({"earliest": earliest, "latest": latest}) == words


def test_a_report_that_travels_does_not_tell_the_room(checked: ConditionCheck, volunteer: Person, curator: Person) -> None:
    *_, shelf = stock.shelf()
    move_object(PROGRAM, checked.object_id, place_id=shelf.pk)
    entry = stock.full_check(checked.object)
    check = record_check(Actor.of(volunteer).keyed(entry.id), entry)
    report = text(issue(Actor.of(curator), "condition_report", check.pk))
    assert "Where Hose hall Examiner" in report
    assert "Cold store" not in report


def test_the_list_of_a_walk_is_for_whoever_had_it_made_and_for_those_who_know_every_place(checked: ConditionCheck, volunteer: Person, curator: Person) -> None:
    """A volunteer knows the exact places of their own round, not of another's."""
    made = make_round(Actor.of(curator), name="Spring round", due_by=clock.today() + timedelta(900), walkers=[volunteer.pk])
    by_curator = issue(Actor.of(curator), "round_list", made.pk)
    own = issue(Actor.of(volunteer), "round_list", made.pk)
    assert list(IssuedPaper.objects.visible_to(Actor.of(volunteer))) == [own]
    assert set(IssuedPaper.objects.visible_to(Actor.of(curator))) == {by_curator, own}


def test_a_round_is_printed_by_those_who_walk_it(checked: ConditionCheck, volunteer: Person, curator: Person) -> None:
    made = make_round(Actor.of(curator), name="Autumn round", due_by=clock.today() + timedelta(900))
    with pytest.raises(NotFound):
        gather(Actor.of(volunteer), "round_list", made.pk)


def test_what_was_taken_back_meanwhile_is_walked_past(checked: ConditionCheck, volunteer: Person, curator: Person, registrar: Person) -> None:
    other = stock.helmet("1974.12.4")
    entry = stock.full_check(other, stock.seen(other, "RB", "RUST_SPOT", "2"))
    record_check(Actor.of(volunteer).keyed(entry.id), entry)
    made = make_round(Actor.of(curator), name="Autumn round", due_by=clock.today() + timedelta(900))
    assert gather(Actor.of(curator), "round_list", made.pk).data["count"] == 2
    withdraw_object(Actor.of(registrar), other.pk, reason="entered twice")
    data = gather(Actor.of(curator), "round_list", made.pk).data
    assert [stop["number"] for group in data["groups"] for stop in group["stops"]] == ["1974.12.3"]


def test_papers_speak_the_societys_language(checked: ConditionCheck, curator: Person, society: Society) -> None:
    Society.objects.update(language="de")
    pdf = read(issue(Actor.of(curator), "condition_report", checked.pk))
    assert pdf.trailer["/Root"]["/Lang"] == "de"


def test_a_reprint_says_so_on_every_page_and_keeps_the_rest(checked: ConditionCheck, curator: Person) -> None:
    paper = issue(Actor.of(curator), "condition_report", checked.pk)
    copy, original = PdfReader(BytesIO(reprinted(paper, "Nell"))), read(paper)
    for before, after in zip(original.pages, copy.pages, strict=True):
        assert f"Reprint of {paper.number}" in " ".join(after.extract_text().split())
        assert "Nell" in after.extract_text()
        assert before.extract_text().split()[0] in after.extract_text()
    assert copy.attachments.keys() == original.attachments.keys()
    assert copy.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert copy.trailer["/Root"]["/OutputIntents"]
