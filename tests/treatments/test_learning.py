"""Lessons, sign-offs and the pages of what people were shown, for every role."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client

from conservation.rules.guidance import shipped_lessons
from conservation.rules.leave import same_day_later
from conservation.treatments import learning
from conservation.treatments.actions.learning import sign_off, tell_practice
from conservation.treatments.asking import house_of
from museum import clock
from museum.errors import Invalid
from museum.ids import uuid7
from museum.people import actions, competence
from museum.people.actor import Actor
from museum.people.models import Competence, Person
from museum.people.permissions import Role
from tests.conftest import cast

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]


@pytest.fixture
def teacher(society: Any, curator: Person) -> Person:
    somebody = cast("Wenna", Role.VOLUNTEER)
    for key in tell_practice(Actor.of(somebody), somebody.pk, ["TR14", "TR10"], on=clock.today(), practice="twelve years"):
        actions.sign_practice(Actor.of(curator), key)  # type: ignore[arg-type]
    return somebody


def test_one_afternoon_fills_several_lines_and_holds_three_years(teacher: Person, volunteer: Person) -> None:
    key = uuid7()
    for _again in range(2):
        rows = sign_off(Actor.of(teacher).keyed(key), volunteer.pk, ["TR14", "TR10"], shown_by=teacher.pk, on=clock.today())
        assert len(rows) == 2
    assert Competence.objects.filter(person=volunteer).count() == 2
    last = Competence.objects.filter(person=volunteer).first()
    assert last is not None
    assert last.valid_to == same_day_later(clock.today(), years=3)


def test_29_february_holds_to_28_february(curator: Person, volunteer: Person) -> None:
    tell_practice(Actor.of(curator), volunteer.pk, ["TR14"], on=date(2024, 2, 29), practice="years")
    assert Competence.objects.get().valid_to == date(2027, 2, 28)


def test_what_asks_for_no_competence_is_not_put_on_file(teacher: Person, volunteer: Person) -> None:
    for steps in (["TR03"], ["TR999"], []):
        with pytest.raises(Invalid) as refused:
            sign_off(Actor.of(teacher), volunteer.pk, steps, shown_by=teacher.pk, on=clock.today())
        assert refused.value.field == "steps"


def test_one_refused_line_stores_none(teacher: Person, volunteer: Person) -> None:
    with pytest.raises(Invalid):
        sign_off(Actor.of(teacher), volunteer.pk, ["TR14", "TR24"], shown_by=teacher.pk, on=clock.today())
    assert not Competence.objects.filter(person=volunteer).exists()


def test_a_second_signature_waits_only_where_the_rules_let_it(curator: Person) -> None:
    rows = tell_practice(Actor.of(curator), curator.pk, ["TR14"], on=clock.today(), practice="years", second_later=True)
    assert len(rows) == 1
    assert house_of().open_second == [clock.today()], "it waits like an approval that one person signed"
    cast("Una", Role.CURATOR)
    with pytest.raises(Invalid):
        tell_practice(Actor.of(curator), curator.pk, ["TR10"], on=clock.today(), practice="years", second_later=True)


def test_refreshers_are_due_three_months_before_the_end_and_after_it(teacher: Person, volunteer: Person) -> None:
    today = clock.today()

    def due() -> list[str]:
        return [told.subject.code for person, told in learning.refreshers(today) if person == volunteer]

    sign_off(Actor.of(teacher), volunteer.pk, ["TR14"], shown_by=teacher.pk, on=today, valid_to=today + timedelta(days=91))
    assert due() == []
    sign_off(Actor.of(teacher), volunteer.pk, ["TR10"], shown_by=teacher.pk, on=today, valid_to=today + timedelta(days=90))
    assert due() == ["TR10"]
    sign_off(Actor.of(teacher), volunteer.pk, ["TR10"], shown_by=teacher.pk, on=today)
    assert due() == []


def test_somebody_new_has_everything_of_the_first_day_to_be_told(curator: Person) -> None:
    newcomer = cast("Bram", Role.VOLUNTEER)
    today = clock.today()
    assert {told.stands for told in learning.induction(newcomer.pk, today)} == {"none"}
    sign_off(Actor.of(curator), newcomer.pk, list(competence.INDUCTION), shown_by=curator.pk, on=today)
    assert {told.stands for told in learning.induction(newcomer.pk, today)} == {"in_force"}
    waiting = [person for person, _missing in learning.gaps_of_induction(today)]
    assert newcomer not in waiting
    assert curator not in waiting, "whoever tells it is not asked to be told"


@pytest.mark.parametrize("step", [lesson.step for lesson in shipped_lessons()])
def test_each_lesson_is_a_page_that_names_who_can_show_it(teacher: Person, volunteer: Person, as_person: Browser, step: str) -> None:
    page = as_person(volunteer).get(f"/lessons/{step}/").content.decode()
    assert "practice" in page.lower()
    assert (teacher.name in page) is (step in ("TR14", "TR10"))


def test_a_lesson_that_is_none(volunteer: Person, as_person: Browser) -> None:
    assert as_person(volunteer).get("/lessons/TR03/").status_code == 404


def test_a_teacher_signs_off_on_the_learners_page(teacher: Person, volunteer: Person, as_person: Browser) -> None:
    browser = as_person(teacher)
    typed = {"form": "shown", "steps": ["TR14"], "shown_by": str(teacher.pk), "on": clock.today().isoformat(), "act": str(uuid7())}
    assert browser.post(f"/people/{volunteer.pk}/shown/", typed).status_code == 302
    assert competence.can(volunteer.pk, "TR14", clock.today())
    page = browser.get(f"/people/{volunteer.pk}/shown/").content.decode()
    assert "in force" in page


def test_what_was_typed_stays_when_it_is_refused(teacher: Person, volunteer: Person, as_person: Browser) -> None:
    typed = {"form": "shown", "steps": ["TR24"], "shown_by": str(teacher.pk), "on": clock.today().isoformat(), "evidence": "by the window"}
    page = as_person(teacher).post(f"/people/{volunteer.pk}/shown/", typed)
    assert page.status_code == 200
    assert "by the window" in page.content.decode()
    assert "cannot sign for this" in page.content.decode()


def test_signing_and_ending_by_page(teacher: Person, volunteer: Person, curator: Person, as_person: Browser) -> None:
    (key,) = tell_practice(Actor.of(volunteer), volunteer.pk, ["TR24"], on=clock.today(), practice="nine years")
    assert "nine years" in as_person(curator).get("/competence/").content.decode()
    as_person(curator).post(f"/competence/{key}/sign/")
    assert competence.can(volunteer.pk, "TR24", clock.today())
    as_person(curator).post(f"/competence/{key}/end/", {"reason": "moved away"})
    assert not competence.can(volunteer.pk, "TR24", clock.today())


def test_a_qualification_by_page(curator: Person, volunteer: Person, as_person: Browser) -> None:
    browser, address = as_person(curator), f"/people/{volunteer.pk}/shown/"
    browser.post(address, {"form": "qualification", "kind": "conservator", "evidence": "register seen"})
    assert competence.qualified(volunteer.pk, "conservator", clock.today())
    assert "register seen" in browser.get(address).content.decode()
    browser.post(f"/people/{volunteer.pk}/qualification/end/", {"kind": "conservator", "reason": "retired"})
    assert not competence.qualified(volunteer.pk, "conservator", clock.today())


@pytest.mark.parametrize("role", list(Role), ids=str)
def test_each_role_sees_the_forms_it_may_use(teacher: Person, volunteer: Person, role: Role, as_person: Browser) -> None:
    page = as_person(cast("Somebody", role, kind="trustee" if role is Role.READER else "")).get(f"/people/{volunteer.pk}/shown/").content.decode()
    assert ('value="shown"' in page) is (role is not Role.ADMINISTRATOR)
    assert ('value="practice"' in page) is (role is Role.CURATOR)
    assert ('value="qualification"' in page) is (role in (Role.CURATOR, Role.ADMINISTRATOR))


def test_the_same_by_program(teacher: Person, volunteer: Person, curator: Person, as_person: Browser) -> None:
    address = f"/api/people/{volunteer.pk}/competences"
    today = clock.today().isoformat()
    body = {"id": str(uuid7()), "steps": ["TR14"], "shown_by": str(teacher.pk), "on": today}
    browser = as_person(teacher)
    answers = [browser.post(address, body, content_type="application/json") for _again in range(2)]
    assert [answer.status_code for answer in answers] == [201, 201]
    assert answers[0].json() == answers[1].json()
    told = as_person(volunteer).post(address, {"steps": ["TR24"], "practice": "nine years", "on": today}, content_type="application/json")
    (key,) = told.json()["ids"]
    assert as_person(volunteer).post(f"/api/competences/{key}/sign", {}, content_type="application/json").status_code == 403
    assert as_person(curator).post(f"/api/competences/{key}/sign", {}, content_type="application/json").status_code == 201
    stands = {one["step"]: one["stands"] for one in browser.get(address).json()["competences"]}
    assert (stands["TR14"], stands["TR24"], stands["TR10"]) == ("in_force", "in_force", "none")
    assert as_person(curator).post(f"/api/competences/{key}/end", {"reason": "moved"}, content_type="application/json").status_code == 201
    both = {"steps": ["TR14"], "on": today}
    assert browser.post(address, both, content_type="application/json").status_code == 400
    paper = {"kind": "conservator", "evidence": "register"}
    assert as_person(curator).post(f"/api/people/{volunteer.pk}/qualifications", paper, content_type="application/json").status_code == 201
    assert browser.get(address).json()["qualifications"] == ["conservator"]


@pytest.mark.parametrize("lesson", shipped_lessons(), ids=lambda lesson: lesson.step)
def test_each_lesson_has_its_drawings_with_words(lesson: Any, volunteer: Person, as_person: Browser) -> None:
    page = as_person(volunteer).get(f"/lessons/{lesson.step}/").content.decode()
    assert page.count('<svg class="drawing"') == len(lesson.drawings) == 3
    assert all(words in page for _drawing, words in learning.panels(lesson))
