"""The lesson on paper: one page, the cautions before the work, a line for both names."""

from collections.abc import Callable
from io import BytesIO
from typing import Any

import pytest
from django.test import Client
from pypdf import PdfReader

from conservation.rules.guidance import shipped_lessons
from conservation.treatments.learning import key_of
from museum.errors import Forbidden, NotFound
from museum.ids import uuid7
from museum.papers.files import open_file
from museum.people.actor import Actor
from museum.people.models import Person
from reports.actions import gather
from reports.issuing import issue

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("lesson", shipped_lessons(), ids=lambda lesson: lesson.step)
def test_a_lesson_is_one_page(lesson: Any, volunteer: Person) -> None:
    paper = issue(Actor.of(volunteer), "lesson", key_of(lesson))
    with open_file(paper.file) as file:
        read = PdfReader(BytesIO(file.read()))
    said = " ".join(read.pages[0].extract_text().split())
    assert len(read.pages) == 1
    assert lesson.title in said
    assert said.index("Protection") < said.index("In this order") < said.index("Shown to")


def test_what_is_no_lesson_is_not_there(volunteer: Person, administrator: Person) -> None:
    with pytest.raises(NotFound):
        gather(Actor.of(volunteer), "lesson", uuid7())
    with pytest.raises(Forbidden):
        gather(Actor.of(administrator), "lesson", key_of(shipped_lessons()[0]))


def test_it_is_asked_for_on_its_page(volunteer: Person, reader: Person, as_person: Callable[[Person], Client]) -> None:
    assert 'value="lesson"' in as_person(volunteer).get("/lessons/TR14/").content.decode()
    assert 'value="lesson"' not in as_person(reader).get("/lessons/TR14/").content.decode()
