"""Who was shown what, by whom, how long it holds; qualifications; and who may put any of it on file."""

from datetime import date, timedelta
from typing import Any

import pytest

from museum import clock
from museum.errors import Forbidden, Invalid, NotFound
from museum.history.models import About, Change
from museum.people import actions, competence
from museum.people.actor import Actor
from museum.people.models import Competence, Person
from museum.people.permissions import Role
from tests.conftest import cast

pytestmark = pytest.mark.django_db
RUST = "TR14"


@pytest.fixture
def teacher(society: Any, curator: Person) -> Person:
    """Long in practice, for which the curator has signed."""
    somebody = cast("Wenna", Role.VOLUNTEER)
    told = actions.record_practice(Actor.of(somebody), somebody.pk, RUST, on=clock.today(), valid_to=in_years(3), practice="twelve years at the bench, album 3")
    actions.sign_practice(Actor.of(curator), told.pk)
    return somebody


def in_years(years: int) -> date:
    return clock.today() + timedelta(days=365 * years)


def shown(by: Person, learner: Person, step: str = RUST, **more: Any) -> Competence:
    days = {"on": clock.today(), "valid_to": in_years(3)}
    return actions.record_shown(Actor.of(by), learner.pk, step, **{"shown_by": by.pk} | days | more)


def test_a_teacher_signs_off_and_it_holds_to_its_last_day(teacher: Person, volunteer: Person) -> None:
    row = shown(teacher, volunteer)
    assert competence.can(volunteer.pk, RUST, clock.today())
    assert competence.can(volunteer.pk, RUST, row.valid_to)
    assert not competence.can(volunteer.pk, RUST, row.valid_to + timedelta(days=1))
    assert not competence.can(volunteer.pk, RUST, clock.today() - timedelta(days=1))
    assert not competence.can(volunteer.pk, "TR10", clock.today())


def test_it_stands_in_the_time_lines_of_both(teacher: Person, volunteer: Person) -> None:
    shown(teacher, volunteer)
    change = Change.objects.get(what="competence.shown")
    assert set(About.objects.filter(change=change).values_list("kind", "key")) == {("person", volunteer.pk), ("person", teacher.pk)}


def test_nobody_signs_for_themselves(teacher: Person, curator: Person) -> None:
    with pytest.raises(Invalid, match="invalid") as refused:
        shown(teacher, teacher)
    assert "themselves" in str(refused.value.sentence)
    told = actions.record_practice(Actor.of(curator), curator.pk, RUST, on=clock.today(), valid_to=in_years(3), practice="years")
    with pytest.raises(Invalid):
        actions.sign_practice(Actor.of(curator), told.pk)


def test_who_cannot_do_it_cannot_teach_it(volunteer: Person, curator: Person, teacher: Person) -> None:
    learner = cast("Bram", Role.VOLUNTEER)
    for unable in (volunteer, curator):
        with pytest.raises(Invalid) as refused:
            shown(unable, learner)
        assert refused.value.field == "shown_by"
    with pytest.raises(Invalid):
        shown(teacher, learner, on=clock.today() - timedelta(days=1))


def test_a_conservator_may_teach_without_a_record(society: Any, curator: Person, volunteer: Person) -> None:
    visitor = cast("Ines", Role.READER, kind="conservator")
    with pytest.raises(Invalid):
        shown(visitor, volunteer)
    actions.give_qualification(Actor.of(curator), visitor.pk, "conservator", evidence="register of the trade, seen")
    shown(visitor, volunteer)
    assert competence.can(volunteer.pk, RUST, clock.today())
    assert visitor in competence.who_can_show(RUST, clock.today())


def test_a_curator_writes_down_what_another_showed_and_says_whence(teacher: Person, volunteer: Person, curator: Person) -> None:
    days = {"on": clock.today(), "valid_to": in_years(3)}
    with pytest.raises(Invalid) as refused:
        actions.record_shown(Actor.of(curator), volunteer.pk, RUST, shown_by=teacher.pk, **days)
    assert refused.value.field == "evidence"
    actions.record_shown(Actor.of(curator), volunteer.pk, RUST, shown_by=teacher.pk, evidence="paper of the Saturday workshop", **days)
    for role in (Role.VOLUNTEER, Role.REGISTRAR):
        with pytest.raises(Forbidden):
            actions.record_shown(Actor.of(cast(f"Some{role}", role)), volunteer.pk, RUST, shown_by=teacher.pk, evidence="hearsay", **days)


def test_prior_practice_counts_once_another_has_signed(volunteer: Person, curator: Person) -> None:
    with pytest.raises(Invalid):
        actions.record_practice(Actor.of(volunteer), volunteer.pk, RUST, on=clock.today(), valid_to=in_years(3), practice="  ")
    told = actions.record_practice(Actor.of(volunteer), volunteer.pk, RUST, on=clock.today(), valid_to=in_years(3), practice="nine years in a works museum")
    assert not competence.can(volunteer.pk, RUST, clock.today())
    assert [row.pk for row in competence.unsigned()] == [told.pk]
    actions.sign_practice(Actor.of(curator), told.pk)
    assert competence.can(volunteer.pk, RUST, clock.today())
    assert competence.unsigned() == []


@pytest.mark.parametrize(("kind", "may"), [("trustee", True), ("conservator", True), ("insurer", False), ("borrower", False)])
def test_of_readers_board_and_conservators_sign(volunteer: Person, kind: str, may: bool) -> None:
    told = actions.record_practice(Actor.of(volunteer), volunteer.pk, RUST, on=clock.today(), valid_to=in_years(3), practice="nine years")
    signer = Actor.of(cast("Tove", Role.READER, kind=kind))
    if may:
        actions.sign_practice(signer, told.pk)
    else:
        with pytest.raises(Forbidden):
            actions.sign_practice(signer, told.pk)
    assert competence.can(volunteer.pk, RUST, clock.today()) is may


def test_a_second_signature_later_is_for_the_only_curator_alone(curator: Person, volunteer: Person) -> None:
    told: dict[str, Any] = {"on": clock.today(), "valid_to": in_years(3), "practice": "years", "second_later": True}
    with pytest.raises(Invalid):
        actions.record_practice(Actor.of(volunteer), volunteer.pk, RUST, **told)
    row = actions.record_practice(Actor.of(curator), curator.pk, RUST, **told)
    assert row.second_later
    assert [one.pk for one in competence.unsigned()] == [row.pk]
    other = cast("Una", Role.CURATOR)
    with pytest.raises(Invalid):
        actions.record_practice(Actor.of(other), other.pk, RUST, **told)


def test_what_is_ended_counts_no_more(teacher: Person, volunteer: Person, curator: Person) -> None:
    row = shown(teacher, volunteer)
    with pytest.raises(Forbidden):
        actions.end_competence(Actor.of(teacher), row.pk, reason="no")
    with pytest.raises(Invalid):
        actions.end_competence(Actor.of(curator), row.pk, reason=" ")
    actions.end_competence(Actor.of(curator), row.pk, reason="hands shake now")
    assert not competence.can(volunteer.pk, RUST, clock.today())
    with pytest.raises(NotFound):
        actions.end_competence(Actor.of(curator), row.pk, reason="again")


def test_the_induction_is_told_by_a_curator_or_whoever_was_told(curator: Person, volunteer: Person) -> None:
    newer = cast("Bram", Role.VOLUNTEER)
    with pytest.raises(Invalid):
        shown(volunteer, newer, "handling")
    shown(curator, volunteer, "handling")
    shown(volunteer, newer, "handling")
    assert competence.can(newer.pk, "handling", clock.today())


def test_a_qualification_is_given_by_another_with_evidence_and_ends(curator: Person, administrator: Person) -> None:
    day = clock.today()
    with pytest.raises(Invalid):
        actions.give_qualification(Actor.of(curator), curator.pk, "conservator", evidence="a diploma")
    with pytest.raises(Invalid):
        actions.give_qualification(Actor.of(administrator), curator.pk, "conservator", evidence="")
    with pytest.raises(Invalid):
        actions.give_qualification(Actor.of(administrator), curator.pk, "wizard", evidence="a hat")
    actions.give_qualification(Actor.of(administrator), curator.pk, "conservator", evidence="a diploma", until=day + timedelta(days=30))
    assert competence.qualified(curator.pk, "conservator", day)
    assert not competence.qualified(curator.pk, "conservator", day + timedelta(days=31))
    assert not competence.qualified(curator.pk, "licensed specialist", day)
    actions.end_qualification(Actor.of(administrator), curator.pk, "conservator", reason="retired")
    assert not competence.qualified(curator.pk, "conservator", day)
    with pytest.raises(Invalid):
        actions.end_qualification(Actor.of(administrator), curator.pk, "conservator", reason="again")


def test_leavers_are_not_named_as_teachers(teacher: Person, administrator: Person) -> None:
    assert teacher in competence.who_can_show(RUST, clock.today())
    assert teacher not in competence.who_can_show(RUST, clock.today(), but=teacher.pk)
    actions.mark_left(Actor.of(administrator), teacher.pk, version=teacher.version, on=clock.today())
    assert competence.who_can_show(RUST, clock.today()) == []


@pytest.mark.parametrize(
    ("role", "shows", "signs", "ends", "qualifies"),
    [
        (Role.VOLUNTEER, True, False, False, False),
        (Role.CURATOR, True, True, True, True),
        (Role.REGISTRAR, True, False, False, False),
        (Role.ADMINISTRATOR, False, False, False, True),
    ],
)
def test_each_role(teacher: Person, volunteer: Person, role: Role, shows: bool, signs: bool, ends: bool, qualifies: bool) -> None:
    actor = Actor.of(cast("Somebody", role))
    told = actions.record_practice(Actor.of(volunteer), volunteer.pk, RUST, on=clock.today(), valid_to=in_years(1), practice="years")
    days: dict[str, Any] = {"on": clock.today(), "valid_to": in_years(1)}
    assert done(lambda: actions.record_practice(actor, actor.someone, "TR10", practice="years", **days)) is shows
    assert done(lambda: actions.sign_practice(actor, told.pk)) is signs
    assert done(lambda: actions.end_competence(actor, told.pk, reason="over")) is ends
    assert done(lambda: actions.give_qualification(actor, volunteer.pk, "conservator", evidence="seen")) is qualifies


def done(what: Any) -> bool:
    try:
        what()
    except Forbidden:
        return False
    return True
