"""Looking again at finished work (reference 7.4, 4.5: nothing is treated by calendar), and practice outside the gates."""

from collections.abc import Callable

import pytest
from django.test import Client

from collection.objects.actions.parts import note_zone
from collection.objects.models import Component
from conservation.checks.models import Call
from conservation.checks.queries import open_findings
from conservation.treatments import learning
from conservation.treatments.actions.deciding import approve
from conservation.treatments.actions.ending import end_work
from conservation.treatments.actions.following import look_again
from conservation.treatments.actions.learning import tell_try
from conservation.treatments.actions.working import record_spot, record_step, stop_step
from conservation.treatments.deeds import Meant
from conservation.treatments.follow import catch_up
from conservation.treatments.models import FollowUp, Lapse, Practice, Work, WorkEnd
from conservation.treatments.refusal import Refused
from conservation.treatments.reopened import reopened
from museum.errors import Invalid
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests.treatments import stock

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]
CLEAN = {str(n): "no" for n in range(1, 11)}


@pytest.fixture
def done(volunteer: Person, curator: Person, conservator: Person) -> Work:
    """Loose rust brushed off and the session ended."""
    by = Actor.of(volunteer)
    thing, seen = stock.rusty(by)
    approve(Actor.of(curator), stock.proposed(by, thing, seen, Meant(step="TR14", earlier="dry")).pk, version=1)
    stock.shown(volunteer, conservator, "TR14")
    work = stock.begun(by, thing, "TR14", before=(stock.picture(by, thing),), finding_id=seen.finding)
    record_spot(by, work.pk, spot_id=uuid7(), step="TR14", surface="steel", unchanged=True)
    record_step(by, work.pk, stock.done("TR14"))
    end_work(by, work.pk, end_id=uuid7(), after=[stock.picture(by, thing, "V01", 2)])
    return work


def seen_again(by: Person, work: Work, reading: str, note: str = "") -> FollowUp:
    key = uuid7()
    found: FollowUp = look_again(Actor.of(by).keyed(key), work.pk, follow_id=key, reading=reading, note=note)
    return found


def test_trouble_that_stays_away_closes_the_finding(done: Work, volunteer: Person) -> None:
    seen_again(volunteer, done, "gone")
    assert list(open_findings(done.object_id)) == []
    assert not reopened().exists()


def test_nothing_new_leaves_the_finding_as_it_is(done: Work, volunteer: Person) -> None:
    before = [(row.percent, row.severity, row.activity) for row in open_findings(done.object_id)]
    seen_again(volunteer, done, "holds")
    assert [(row.percent, row.severity, row.activity) for row in open_findings(done.object_id)] == before
    assert not reopened().exists()


def test_powder_on_the_card_opens_a_closed_finding_ends_the_leave_and_asks_for_a_proposal(done: Work, volunteer: Person) -> None:
    seen_again(volunteer, done, "gone")
    follow = seen_again(volunteer, done, "powder", "orange, under the rim")
    assert [(row.finding_id, row.activity, row.change) for row in open_findings(done.object_id)] == [(done.finding_id, 2, "new")]
    assert list(reopened()) == [follow]
    catch_up()
    assert Lapse.objects.get().why == "zone_changed"
    stock.proposed(Actor.of(volunteer), done.object, type("Seen", (), {"finding": done.finding_id}), Meant(step="TR14", earlier="dry"))  # type: ignore[arg-type]
    assert not reopened().exists(), "somebody has proposed what comes next"


def test_a_follow_up_answers_what_was_due(done: Work, volunteer: Person) -> None:
    Call.objects.filter(source=done.pk)
    assert Call.objects.filter(source=done.pk, answer=None).exists()
    with pytest.raises(Invalid):
        seen_again(volunteer, done, "worse")


def test_the_page_and_the_api_of_a_follow_up(done: Work, volunteer: Person, as_person: Browser) -> None:
    browser = as_person(volunteer)
    page = browser.get(f"/work/{done.pk}/").content.decode()
    assert "Before and after" in page
    assert browser.post(f"/work/{done.pk}/do/", {"do": "follow", "reading": "worse", "note": ""}).status_code == 409
    assert browser.post(f"/work/{done.pk}/do/", {"do": "follow", "reading": "soap", "note": "soft and green"}).status_code == 302
    assert "Soap has re-formed" in browser.get(f"/things/{done.object_id}/may/").content.decode()
    assert "open again" in browser.get("/").content.decode()
    body = {"id": str(uuid7()), "reading": "gone"}
    for _again in range(2):
        assert browser.post(f"/api/work/{done.pk}/follow-ups/", body, content_type="application/json").json()["reading"] == "gone"
    assert FollowUp.objects.count() == 2


def test_a_practice_piece_answers_the_screen_and_nothing_else_is_asked(volunteer: Person) -> None:
    by = Actor.of(volunteer)
    with pytest.raises(Invalid):
        tell_try(by, "TR14", practice_id=uuid7(), piece="a tin lid", screen={"1": "no"})
    with pytest.raises(Refused) as refused:
        tell_try(by, "TR14", practice_id=uuid7(), piece="a tin lid", screen=CLEAN | {"2": "unsure"})
    assert refused.value.data["gate"] == "PIECE"
    assert "lead paint" in refused.value.sentence
    assert not Practice.objects.exists()
    tell_try(by, "TR14", practice_id=uuid7(), piece="a tin lid", screen=CLEAN)
    assert [row.piece for row in learning.to_sign_off()] == ["a tin lid"]


def test_practice_leads_to_the_teachers_sign_off(volunteer: Person, conservator: Person, as_person: Browser) -> None:
    learner, teacher = as_person(volunteer), as_person(conservator)
    answers = {f"q{number}": answer for number, answer in CLEAN.items()}
    sent = answers | {"piece": "a rusted tin lid", "went": "slowly", "beside": str(conservator.pk)}
    again = learner.post("/lessons/TR14/", sent | {"q3": ""})
    assert again.status_code == 409
    assert "a rusted tin lid" in again.content.decode()
    assert learner.post("/lessons/TR14/", sent).status_code == 302
    assert "practised beside you" in teacher.get("/").content.decode()
    assert "a rusted tin lid" in teacher.get("/competence/").content.decode()
    assert "a rusted tin lid" in teacher.get(f"/people/{volunteer.pk}/shown/?step=TR14").content.decode()
    stock.shown(volunteer, conservator, "TR14")
    assert not learning.to_sign_off().exists()


def test_a_session_on_a_zone_that_the_thing_is_said_to_lack_since_can_still_be_ended(volunteer: Person) -> None:
    by = Actor.of(volunteer)
    thing, _seen = stock.rusty(by)
    work = stock.begun(by, thing, "TR03", before=(stock.picture(by, thing),))
    stop_step(by, work.pk, stock.done("TR03", note="a flake came off", photographs=[stock.picture(by, thing, "", 2)]))
    main = Component.objects.get(object=thing, sort="main")
    note_zone(PROGRAM, main.pk, zone="RB", present=False)
    end_work(by, work.pk, end_id=uuid7(), after=[stock.picture(by, thing, shade=1)])
    assert WorkEnd.objects.filter(work=work).exists()
