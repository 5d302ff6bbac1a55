"""Files as they come: odd character sets, odd marks, workbooks, and files made to do harm."""

import io
import resource
import zipfile
from datetime import datetime

import pytest
from openpyxl import Workbook

from collection.exchange import columns, judging, reading
from collection.exchange.words import kind_named, materials_in
from museum.errors import Invalid


def cells(data: bytes, name: str = "register.csv") -> list[list[str]]:
    return [line.cells for line in reading.read(data, name).lines]


def workbook(*rows: list[object]) -> bytes:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for row in rows:
        sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize(("encoding", "said"), [("utf-8", "UTF-8"), ("utf-8-sig", "UTF-8"), ("cp1252", "Windows-1252"), ("utf-16", "UTF-16")])
def test_the_character_set_is_found_and_said(encoding: str, said: str) -> None:
    sheet = reading.read("No.;Gegenstand;Größe\n1974.1;Käppi;57\n".encode(encoding), "liste.csv")
    assert (sheet.encoding, sheet.lines[1].cells) == (said, ["1974.1", "Käppi", "57"])


@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
def test_the_delimiter_is_found(mark: str) -> None:
    text = "\n".join(mark.join(row) for row in (["No.", "Item", "Date"], ["1", '"a, b; c | d"', ""]))
    assert cells(text.encode())[1] == ["1", "a, b; c | d", ""]


def test_a_cell_of_several_lines_is_one_cell() -> None:
    assert cells(b'No.,Item\r\n1974.1,"a\r\nb\nc"\r\n')[1] == ["1974.1", "a\r\nb\nc"]


def test_formulas_of_a_csv_are_text_and_stay_so() -> None:
    assert cells(b'No.,Item\n1974.1,"=HYPERLINK(""http://example.org"")"\n')[1][1] == '=HYPERLINK("http://example.org")'


def test_control_characters_are_taken_out_and_a_nul_is_refused_where_it_stands() -> None:
    assert cells(b"No.,Item\n1974.1,ab\x07c\n")[1][1] == "abc"
    with pytest.raises(Invalid) as refused:
        cells(b"No.,Item\n1974.1,a\x00b\n")
    assert "Line 2" in refused.value.sentence
    assert "1974.1,a" in refused.value.sentence


@pytest.mark.parametrize(
    ("data", "name", "said"),
    [
        (b"", "a.csv", "empty"), (b"No.,Item,Material\n", "a.csv", "headings in row 1"), (b"No.,Item\n1974.1," + b"x" * 120_000, "a.csv", "Row 2, column 2"),
        (b"No.,Item\n1974.1,\"" + b"x" * 200_000, "a.csv", "Row 2"), (b"\xd0\xcf\x11\xe0" + "EncryptedPackage".encode("utf-16-le"), "a.xlsx", "password"),
        (b"\xd0\xcf\x11\xe0 old", "a.xlsx", "another kind"), (b"%PDF-1.7 number;name", "list.csv", "a PDF or a picture"),
        (b"\xff\xd8\xff\xe0\x00\x10JFIF", "list.jpg", "a PDF or a picture"), (b"\x89PNG\r\n\x1a\n\x00", "list.csv", "a PDF or a picture"),
        (b"x" * (reading.MOST_BYTES + 1), "a.csv", "larger than"),
        (b"a," * 300 + b"\n", "a.csv", "Row 1 has more than"), (b"a\n" * 20_001, "a.csv", "more than 20000 rows"),
    ],
)  # fmt: skip
def test_a_broken_file_is_refused_with_what_is_wrong(data: bytes, name: str, said: str) -> None:
    with pytest.raises(Invalid) as refused:
        reading.read(data, name)
    assert said in refused.value.sentence


def test_words_that_swell_in_a_workbook_are_refused_in_bounded_memory() -> None:
    """A sheet that refers to entities within entities."""
    laughs = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10 if n else "ha"}">' for n in range(9))
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(workbook(["No.", "Item"], ["1974.1", "Cap"]))) as book, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for part in book.namelist():
            text = book.read(part).decode()
            if part.endswith("sheet1.xml"):
                text = f"<!DOCTYPE worksheet [{laughs}]>" + text.replace("<sheetData>", "<sheetData>&a8;")
            packed.writestr(part, text)
    begun = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(Invalid):
        reading.read(out.getvalue(), "laughs.xlsx")
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - begun < 256 * 1024


def test_a_workbook_that_unpacks_without_end_is_refused() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b"0" * (reading.MOST_UNPACKED + 1))
    with pytest.raises(Invalid):
        reading.read(out.getvalue(), "bomb.xlsx")


def test_a_zip_that_is_no_workbook_is_refused() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr("readme.txt", "hello")
    with pytest.raises(Invalid):
        reading.read(out.getvalue(), "a.xlsx")


def test_dates_and_figures_in_the_number_column_are_asked() -> None:
    data = workbook(
        ["No.", "Item"],
        [datetime(1974, 12, 3), "Cap"],
        [45.1, "Mask"],
        ["1974.12.4", "Hat"],
        [None, None],
        ["=1+1", "Sum"],
    )
    sheet = reading.read(data, "register.xlsx")
    assert [line.cells for line in sheet.lines] == [
        ["No.", "Item"],
        ["1974-12-03", "Cap"],
        ["45.1", "Mask"],
        ["1974.12.4", "Hat"],
        [],
        ["=1+1", "Sum"],
    ]
    way = columns.Way(sheet.headings, sheet.heading, columns.guess(sheet.lines, sheet.heading), "as_written")
    rows = [judging.Row(line.n, line.cells, line.marks, {}) for line in sheet.lines]
    found = judging.judge(way, rows, frozenset(), frozenset())
    assert found[1].question is not None
    assert (found[1].question.code, found[1].question.data["offers"]) == ("number_is_date", ["1974.12.3"])
    assert found[2].question is not None
    assert found[2].question.code == "number_was_figure"
    assert found[3].question is None
    assert sheet.lines[5].marks == {"0": "formula"}


def test_headings_are_found_below_a_title() -> None:
    sheet = reading.read(b"OLD REGISTER,,\n,,\nNo.,Item,Material\n1974.1,Cap,wool\n", "a.csv")
    assert sheet.heading == 3
    assert columns.guess(sheet.lines, 3) == {0: "number", 1: "name", 2: "materials"}


def test_a_list_without_headings_is_read_by_content() -> None:
    sheet = reading.read(b"1974.1.1,Cap\n1974.1.2,Hat\n", "a.csv")
    assert sheet.heading == 0
    assert columns.guess(sheet.lines, 0)[0] == "number"


@pytest.mark.parametrize(
    ("words", "codes"),
    [
        ("steel, leather", ["steel", "leather"]), ("Stahl und Leder", ["steel", "leather"]), ("steel (?)", []),
        ("iron bowl, lacquered iron neck defense, stenciled leather, textile", ["textile"]), ("gilt on brass", []),
        ("shakudo", []), ("cork & cloth", ["cork", "textile"]), ("brass?", []),
    ],
)  # fmt: skip
def test_only_materials_named_plainly_are_read(words: str, codes: list[str]) -> None:
    assert materials_in(words) == codes


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("Fire helmet, leather", "fire"), ("Miner’s hat", "mine_rescue"), ("Sun helmet", "sun"), ("helmets", ""),
        ("Stahlhelm", "armed_service"), ("Mask", ""), ("The Pilot Boat", ""), ("Warden's helmet W", "civil_defence"),
    ],
)  # fmt: skip
def test_a_name_says_the_kind_or_says_none(name: str, kind: str) -> None:
    assert kind_named(name) == kind


def test_columns_of_one_field_are_joined_with_their_headings() -> None:
    way = columns.Way(["No.", "Item", "From whom", "When got"], 1, {0: "number", 1: "name", 2: "credit", 3: "credit"}, file="a.csv")
    said = columns.said_in(way, 2, ["1974.1", "Cap", "A donor", "May 1974"])
    assert said["credit"].values == ["A donor\nWhen got: May 1974"]
    assert said["credit"].cell == "a.csv, row 2, From whom: A donor; When got: May 1974"
