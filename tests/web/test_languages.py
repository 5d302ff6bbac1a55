"""The catalogues: whole where somebody stands at an object, and never with a place that the sentence does not fill."""

import ast
import re
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.utils import formats, translation

from collection.objects.date_words import between
from conservation.rules.tables import terms
from museum import catalogues
from museum.errors import DomainError
from museum.people.models import Person
from tests import stock

LANGUAGES = ("de", "fr")
#: where every text is told in every language
WHOLE = ("conservation/checks/", "conservation/rules/reasons.py", "conservation/rules/data/", "museum/desk/timeline.py", "museum/web/context.py")
#: told in German, still to be told in French: the tables of treatment and what is done first
NOT_YET_IN_FRENCH = tuple(f"conservation/rules/data/{name}" for name in ("treatment_rules.csv", "contraindications.csv", "sequences.json", "lessons.json"))
PLACES = re.compile(r"%\(\w+\)[sd]|%%")


@pytest.fixture(scope="module")
def said() -> dict[str, Any]:
    return {path.parts[-3]: catalogues.load(path) for path in catalogues.kept()}


def forms(text: Any) -> tuple[str, ...]:
    return (text,) if isinstance(text, str) else tuple(text)


def of_the_walk() -> Iterator[catalogues.Found]:
    return (found for found in catalogues.every_text() if found[0].startswith(WHOLE))


def test_the_languages_of_the_accounts_have_a_catalogue(said: dict[str, Any]) -> None:
    assert set(said) == set(LANGUAGES)


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_walk_is_whole_in(language: str, said: dict[str, Any]) -> None:
    """A new text of these parts: run bin/words, then write it in both languages."""
    missing = []
    responses = {term.response for term in terms().values()}
    for where, text, context in of_the_walk():
        if language == "fr" and (where in NOT_YET_IN_FRENCH or text in responses):
            continue
        message = said[language].get(forms(text)[0], context)
        if message is None or message.fuzzy or not catalogues.is_said(message.string):
            missing.append(f"{where}: {text}")
    assert not missing, "\n".join(missing)


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_sentence_fills_the_same_places_in(language: str, said: dict[str, Any]) -> None:
    wrong = []
    for message in said[language]:
        if message.id and catalogues.is_said(message.string):
            wanted = {place for form in forms(message.id) for place in PLACES.findall(form)}
            wrong += [form for form in forms(message.string) if set(PLACES.findall(form)) != wanted]
    assert not wrong


def refusals() -> Iterator[tuple[Path, ast.Call]]:
    """Every call in the program that makes an error of the domain."""
    kinds, more = set[str](), [DomainError]
    while more:
        kinds.add((kind := more.pop()).__name__)
        more += kind.__subclasses__()
    for room in catalogues.SOURCES:
        for path in sorted((catalogues.ROOT / room).rglob("*.py")):
            calls = (node for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(node, ast.Call))
            yield from ((path, call) for call in calls if isinstance(call.func, ast.Name) and call.func.id in kinds)


def test_every_refusal_can_be_said_in_other_languages() -> None:
    found = list(refusals())
    assert len(found) > 300
    bare = [f"{path}:{call.lineno}" for path, call in found if call.args and isinstance(call.args[0], ast.Constant)]
    assert not bare, "\n".join(bare)


def test_every_refusal_brings_what_its_sentence_names() -> None:
    """A place that nothing fills breaks the answer: the field goes by itself and fills none."""
    wrong = []
    for path, call in refusals():
        texts = [node.value for argument in call.args[:1] for node in ast.walk(argument) if isinstance(node, ast.Constant) and isinstance(node.value, str)]
        named = {name for text in texts for name in re.findall(r"%\((\w+)\)", text)}
        brought = {keyword.arg for keyword in call.keywords} - {"field"}
        if None not in brought and not named <= brought:
            wrong.append(f"{path}:{call.lineno} {sorted(named - brought)}")
    assert not wrong, "\n".join(wrong)


def test_what_is_a_variable_is_no_text() -> None:
    texts = [text for _where, text, _context in catalogues.every_text()]
    assert texts
    assert all(all(forms(text)) for text in texts)


@pytest.mark.django_db
def test_the_walk_in_german(volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    thing = stock.helmet()
    Person.objects.filter(pk=volunteer.pk).update(language="de")
    browser = as_person(Person.objects.get(pk=volunteer.pk))
    page = browser.get(f"/things/{thing.pk}/check/", follow=True).content.decode()
    assert '<html lang="de"' in page
    assert "Bevor Sie es anfassen: zehn Fragen" in page
    assert "Rundgänge" in page
    answers = dict.fromkeys(re.findall(r'type="radio" name="([^"]+)"', page), "no")
    page = browser.post(browser.get(f"/things/{thing.pk}/check/", follow=True).redirect_chain[-1][0], answers, follow=True).content.decode()
    assert "Was sehen Sie?" in page
    assert "Der erste Blick hierauf: ein letztes Mal gibt es nicht." in page
    assert "<b>0,1 %</b>" in page
    for text in ("What do you see?", "As last time", "Nothing seen", "surface dust", "Looks only"):
        assert text not in page


@pytest.mark.parametrize(
    "language, day, figure",
    [("en", "25 November 2026", "0.5"), ("de", "25. November 2026", "0,5"), ("fr", "25 novembre 2026", "0,5")],
)
def test_days_and_figures_go_with_the_language(language: str, day: str, figure: str) -> None:
    with translation.override(language):
        assert formats.date_format(date(2026, 11, 25), "DATE_FORMAT") == day
        assert formats.localize(0.5) == figure


@pytest.mark.parametrize(
    "first, last, words",
    [
        ("1931-01-01", "1938-12-31", "between 1931 and 1938"),
        ("1938-01-01", "1938-12-31", "1938"),
        ("1938-05-17", "1938-05-17", "17 May 1938"),
        ("1938-05-01", "1940-06-30", "between 1 May 1938 and 30 June 1940"),
        ("1938-01-01", None, "not before 1938"),
        (None, "1938-06-30", "not after 30 June 1938"),
        (None, None, ""),
        ("-0043-01-01", "0010-12-31", "between -0043-01-01 and 10"),
    ],
)
def test_bounds_of_a_date_in_words(first: str | None, last: str | None, words: str) -> None:
    assert between(first, last) == words


def test_bounds_of_a_date_in_german() -> None:
    with translation.override("de"):
        assert between("1931-01-01", "1938-12-31") == "zwischen 1931 und 1938"


def test_every_name_under_which_texts_are_marked_is_gathered() -> None:
    """A module that calls gettext by a name of its own would stay English for good."""
    marks = re.compile(r"^from django\.utils\.translation import (.*)$", re.MULTILINE)
    for part in catalogues.SOURCES:
        for path in (catalogues.ROOT / part).rglob("*.py"):
            names = [one.split(" as ")[-1].strip(" ()") for line in marks.findall(path.read_text(encoding="utf-8")) for one in line.split(",")]
            assert {name for name in names if "gettext" in name or name.startswith("_")} <= set(catalogues.KEYWORDS), path
