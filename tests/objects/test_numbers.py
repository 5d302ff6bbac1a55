"""Object numbers: round trip, order, forgiveness, questions with their offers, runs, letters, sort keys for people."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.objects import numbers
from collection.objects.numbers import (
    CANONICAL_SQL,
    NumberQuestion,
    ObjectNumber,
    expand_range,
    holds_several,
    next_letter,
    parse_number,
    part_letters,
    part_position,
    people_sort_key,
    written_sort_key,
)

A_MILLION = st.integers(1, 999_999)
NUMBERS = st.builds(
    ObjectNumber,
    st.sampled_from(["", "E", "L", "T"]),
    st.integers(1800, 2199),
    A_MILLION,
    st.integers(0, 999_999),
    st.one_of(st.just(""), st.integers(0, 701).map(part_letters)),
)


@given(NUMBERS)
def test_what_is_printed_reads_back(number: ObjectNumber) -> None:
    assert parse_number(str(number)) == number
    assert re.fullmatch(CANONICAL_SQL, str(number))


@given(NUMBERS, st.integers(0, 3), st.booleans())
def test_the_forgiven_forms_are_the_same_number(number: ObjectNumber, zeros: int, dotted: bool) -> None:
    item = f" . {'0' * zeros}{number.item}" if number.item else ""
    part = f"{' . ' if dotted else ' '}{number.part.upper()}" if number.part else ""
    typed = f" {number.prefix.lower()} {number.year}.{'0' * zeros}{number.lot}{item}{part}\N{NO-BREAK SPACE}"
    assert parse_number(typed) == number


@given(NUMBERS, NUMBERS)
def test_the_key_orders_as_year_lot_item_and_letters_do(one: ObjectNumber, other: ObjectNumber) -> None:
    def parts(n: ObjectNumber) -> tuple[object, ...]:
        return (n.prefix, n.year, n.lot, n.item, len(n.part), n.part)

    assert (one.sort_key < other.sort_key) == (parts(one) < parts(other))


@given(st.text(max_size=20))
def test_anything_typed_gives_a_number_or_a_question(text: str) -> None:
    read = parse_number(text)
    assert isinstance(read, ObjectNumber | NumberQuestion)
    expand_range(text)
    if isinstance(read, ObjectNumber):
        assert re.fullmatch(CANONICAL_SQL, str(read))
        assert parse_number(str(read)) == read


@pytest.mark.parametrize(
    ("text", "why", "offers"),
    [
        ("", "empty", []),
        ("1974/12/3", "other_separator", ["1974.12.3"]),
        ("1974-12-3", "looks_like_a_date", ["1974.12.3"]),
        ("1974-12-03 00:00:00", "looks_like_a_date", ["1974.12.3"]),
        ("03.12.1974", "looks_like_a_date", ["1974.12.3"]),
        ("3/12/1974", "looks_like_a_date", ["1974.12.3", "1974.3.12"]),
        ("3 December 1974", "looks_like_a_date", ["1974.12.3"]),
        ("74.12.3", "year_of_two_digits", ["1874.12.3", "1974.12.3", "2074.12.3"]),
        ("1974.12.3 & 4", "several_numbers", ["1974.12.3", "1974.12.4"]),
        ("1974.12.3a-c", "several_numbers", ["1974.12.3a", "1974.12.3b", "1974.12.3c"]),
        ("1974.12.3 (part)", "not_our_form", ["1974.12.3"]),
        ("1974.12.", "not_our_form", []),
        ("1974.12.3abc", "not_our_form", []),
        ("LO2025.4", "not_our_form", []),
        ("X2025.9", "not_our_form", []),
        ("1799.1.1", "out_of_range", []),
        ("2200.1.1", "out_of_range", []),
        ("1974.0.3", "out_of_range", []),
        ("1974.12.0", "out_of_range", []),
        ("1974.12.1000000", "not_our_form", []),
        ("1974.12.\N{ARABIC-INDIC DIGIT THREE}", "not_our_form", []),
        ("1974.12.3\N{KELVIN SIGN}", "not_our_form", []),
    ],
)
def test_all_else_is_asked(text: str, why: str, offers: list[str]) -> None:
    read = parse_number(text)
    assert isinstance(read, NumberQuestion)
    assert (read.why, list(read.offers)) == (why, offers)


def test_series_and_whole() -> None:
    series = [ObjectNumber(prefix, 2025, 1).series for prefix in ("", "E", "T", "L")]
    assert series == ["accession", "entry", "temporary", "loan_in"]
    assert str(ObjectNumber("", 1974, 12, 3, "a").whole) == "1974.12.3"


@pytest.mark.parametrize(
    ("text", "first", "count"),
    [
        ("1974.12.3y-ab", "1974.12.3y", 4),
        ("1974.12.3a-c,e", "1974.12.3a", 4),
        ("1974.12.3 . A - B", "1974.12.3a", 2),
        ("L2024.2.9 TO L2024.2.11", "L2024.2.9", 3),
        ("1974.12.3", "1974.12.3", 1),
    ],
)
def test_plain_runs(text: str, first: str, count: int) -> None:
    answer = expand_range(text)
    assert (str(answer.numbers[0]), len(answer.numbers)) == (first, count)


@pytest.mark.parametrize(
    ("text", "ask", "first_offer"),
    [
        ("1990.2.1-5", "items_or_parts", ["1990.2.1", "1990.2.2", "1990.2.3", "1990.2.4", "1990.2.5"]),
        ("1974.12.3a\N{EN DASH}b", "other_dash", ["1974.12.3a", "1974.12.3b"]),
        ("1974.12.3c,a", "order_of_letters", ["1974.12.3a", "1974.12.3c"]),
        ("1990.2.1 to 3", "short_end", ["1990.2.1", "1990.2.2", "1990.2.3"]),
        ("1974.12.3a to 1974.12.3d", "parts_at_the_ends", None),
        ("1990.2.1 to 1990.2.999999", "long_run", None),
        ("1990.2.1-999999", "long_run", None),
        ("1990.2-5", "not_our_form", None),
        ("1974.12.3a-b-c", "not_our_form", None),
    ],
)
def test_doubtful_runs_are_asked(text: str, ask: str, first_offer: list[str] | None) -> None:
    answer = expand_range(text)
    assert (answer.numbers, answer.ask, answer.refuse) == ((), ask, "")
    assert (list(answer.offers[0]) if answer.offers else None) == first_offer


@pytest.mark.parametrize(
    ("text", "refuse"),
    [
        ("1974.12.3d-a", "backwards"),
        ("1990.2.5 to 1990.2.1", "backwards"),
        ("1990.2.5-1", "backwards"),
        ("1990.2.1 to 1990.3.1", "across_lots"),
        ("1990.2.1 to L1990.2.5", "across_lots"),
        ("1990.2 to 1990.5", "across_lots"),
    ],
)
def test_backwards_or_across_lots_is_refused(text: str, refuse: str) -> None:
    answer = expand_range(text)
    assert (answer.numbers, answer.refuse) == ((), refuse)


@given(st.integers(0, 701))
def test_letters_and_positions_answer_each_other(position: int) -> None:
    assert part_position(part_letters(position)) == position


def test_letters_are_never_given_twice() -> None:
    assert next_letter([]) == "a"
    assert next_letter(["a", "c"]) == "d"
    assert next_letter(["a", "z"]) == "aa"
    with pytest.raises(ValueError, match="702"):
        next_letter(["zz"])


def test_numbers_as_written_sort_by_the_value_of_their_digits_after_ours() -> None:
    written = ["45.10", "45.1", "45.9", "RM 12", "rm 2", "51.1040", "51.104"]
    assert sorted(written, key=written_sort_key) == ["45.1", "45.9", "45.10", "51.104", "51.1040", "rm 2", "RM 12"]
    assert written_sort_key("45.1") != written_sort_key("45.01")
    ours = parse_number("T2199.999999.999999zz")
    assert isinstance(ours, ObjectNumber)
    assert ours.sort_key < written_sort_key("0")


@pytest.mark.parametrize(
    ("text", "several"),
    [
        ("45.1", False),
        ("VO.74 (57.1050, 57.1051)", True),
        ("1998.14.2.A-B", True),
        ("2013.30.19.A-.B", True),
        ("42.204.BOX", False),
        ("51.535A", False),
        ("12 and 13", True),
    ],
)
def test_a_cell_of_several_numbers_is_noticed(text: str, several: bool) -> None:
    assert holds_several(text) == several


def test_people_find_words_where_they_expect_them() -> None:
    words = ["Zunder", "äpfel", "Apfel 10", "apfel 9", "Ørsted", "oslo", "Öl", "strasse", "Straße 2"]
    assert sorted(words, key=people_sort_key) == [
        "äpfel", "apfel 9", "Apfel 10", "Öl", "Ørsted", "oslo", "strasse", "Straße 2", "Zunder",
    ]  # fmt: skip


def test_longest_run_is_a_run_still() -> None:
    assert len(expand_range(f"1990.2.1 to 1990.2.{numbers.LONGEST_RUN}").numbers) == numbers.LONGEST_RUN
