"""Figures stand on pages and papers as the reader's language writes them, by one filter."""

import pytest
from django.template import Context, Template
from django.utils import translation

from museum.web.figures import written


@pytest.mark.parametrize(
    ("value", "most", "english", "german", "french"),
    [
        (999, None, "999", "999", "999"), (2456, None, "2,456", "2.456", "2\xa0456"), (1_234_567, None, "1,234,567", "1.234.567", "1\xa0234\xa0567"),
        (0, None, "0", "0", "0"), (12.5, None, "12.5", "12,5", "12,5"), (-1234.5, None, "−1,234.5", "−1.234,5", "−1\xa0234,5"),
        (80_000.04, 1, "80,000", "80.000", "80\xa0000"), (49.96, 1, "50", "50", "50"), (15_000.0, 0, "15,000", "15.000", "15\xa0000"),
        (100, 0, "100", "100", "100"),
        # what papers keep as they were issued: figures as texts
        ("8760", None, "8,760", "8.760", "8\xa0760"), ("55.20", None, "55.20", "55,20", "55,20"), ("+1234.5", None, "+1,234.5", "+1.234,5", "+1\xa0234,5"),
        ("-0.3", None, "−0.3", "−0,3", "−0,3"), ("− 0.25", None, "− 0.25", "− 0,25", "− 0,25"),
        # what is no figure
        ("–", None, "–", "–", "–"), ("", None, "", "", ""), (None, None, "", "", ""), ("1974.1.2", None, "1974.1.2", "1974.1.2", "1974.1.2"),
    ],
)  # fmt: skip
def test_a_figure_is_written_as_in_the_language(value: float | str | None, most: int | None, english: str, german: str, french: str) -> None:
    for code, words in (("en", english), ("de", german), ("fr", french)):
        with translation.override(code):
            # the thin and the wide space that do not break are alike to a reader
            assert written(value, most).replace("\u202f", "\xa0") == words, code


def test_the_filter_is_there_in_every_template_and_leaves_the_plural_to_the_count() -> None:
    hours = "{% blocktranslate count many=run.hours with n=run.hours|figure %}{{ n }} hour{% plural %}{{ n }} hours{% endblocktranslate %}"
    page = Template("{% load i18n %}" + hours + ", {{ lux|figure:1 }}")
    with translation.override("de"):
        assert page.render(Context({"run": {"hours": 2456}, "lux": 1.55})) == "2.456 Stunden, 1,6"
