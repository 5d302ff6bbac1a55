"""The pages of the rules speak in words: every table says what it is for, every column and figure has its name."""

import re
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from conservation.rules.editing import columns_of
from conservation.rules.every import TABLES
from conservation.rules.labels import about, label_of, value_words
from museum.people.models import Person


@pytest.mark.parametrize("name", TABLES)
def test_every_table_column_figure_and_choice_has_its_words(name: str) -> None:
    table = TABLES[name]
    assert about(name).endswith(".")
    for key in columns_of(table) or table.shipped():
        assert label_of(name, key).name
    choices = {option for options in table.sorts.values() if not isinstance(options, str) for option in options if option and not option.isdigit()}
    assert not {option for option in choices if value_words(option) == option and option not in WORDS}


#: choices that are words already
WORDS = {
    "volunteer", "curator", "conservator", "licensed specialist", "yes", "no", "forbidden", "metal", "organic", "plastic", "rubber", "mineral",
}  # fmt: skip


@pytest.mark.django_db
@pytest.mark.parametrize("name", TABLES)
def test_no_page_of_the_rules_shows_the_bare_name_of_a_column(name: str, curator: Person, as_person: Callable[[Person], Client]) -> None:
    browser, code = as_person(curator), next(iter(TABLES[name].shipped()))
    for address in (reverse("rules:table", args=[name]), reverse("rules:row", args=[name, code]), reverse("rules:change", args=[name, code])):
        answer = browser.get(address)
        assert answer.status_code == 200, address
        shown = re.sub(r"<[^>]*>", " ", answer.content.decode())
        bare = {column for column in columns_of(TABLES[name]) if "_" in column} & set(re.findall(r"[a-z_]+", shown))
        assert not bare, address


@pytest.mark.django_db
def test_codes_are_told_in_words_beside_them(curator: Person, as_person: Callable[[Person], Client]) -> None:
    browser = as_person(curator)
    assert "tinned steel; zinc" in browser.get(reverse("rules:row", args=["terms", "RUST_SPOT"])).content.decode()
    assert "is refused" in browser.get(reverse("rules:change", args=["supplies", "wax"])).content.decode()
    figure = browser.get(reverse("rules:row", args=["rules", "full_days_on_hold"])).content.decode()
    assert "Days until the next full check of what is held" in figure
