"""Sizes and weights in words; conversions; hat sizes."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collection.objects.measures import Measure, head_mm, read_measures, size_text, uk_hat_size, us_hat_size


def test_exact_conversions() -> None:
    """NIST SP 811 (2008), appendix B.8: 1 in = 25.4 mm, 1 lb = 0.453 592 37 kg, 1 ft = 304.8 mm, exactly."""
    assert Measure("", Decimal("11.25"), "in").mm == Decimal("285.75")
    assert Measure("", Decimal(1), "lb").g == Decimal("453.59237")
    assert Measure("", Decimal(16), "oz").g == Decimal("453.592370")
    assert Measure("", Decimal(1), "ft").mm == Decimal("304.8")
    assert Measure("", Decimal("28.6"), "cm").mm == 286
    assert Measure("", Decimal(1), "kg").g == Decimal(1000)
    assert Measure("", Decimal(1), "kg").mm is None


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("11 1/4 in", [("", "11.25", "in")]),
        ('11½"', [("", "11.5", "in")]),
        ("H: 7 5/16 x W: 4 5/16 in. (18.6 x 10.9 cm)", [("H", "7.3125", "in"), ("W", "4.3125", "in")]),
        ("285 × 210 × 160 mm", [("", "285", "mm"), ("", "210", "mm"), ("", "160", "mm")]),
        ("28,5 cm", [("", "28.5", "cm")]),
        ("height 165 mm; weight 1.32 kg", [("height", "165", "mm"), ("weight", "1.32", "kg")]),
        ("3 lb 4 oz", [("", "3.25", "lb")]),
        ("1 ft 3 1/2 in", [("", "15.5", "in")]),
        ("7/8 x 9/16 in. (2.3 x 1.4 cm) (h. x diam.)", [("h.", "0.875", "in"), ("diam.", "0.5625", "in")]),
        ("Panel 1: 12 x 8 cm", [("Panel 1", "12", "cm"), ("", "8", "cm")]),
        ("rim: 640mm", [("rim", "640", "mm")]),
        ("variable", []),
        ("", []),
    ],
)
def test_read(text: str, read: list[tuple[str, str, str]]) -> None:
    answer = read_measures(text)
    assert [(one.label, str(one.value), one.unit) for one in answer.measures] == read
    assert (list(answer.contradictions), list(answer.unread)) == ([], [])


@pytest.mark.parametrize("text", ["57", "300 x 200", "1/16-1/4 in.", "12 1.2 in.", "48. 2 cm", "1,200 mm", "5/0 in", "20min"])
def test_what_does_not_fit_is_kept_whole(text: str) -> None:
    answer = read_measures(f"H: 165 mm\n{text}")
    assert [str(one.value) for one in answer.measures] == ["165"]
    assert list(answer.unread) == [text]


@pytest.mark.parametrize(
    ("text", "against"),
    [
        ("H: 5/8 in. (24.5 cm)", ["H"]),
        ("L: 4 5/8 x W: 5/8 in. (1.59 x 11.75 cm)", ["L", "W"]),
        ("3 kg (3 lb)", [""]),
        ("3 kg (30 cm)", [""]),
        ("7.5 lb. (3.4 kg)", []),
        ("16 1/8 in. (41 cm)", []),
    ],
)
def test_two_systems_must_agree_within_their_rounding(text: str, against: list[str]) -> None:
    """Inches in fractions to half a sixteenth, all else to half of the last place written (ours)."""
    assert [one.label for one in read_measures(text).contradictions] == against


def test_labels_remarks_and_counts() -> None:
    answer = read_measures("H with crest: 12 in. (30.48 cm) approx.; 9 x 8 in. (22.9 cm)")
    assert (answer.measures[0].dimension, answer.measures[0].note) == ("height", "approx")
    assert answer.measures[0].other == Decimal("30.48")
    assert list(answer.unlike) == ["9 x 8 in. (22.9 cm)"]
    plain = read_measures("Outer Diam: 3 cm; D: 3 cm; 2 kg").measures
    assert [one.dimension for one in plain] == ["diameter", "", "weight"]


@given(st.text(max_size=60) | st.text("0123456789 /.,xH:W()in.cmlb\n;'\"", max_size=40))
def test_anything_typed_is_read_or_kept(text: str) -> None:
    answer = read_measures(text)
    if any(c in "0123456789" for c in text):
        assert answer.measures or answer.unread


@given(st.integers(1, 200), st.integers(0, 15))
def test_sixteenths_are_exact(whole: int, sixteenths: int) -> None:
    text = f"{whole} {sixteenths}/16 in" if sixteenths else f"{whole} in"
    assert read_measures(text).measures[0].mm == (Decimal(whole) + Decimal(sixteenths) / 16) * Decimal("25.4")


@pytest.mark.parametrize(("cm", "us", "uk"), [(56, "7", "6 7/8"), (57, "7 1/8", "7"), (58, "7 1/4", "7 1/8"), (60, "7 1/2", "7 3/8")])
def test_hat_sizes(cm: int, us: str, uk: str) -> None:
    """Computed: inches round the head through pi to the nearest eighth; British an eighth less (common practice)."""
    assert (size_text(us_hat_size(cm * 10)), size_text(uk_hat_size(cm * 10))) == (us, uk)
    assert abs(head_mm(us_hat_size(cm * 10)) - cm * 10) < 5
    assert us_hat_size(head_mm(Fraction(57, 8))) == Fraction(57, 8)
