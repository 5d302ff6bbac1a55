"""The marks: a shape and always a word."""

from decimal import Decimal

import pytest
from django.template import Context, Template
from django.utils import translation

from museum.web.templatetags.look import share
from tests.web.stylesheet import STATIC


def drawn(source: str, **values: object) -> str:
    return Template(source).render(Context(values))


@pytest.mark.parametrize(
    ("source", "symbol", "words"),
    [
        ("{% grade 0 %}", "grade-0", "Grade 0, nothing"),
        ("{% grade 1 %}", "grade-1", "Grade 1, minor"),
        ("{% grade 2 %}", "grade-2", "Grade 2, moderate"),
        ("{% grade 3 %}", "grade-3", "Grade 3, major"),
        ("{% activity 0 %}", "act-0", "Stable"),
        ("{% activity None %}", "act-1", "Activity not known"),
        ("{% activity 3 %}", "act-3", "Active, fast"),
        ("{% urgency 0 %}", "urg-0", "No hurry"),
        ("{% urgency 3 %}", "urg-3", "Isolate within 24 hours"),
        ("{% hazard 1 %}", "haz-1", "Danger suspected"),
        ('{% hazard 3 "radium" %}', "haz-3", "Held: nobody works on it: radium"),
    ],
)
def test_shape_and_word(source: str, symbol: str, words: str) -> None:
    html = drawn(source)
    assert f"icons.svg#i-{symbol}" in html
    assert f'id="i-{symbol}"' in (STATIC / "icons.svg").read_text(encoding="utf-8")
    assert words in html


def test_what_is_not_known_is_said_and_has_no_shape() -> None:
    assert "Not checked yet" in drawn("{% grade None %}")
    assert "Urgency not judged yet" in drawn("{% urgency None %}")
    assert "<svg" not in drawn("{% grade None %}{% urgency None %}")


def test_a_danger_s_name_cannot_bring_markup() -> None:
    assert "<b>" not in drawn("{% hazard 2 words %}", words="<b>x</b>")


def test_a_word_is_asked_for_in_the_reader_s_language_each_time() -> None:
    with translation.override("de"):
        drawn("{% grade 2 %}")
    with translation.override("en"):
        assert "Grade 2, moderate" in drawn("{% grade 2 %}")


def test_the_value_of_a_mapping_under_a_key() -> None:
    assert drawn("{{ m|of:k }}", m={"a": 1}, k="a") == "1"
    assert drawn("{{ m|of:k|default_if_none:'-' }}", m={"a": 1}, k="b") == "-"
    assert drawn("{{ missing|of:'b'|default_if_none:'-' }}") == "-"


@pytest.mark.parametrize(
    ("language", "percent", "said"),
    [("en", "0.1", "0.1"), ("de", "0.1", "0,1"), ("en", "2,5", "2.5"), ("de", Decimal("2.50"), "2,5"), ("fr", Decimal("50.00"), "50"), ("de", None, "")],
)
def test_a_share_is_written_as_the_reader_writes_it(language: str, percent: Decimal | str | None, said: str) -> None:
    with translation.override(language):
        assert share(percent) == said
