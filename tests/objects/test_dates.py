"""Dates in words: the conventions of the house, what is asked and why, order, settings; EDTF bounds."""

from datetime import date

import pytest
from edtf import parse_edtf
from hypothesis import given
from hypothesis import strategies as st

from collection.objects.dates import Day, EdtfError, Question, Reading, bounds, conventions, in_order, read_date


@pytest.mark.parametrize(
    ("text", "edtf"),
    [
        ("17.5.1940", "1940-05-17"),
        ("5/17/1940", "1940-05-17"),
        ("1940-05-06", "1940-05-06"),
        ("May 10, 1893", "1893-05-10"),
        ("17th of May, 1940", "1940-05-17"),
        ("Sept. 1940", "1940-09"),
        ("winter 1940", "1940-24"),
        ("winter 1940/41", "1940-24"),
        ("winter of 1940-41", "1940-24"),
        ("c. 1930s", "193X~"),
        ("about the 19th century", "18XX~"),
        ("nineteenth century", "18XX"),
        ("19th c.", "18XX"),
        ("19thC", "18XX"),
        ("1930s?", "193X?"),
        ("perhaps summer 1940", "1940-22?"),
        ("possibly 17 May 1940", "1940-05-17?"),
        ("1938 (?)", "1938?"),
        ("probably about 1938", "1938%"),
        ("by 1938", "[..1938]"),
        ("not after 1938", "[..1938]"),
        ("before May 1940", "[..1940-04]"),
        ("before 1 March 1940", "[..1940-02-29]"),
        ("before the 1930s", "[..1929]"),
        ("after the 19th century", "[1900..]"),
        ("not before 1906", "[1906..]"),
        ("1860 or later", "[1860..]"),
        ("after 1945, before 1957", "[1946..1956]"),
        ("since 1916", "1916/.."),
        ("from 1916", "1916/.."),
        ("until about 1945", "/1945~"),
        ("between 1919 and 1938", "[1919..1938]"),
        ("used 1940-45", "1940/1945"),
        ("in service 1940 to 1945", "1940/1945"),
        ("made 1940-45", "[1940..1945]"),
        ("made in 1938", "1938"),
        ("made during the First World War", "[1914-07-28..1918-11-11]"),
        ("before the Second World War", "[..1939-08-31]"),
        ("WW2", "1939-09-01/1945-09-02"),
        ("1916 or 17", "[1916,1917]"),
        ("17th or 18th century", "[16XX,17XX]"),
        ("1899/00", "[1899,1900]"),
        ("about 1914 to about 1918", "1914~/1918~"),
        ("first half of the 20th century", "[1900..1949]"),
        ("3rd quarter 19th century", "[1850..1874]"),
        ("4th century BC", "-03XX"),
        ("100 BC", "-0099"),
        ("1st half 4th century BC", "[-0399..-0350]"),
        ("AD 40", "0040"),
        ("1121 AH/AD 1717", "1717"),
        ("193X", "193X"),
        ("[1919..1938]", "[1919..1938]"),
    ],
)
def test_conventions(text: str, edtf: str) -> None:
    read = read_date(text)
    assert isinstance(read, Reading), read
    assert (read.edtf, read.confirm) == (edtf, ())


@pytest.mark.parametrize(
    ("text", "edtf", "instead"),
    [
        ("1940-1945", "1940/1945", "[1940..1945]"),
        ("1940 to 45", "1940/1945", "[1940..1945]"),
        ("1860s-70s", "186X/187X", "[1860..1879]"),
        ("18th-19th century", "17XX/18XX", "[1700..1899]"),
        ("late 18th-early 19th century", "1767/1833", "[1767..1833]"),
        ("mid- to late-19th century", "1834/1899", "[1834..1899]"),
        ("4th-3rd century BC", "-0399/-0200", "[-0399..-0200]"),
        ("100 BC-AD 400", "-0099/0400", "[-0099..0400]"),
        ("August - September 1954", "1954-08/1954-09", "[1954-08..1954-09]"),
        ("June 19-20, 1964", "1964-06-19/1964-06-20", "[1964-06-19..1964-06-20]"),
    ],
)
def test_a_bare_span_is_read_as_lasting_and_asked_about(text: str, edtf: str, instead: str) -> None:
    read = read_date(text)
    assert isinstance(read, Reading)
    assert (read.edtf, read.confirm) == (edtf, (instead,))


@pytest.mark.parametrize(
    ("text", "why", "candidates"),
    [
        ("6/1/1795", "day_month_order", ("1795-01-06", "1795-06-01")),
        ("8/1959", "month_as_number", ("1959-08",)),
        ("1938-05", "month_or_years", ("1938-05",)),
        ("1910-11", "month_or_years", ("[1910,1911]", "1910-11")),
        ("1938/9", "month_or_years", ("[1938,1939]", "1938-09")),
        ("1938/41", "slash", ("1938/1941",)),
        ("1938-01-01 00:00:00", "year_or_day", ("1938", "1938-01-01")),
        ("29 February 1939", "no_such_day", ("1939-02",)),
        ("the 30s", "two_digit_year", ("193X",)),
        ("966", "short_year", ("0966",)),
        ("1900s", "decade_or_century", ("190X", "19XX")),
        ("about May 1940", "about_on_more", ("1940-05",)),
        ("about early 1930s", "about_on_more", ("[1930..1933]",)),
        ("probably late 19th century", "doubt_on_more", ("[1867..1899]",)),
        ("1868-1912 (?)", "doubt_on_more", ("1868/1912",)),
        ("between the wars?", "doubt_on_more", ("[1919..1939]",)),
        ("made about 1914 to 1918", "about_on_more", ("1914~/1918",)),
        ("before about 1945", "about_on_more", ("[..1944]",)),
        ("1945-1940", "backwards", ()),
        ("1879 and 1887", "several_dates", ("[1879,1887]", "{1879,1887}")),
        ("Mark 2", "not_read", ()),
        ("M1906, dated 1917", "model_year", ("1917",)),
        ("bought 1983, made about 1938", "acquisition", ("1938~",)),
        ("designed 1957", "words_beside", ("1957",)),
        ("early 1940", "words_beside", ("1940",)),
        ("hello", "not_read", ()),
    ],
)
def test_asked(text: str, why: str, candidates: tuple[str, ...]) -> None:
    asked = read_date(text)
    assert isinstance(asked, Question), asked
    assert (asked.why, asked.candidates) == (why, candidates)


@pytest.mark.parametrize("text", ["", "-", "?", "N.D.", "n. d.", "not known", "Undated"])
def test_known_to_be_unknown(text: str) -> None:
    assert read_date(text) == Reading(text, None)


def test_the_house_may_set_widths_parts_and_periods() -> None:
    house = conventions(
        {
            "about_years": 2,
            "parts_of_decade": {"early": [0, 4], "late": [5, 9]},
            "periods": [{"names": ["Blue issue"], "edtf": "[1908..1922]"}],
        }
    )
    about, early, issue = (read_date(text, house) for text in ("about 1938", "early 1930s", "blue issue"))
    assert isinstance(about, Reading)
    assert (about.earliest, about.latest) == (Day(1936, 1, 1), Day(1940, 12, 31))
    assert isinstance(early, Reading)
    assert early.edtf == "[1930..1934]"
    assert isinstance(issue, Reading)
    assert issue.edtf == "[1908..1922]"
    assert isinstance(read_date("First World War", house), Question)


def test_what_is_missing_sorts_last() -> None:
    texts = ["unknown", "after 1945", "1946", "before 1945", "1944", "1938-1950", "1938", "400 BC"]
    reads = [read_date(text) for text in texts]

    def key(read: Reading | Question) -> tuple[Day, Day]:
        assert isinstance(read, Reading)
        return in_order(read.earliest, read.latest)

    assert [read.text for read in sorted(reads, key=key)] == [
        "400 BC", "1938", "1938-1950", "1944", "before 1945", "1946", "after 1945", "unknown",
    ]  # fmt: skip


@given(st.dates(date(1, 1, 1), date(9998, 12, 31)))
def test_every_day_is_its_own_bounds_and_has_neighbours(day: date) -> None:
    ours = Day(day.year, day.month, day.day)
    assert bounds(str(ours)) == (ours, ours)
    assert ours.as_date() == day
    assert ours.after.before == ours
    assert ours.after > ours
    assert parse_edtf(day.isoformat()).lower_strict()[:3] == tuple(ours)


@given(st.integers(1000, 2199), st.integers(0, 60))
def test_a_span_of_years_reads_back_whole(year: int, more: int) -> None:
    read = read_date(f"worn {year}-{min(year + more, 2199)}")
    assert isinstance(read, Reading)
    assert (read.earliest, read.latest) == (Day(year, 1, 1), Day(min(year + more, 2199), 12, 31))


@given(st.text(max_size=25) | st.text("0123456789-/.?~ adbcsthfromX[]", max_size=16))
def test_anything_typed_gets_an_answer(text: str) -> None:
    read = read_date(text)
    assert read.text == text
    for edtf in read.candidates if isinstance(read, Question) else [*read.confirm, *([read.edtf] if read.edtf else [])]:
        bounds(edtf)


@pytest.mark.parametrize(
    ("edtf", "earliest", "latest"),
    [
        ("1938~", "1933-01-01", "1943-12-31"),
        ("1938~-05", "1938-05-01", "1938-05-31"),
        ("1938-~05-17", "1938-05-17", "1938-05-17"),
        ("193X~", "1930-01-01", "1939-12-31"),
        ("-03XX", "-0399-01-01", "-0300-12-31"),
        ("1940-24", "1940-12-01", "1941-02-28"),
        ("1939-24", "1939-12-01", "1940-02-29"),
        ("1940-36", "1940-10-01", "1940-12-31"),
        ("1938-XX", "1938-01-01", "1938-12-31"),
        ("1938-02-XX", "1938-02-01", "1938-02-28"),
        ("Y-11999", "Y-11999-01-01", "Y-11999-12-31"),
        ("XXXX", None, None),
        ("../1945", None, "1945-12-31"),
        ("1916/..", "1916-01-01", None),
        ("{1879,1887}", "1879-01-01", "1887-12-31"),
        ("[1667,1672..]", "1667-01-01", None),
    ],
)
def test_bounds(edtf: str, earliest: str | None, latest: str | None) -> None:
    assert tuple(day and str(day) for day in bounds(edtf)) == (earliest, latest)


@pytest.mark.parametrize("edtf", ["", "1939-02-29", "1938-13", "1X38", "1938/1937", "[..]", "[]", "-0000", "1938/39/40", "x"])
def test_what_is_not_edtf_is_refused(edtf: str) -> None:
    with pytest.raises(EdtfError):
        bounds(edtf)
