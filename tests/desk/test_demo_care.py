"""The demo museum tells of care in every state, so that each page has something real to show."""

from collections.abc import Callable

import pytest
from django.test import Client

from collection.objects.models import Number, Object, Photograph
from collection.objects.queries import photographs_of
from collection.objects.screens import standing_of
from conservation.checks.models import CardTest, Due, Incident
from conservation.treatments import stock
from conservation.treatments.asking import waits_for_a_second
from conservation.treatments.models import Approval, Batch, DepositDecision, DepositDefault, Kept, Lapse, Proposal, StandingApproval, Work, WorkStep
from locations.places.models import Misplaced
from museum import clock
from museum.desk.demo import care, museum
from museum.people.actor import Actor
from museum.people.competence import unsigned
from museum.people.models import Invitation, Person

pytestmark = pytest.mark.django_db


def thing(number: str) -> Object:
    return Number.objects.get(text=number).object


def test_every_state_of_care_is_there(monkeypatch: pytest.MonkeyPatch, as_person: Callable[[Person], Client]) -> None:
    monkeypatch.setattr(museum, "GENERATED", 0)
    museum.load("a lamp in the hose tower", air=False)
    assert {row.object for row in Proposal.objects.filter(state="waiting")} == {thing("1999.2.1"), thing("2005.1.2")}
    assert Proposal.objects.get(state="returned").object == thing("1974.12.3")
    assert Approval.objects.filter(object=thing("2005.1.1"), lapse=None, object__works=None).exists(), "approved, not begun"
    assert Lapse.objects.get().approval.object == thing("2005.1.2")
    assert Work.objects.get(end=None).object == thing("2005.1.3"), "work goes on"
    assert WorkStep.objects.get(result="stopped").work.object == thing("2005.1.4")
    assert Kept.objects.get().component.object == thing("2005.1.5")
    due = Due.objects.filter(object=thing("2005.1.5"), call__why="follow_up", on__lte=clock.today())
    assert due.exists(), "a look after work is due"
    assert Work.objects.filter(object=thing("2004.1.1")).count() == 2, "the everyday helmet"
    assert {test.reading for test in CardTest.objects.all()} == {"", "powder"}
    assert CardTest.objects.filter(reading="", due_on__lte=clock.today()).exists(), "a card waits to be read"
    assert DepositDecision.objects.get(decision="").finding.object == thing("2005.1.9"), "named and undecided"
    assert DepositDefault.objects.get().kind == "mud"
    assert thing("1948.9.2").card.hazard_level == 3
    assert StandingApproval.objects.get(end=None).person.name == "Marit"
    assert [row.object for row in waits_for_a_second()] == [thing("2005.1.7")]
    assert Incident.objects.get(closed_on=None).source
    assert [standing_of(thing(f"2005.3.{n}").pk).state for n in (1, 2, 3)] == ["confirmed", "missing", "outdated"]
    assert thing("2005.2.1").card.whose == "own_prop", "the practice piece"
    codes = {batch.supply: stock.may_use(batch).standing.codes for batch in Batch.objects.all()}
    assert codes["rag_paper"] == ("RECALLED",)
    assert codes["wax"] == ("EXPIRED",)
    assert codes["polyester_film"] == ()
    assert Due.objects.filter(call__why="recall").count() == 2
    assert Misplaced.objects.filter(object=thing("2005.1.6"), level="refuse").exists()
    assert len(unsigned()) == 1, "practice that nobody signed for yet"
    _guest_and_word(as_person)
    _pictures_worth_a_look()
    reasons = [said["earlier"] for row in Proposal.objects.exclude(object__in=[thing("2005.1.1"), thing("2005.1.5")]) for said in row.steps]
    assert len(set(reasons)) == len(reasons), "each story has a reason of its own"
    for row in WorkStep.objects.filter(result="done").select_related("work__object"):
        assert len(row.acknowledged) < 12, "nobody ticked what was not asked"
    browser = as_person(Person.objects.get(email="curator@example.org"))
    for page in ("/proposals/", "/standing/", "/competence/", "/lessons/", "/stock/", "/cards/", "/incidents/", "/places/wrong/", "/rounds/due/"):
        assert browser.get(page).status_code == 200, page
    for number in ("2005.1.3", "2005.1.9", "1948.9.2", "2005.2.1"):
        assert browser.get(f"/things/{thing(number).pk}/may/").status_code == 200


def _guest_and_word(as_person: Callable[[Person], Client]) -> None:
    """Somebody without a role sees two things, agreed in writing to what one of them needs, and is still asked about the other."""
    guest = Person.objects.get(email=care.GUEST_EMAIL)
    assert not guest.roles()
    asked = {thing("1931.2.7"), thing("2005.1.2")}
    assert set(Object.objects.visible_to(Actor.of(guest))) == asked
    assert Invitation.objects.get().is_open
    assert care.HER_WORD in Approval.objects.get(object=thing("1931.2.7")).written
    page = as_person(guest).get("/").content.decode()
    assert all(row.card.number in page for row in asked)


def _pictures_worth_a_look() -> None:
    """What was finished shows another picture after than before, of the same views; a proposal shows its finding from near."""
    for row in Work.objects.filter(end__isnull=False).select_related("end"):
        before = {one.view: one.file.sha256 for one in Photograph.objects.filter(pk__in=row.before).select_related("file")}
        after = {one.view: one.file.sha256 for one in Photograph.objects.filter(pk__in=row.end.after).select_related("file")}
        assert set(before) == set(after) == {"V01", "V13"}
        assert all(before[view] != after[view] for view in before)
    for proposal in Proposal.objects.exclude(object=thing("1931.2.7")).exclude(object=thing("2005.1.2")):
        assert photographs_of("finding", proposal.finding_id or proposal.pk).exists(), proposal
    used = {one.file.name for one in Photograph.objects.select_related("file")}
    assert {path.name for path in care.PICTURES.iterdir()} <= used, "no picture is kept for nothing"
