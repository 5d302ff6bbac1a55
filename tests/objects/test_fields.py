"""What the fields of the record accept, and how their values read."""

import pytest

from collection.objects import fields
from collection.objects.models import Field
from museum.errors import Invalid


def field(sort: str, *choices: str) -> Field:
    return Field(code=sort, sort=sort, choices=list(choices))


def test_words_are_kept_as_found() -> None:
    said = fields.clean(field("words"), "  a dome of brass\x00  ")
    assert (said.value, said.words) == ({"text": "a dome of brass"}, "a dome of brass")


@pytest.mark.parametrize("nothing", ["", "   ", {"text": ""}, {}])
def test_nothing_is_no_entry(nothing: object) -> None:
    with pytest.raises(Invalid, match="invalid") as refused:
        fields.clean(field("words"), nothing)  # type: ignore[arg-type]
    assert "empty the field on purpose" in refused.value.sentence


def test_a_field_is_emptied_on_purpose() -> None:
    assert fields.clean(field("date"), None) == fields.Said(None, "")


@pytest.mark.parametrize("wrong", [7, ["a"], True])
def test_what_is_no_entry_is_refused(wrong: object) -> None:
    with pytest.raises(Invalid):
        fields.clean(field("words"), wrong)  # type: ignore[arg-type]


def test_a_text_longer_than_a_record_is_refused() -> None:
    with pytest.raises(Invalid):
        fields.clean(field("words"), "x" * 20_001)


def test_a_name_on_two_levels() -> None:
    said = fields.clean(field("term"), {"text": "steel helmet", "broader": "headgear"})
    assert said.value == {"text": "steel helmet", "broader": "headgear"}


def test_a_date_in_words_is_read() -> None:
    """collections.md 3: 'late 1930s' is [1937..1939]."""
    said = fields.clean(field("date"), "late 1930s")
    assert said.words == "late 1930s"
    assert said.value == {
        "text": "late 1930s", "edtf": "[1937..1939]", "earliest": "1937-01-01", "latest": "1939-12-31",
    }  # fmt: skip
    assert fields.shown(field("date"), said.value, said.words) == "late 1930s (between 1937 and 1939)"


def test_a_date_that_cannot_be_read_is_kept_and_asked() -> None:
    said = fields.clean(field("date"), "3.4.1940")
    assert said.value is not None
    assert "earliest" not in said.value
    assert said.value["ask"] == "day_month_order"


def test_days_and_edtf_typed_by_hand_count() -> None:
    said = fields.clean(field("date"), {"text": "the old king's time", "edtf": "[1901..1910]"})
    assert said.value is not None
    assert (said.value["earliest"], said.value["latest"]) == ("1901-01-01", "1910-12-31")
    narrower = fields.clean(field("date"), {"text": "about 1938", "earliest": "1937-01-01", "latest": "1938-12-31"})
    assert narrower.value is not None
    assert narrower.value["earliest"] == "1937-01-01", "the cataloguer may narrow it"


@pytest.mark.parametrize("wrong", [{"earliest": "1938-02-31"}, {"earliest": "1939-01-01", "latest": "1938-01-01"}, {"edtf": "thirties"}])
def test_days_that_do_not_exist_are_refused(wrong: dict[str, str]) -> None:
    with pytest.raises(Invalid):
        fields.clean(field("date"), {"text": "1938"} | wrong)


@pytest.mark.parametrize(
    ("figure", "unit", "expected"),
    [("11.25", "in", {"mm": "285.75"}), ("1", "lb", {"g": "453.59237"}), ("18,3", "cm", {"mm": "183"})],
)
def test_measures_keep_the_figure_and_convert_exactly(figure: str, unit: str, expected: dict[str, str]) -> None:
    """collections.md 3: 1 in = 25.4 mm, 1 lb = 453.59237 g, exactly."""
    said = fields.clean(field("measure"), {"label": "height", "value": figure, "unit": unit})
    assert said.value is not None
    assert said.value["value"] == figure
    assert expected.items() <= said.value.items()


def test_a_measure_in_words_is_read() -> None:
    said = fields.clean(field("measure"), "height 11 1/4 in")
    assert said.value is not None
    assert [one["mm"] for one in said.value["measures"]] == ["285.75"]


@pytest.mark.parametrize("wrong", [{"value": "12"}, {"value": "x", "unit": "mm"}, {"value": "-3", "unit": "mm"}])
def test_a_measure_needs_a_figure_and_its_unit(wrong: dict[str, str]) -> None:
    with pytest.raises(Invalid):
        fields.clean(field("measure"), wrong)


def test_a_mark_reads_with_where_it_stands() -> None:
    given = {"text": "J. Q. / [...] 57", "kind": "size", "place": "liner band", "reading": "head size in cm"}
    said = fields.clean(field("mark"), given)
    shown = fields.shown(field("mark"), said.value, said.words)
    assert shown == "“J. Q. / [...] 57” (size, liner band): head size in cm"
    with pytest.raises(Invalid):
        fields.clean(field("mark"), given | {"kind": "price"})


def test_a_choice_is_one_of_the_field_s_own() -> None:
    significance = field("choice", "high", "normal", "low")
    assert fields.clean(significance, "high").value == {"text": "high"}
    with pytest.raises(Invalid):
        fields.clean(significance, "enormous")
    assert fields.sought(significance, {"text": "high"}, "high") == "", "nobody finds it by that word"
