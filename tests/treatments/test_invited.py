"""A conservator from outside: invited by mail to certain things until a day, with a word of their own, and nothing else of the house."""

import re
from collections.abc import Callable
from datetime import date, timedelta
from typing import Any, Final

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import get_resolver
from PIL import Image

from collection.objects.actions.hazards import report_hazard
from collection.objects.models import Object, Photograph
from conservation.treatments.actions.deciding import approve
from conservation.treatments.actions.inviting import invite_conservator
from conservation.treatments.actions.proposals import advise, propose_treatment, resubmit
from conservation.treatments.deeds import Meant
from conservation.treatments.models import Approval, Decision, Proposal, Work
from conservation.treatments.refusal import Refused
from conservation.treatments.tasks import send_invitation
from museum import clock
from museum.errors import Forbidden, Invalid, NotFound
from museum.history.models import About, Act
from museum.ids import uuid7
from museum.jobs.models import Job
from museum.jobs.running import run
from museum.papers.models import IssuedPaper
from museum.people import actions as people
from museum.people import competence
from museum.people.actor import Actor
from museum.people.invitations import address_of, guest_of
from museum.people.models import Invitation, Person
from museum.people.secret import Secret
from reports.issuing import issue
from reports.tasks import issue_paper
from tests.checks.conftest import Letterbox, letterbox
from tests.desk.test_doors import NOT_ASKED, filled, patterns, permission_of
from tests.objects.pictures import made
from tests.treatments import stock

__all__ = ["letterbox"]
#: what the worker knows
KINDS: Final = (send_invitation, issue_paper)
pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]
WORD: Final = "Electrolysis in the studio only; stop at the dark firm layer."
PASSWORD: Final = "a bell in the fog"
#: reduced chemically: a conservator's step (4.1 of the reference, the table of steps)
ACID: Final = Meant(step="TR16", earlier="it sits under the film")


def invited(by: Person, *things: Object, until: date | None = None, email: str = "sunniva@example.org") -> Invitation:
    """An invitation as it stands once it is sent."""
    key = uuid7()
    return invite_conservator(
        Actor.of(by).keyed(key), invitation_id=key, name="Sunniva", email=email, things=[thing.pk for thing in things],
        until=until or clock.today() + timedelta(days=30), evidence="diploma, register no. 17, both seen", words="Is the rust under the film a case for you?",
    )  # fmt: skip


def accepted(row: Invitation) -> Person:
    """Whom it brings into the house."""
    key = uuid7()
    people.accept_invitation(guest_of(row, Actor(None, "", frozenset()), key), row.pk, name="Sunniva Aas", password=Secret(PASSWORD))
    return Person.objects.get(pk=key)


@pytest.fixture
def thing(volunteer: Person) -> Object:
    return stock.rusty(Actor.of(volunteer))[0]


@pytest.fixture
def other(volunteer: Person) -> Object:
    return stock.rusty(Actor.of(volunteer), number="1980.3.1")[0]


def proposed_on(thing: Object, by: Person, *steps: Meant) -> Proposal:
    key, finding = uuid7(), thing.findings.get()
    return propose_treatment(
        Actor.of(by).keyed(key), thing.pk, proposal_id=key, zone=stock.zone_of(thing), surface="steel", aim="rust off", steps=steps or (ACID,),
        finding_id=finding.pk,
    )  # fmt: skip


def path_of(row: Invitation) -> str:
    return "/invited/" + address_of(row).split("/invited/")[1]


def address_in(box: Letterbox) -> str:
    """The path of the address in the last mail."""
    body = box.mails[-1][1].get_payload(decode=True).decode()  # type: ignore[union-attr]
    found = re.search(r"https?://[^/\s]+(/invited/\S+)", body)
    assert found, body
    return found[1]


def test_from_the_mail_to_the_word_that_lets_the_curator_consent(
    thing: Object, other: Object, volunteer: Person, curator: Person, letterbox: Letterbox, as_person: Browser
) -> None:
    proposal = proposed_on(thing, volunteer)
    desk = as_person(curator)
    assert f"/invitations/new/?thing={thing.pk}" in desk.get(f"/proposals/{proposal.pk}/").content.decode()
    refused = desk.post(f"/proposals/{proposal.pk}/decide/", {"do": "approve", "version": 1})
    assert refused.status_code == 409, "a conservator's step waits for a conservator's word"

    form = {
        "name": "Sunniva", "email": "Sunniva@example.org", "evidence": "diploma, seen", "things": [str(thing.pk)], "words": "Is it for you?",
        "until": (clock.today() + timedelta(days=30)).isoformat(),
    }  # fmt: skip
    assert desk.post("/invitations/new/", form).status_code == 302
    for job in Job.objects.order_by("created_at"):
        run(job.pk)
    (addresses, mail), path = letterbox.mails[0], address_in(letterbox)
    assert addresses == ["sunniva@example.org"]
    assert len(letterbox.mails) == 1
    assert mail["Message-ID"]

    guest = Client()
    assert "Ivo" in guest.get(path).content.decode()
    weak = guest.post(path, {"name": "Sunniva Aas", "password": "short"})
    assert weak.status_code == 200
    assert not Person.objects.filter(email="sunniva@example.org").exists()
    assert guest.post(path, {"name": "Sunniva Aas", "password": PASSWORD}).status_code == 302
    today = guest.get("/").content.decode()
    assert "1974.12.3" in today
    assert "Sunniva Aas</span>" in today, "without a role no role follows the name"

    page = guest.get(f"/proposals/{proposal.pk}/").content.decode()
    assert "I agree" in page
    assert "Approve until" not in page
    paper = guest.get(f"/proposals/{proposal.pk}/paper/")
    assert b"".join(paper.streaming_content).startswith(b"%PDF")  # type: ignore[attr-defined]
    assert guest.post(f"/proposals/{proposal.pk}/decide/", {"do": "agree", "version": 1, "reason": WORD}).status_code == 302
    assert Proposal.objects.get().state == "waiting", "the word is not the consent"
    assert WORD in desk.get("/proposals/").content.decode()
    assert desk.post(f"/proposals/{proposal.pk}/decide/", {"do": "approve", "version": 1}).status_code == 302
    said = issue(Actor.of(curator), "treatment_proposal", proposal.pk).data["proposal"]["written"]
    assert (WORD in said, "Sunniva Aas, conservator" in said) == (True, True), "on paper it is the written proposal"
    approval = Approval.objects.get()
    assert (approval.approved_by, WORD in approval.written, "Sunniva Aas" in approval.written) == (curator, True, True)


def test_the_guest_works_as_a_conservator_on_what_was_sent(thing: Object, volunteer: Person, curator: Person, as_person: Browser) -> None:
    proposal, guest = proposed_on(thing, volunteer), accepted(invited(curator, thing))
    advise(Actor.of(guest), proposal.pk, version=1, agrees=True, words=WORD)
    approve(Actor.of(curator), proposal.pk, version=1)
    picture = SimpleUploadedFile("front.jpg", made(image=Image.new("RGB", (400, 300))), content_type="image/jpeg")
    sent = {"zone": stock.zone_of(thing), "surface": "steel", "step": "TR16", "view": "V01", "photo": picture}
    assert as_person(guest).post(f"/things/{thing.pk}/work/", sent).status_code == 302
    assert (Work.objects.get().person, Photograph.objects.latest("id").taken_by) == (guest, guest)
    assert Act.objects.get(action="treatments.start_work").role == "invited"


@pytest.mark.parametrize(
    ("code", "level", "said"), [("ASBESTOS", 3, "Nobody works on this and it is not opened."), ("LEAD_PAINT", 1, "Gloves and mask, aired room")]
)
def test_the_guest_is_told_of_dangers_on_the_page_of_the_thing(
    code: str, level: int, said: str, thing: Object, curator: Person, reader: Person, as_person: Browser
) -> None:
    """Whoever is to handle it must read it where the thing is opened first; nothing of the state, the place or the house comes with it."""
    guest = accepted(invited(curator, thing))
    report_hazard(Actor.of(curator), thing.pk, code=code, level=level, note="a tab in the liner")
    page = as_person(guest).get(f"/things/{thing.pk}/").content.decode()
    assert (said in page, f"/things/{thing.pk}/may/" in page, "/dangers/" in page, "Full check" in page) == (True, True, False, False)
    assert said not in as_person(reader).get(f"/things/{thing.pk}/").content.decode()


def test_returned_by_the_conservator_and_sent_again_the_old_word_counts_no_more(thing: Object, volunteer: Person, curator: Person) -> None:
    proposal, guest = proposed_on(thing, volunteer), Actor.of(accepted(invited(curator, thing)))
    advise(guest, proposal.pk, version=1, agrees=True, words=WORD)
    advise(guest, proposal.pk, version=1, agrees=False, words="On second thoughts: which electrolyte?")
    assert Proposal.objects.get().state == "returned"
    resubmit(Actor.of(volunteer), proposal.pk, version=2, surface="steel", aim="rust off", steps=[ACID])
    with pytest.raises(Refused) as refused:
        approve(Actor.of(curator), proposal.pk, version=3)
    assert refused.value.data["gate"] == "APPROVAL"
    assert [row.what for row in Decision.objects.order_by("recorded_at")] == ["endorsed", "returned"]


def test_no_word_on_ones_own_on_what_a_curator_decides_alone_or_without_the_qualification(thing: Object, volunteer: Person, curator: Person) -> None:
    guest = accepted(invited(curator, thing))
    own = proposed_on(thing, guest)
    with pytest.raises(Forbidden):
        advise(Actor.of(guest), own.pk, version=1, agrees=True, words=WORD)
    gentle = proposed_on(thing, volunteer, Meant(step="TR14", earlier="dry since March"))
    with pytest.raises(Invalid):
        advise(Actor.of(guest), gentle.pk, version=1, agrees=True, words=WORD)
    acid = proposed_on(thing, volunteer)
    with pytest.raises(Forbidden):
        advise(Actor.of(curator), acid.pk, version=1, agrees=True, words=WORD)
    with pytest.raises(Forbidden):
        approve(Actor.of(guest), acid.pk, version=1)
    with pytest.raises(Invalid):
        advise(Actor.of(guest), acid.pk, version=1, agrees=False, words=" ")


def test_nothing_else_of_the_house_is_there_for_a_guest(thing: Object, other: Object, volunteer: Person, curator: Person, as_person: Browser) -> None:
    """At every address: what is about another thing is absent, and no list names it."""
    Object.objects.filter(pk=other.pk).update(public=True)
    hidden, guest = proposed_on(other, volunteer), accepted(invited(curator, thing))
    stock.picture(Actor.of(volunteer), other)
    browser, wrong = as_person(guest), []
    for name, pattern in patterns(get_resolver()):
        if permission_of(pattern.callback) is NOT_ASKED or name == "people:sign_out":
            continue
        path = filled(pattern, str(other.pk))
        for answer in (browser.get(path), browser.post(path, content_type="application/json", data="{}")):
            of_it = "<uuid:object_id>" in str(pattern.pattern) or "<uuid:subject>" in str(pattern.pattern)
            # what is sent to a thing is looked at before the thing is: 400 says nothing of it
            if of_it and answer.status_code not in (400, 403, 404, 405):
                wrong.append((path, answer.status_code))
            if not answer.streaming and "1980.3.1" in answer.content.decode():
                wrong.append((path, "names it"))
    for path in (
        f"/things/{other.pk}/",
        f"/things/{other.pk}/may/",
        f"/things/{other.pk}/propose/",
        f"/proposals/{hidden.pk}/",
        f"/proposals/{hidden.pk}/paper/",
    ):
        if browser.get(path).status_code != 404 or browser.get(path.replace(str(other.pk), str(uuid7()))).status_code != 404:
            wrong.append((path, "is not as absent"))
    assert not wrong
    with pytest.raises(NotFound):
        advise(Actor.of(guest), hidden.pk, version=1, agrees=True, words=WORD)


def test_a_guest_reads_neither_place_nor_standing_leave_nor_papers_of_the_house(thing: Object, curator: Person, as_person: Browser) -> None:
    browser = as_person(accepted(invited(curator, thing)))
    for path in ("/places/", "/papers/", "/standing/", "/stock/", "/competence/", "/invitations/", "/people/", "/rounds/", "/climate/"):
        assert browser.get(path).status_code in (403, 404), path
    assert browser.get(f"/things/{thing.pk}/").status_code == 200
    assert browser.get("/api/me").json()["roles"] == []


@pytest.mark.parametrize("over", ["taken back", "past its day"])
def test_once_it_is_over_nothing_is_open_and_the_qualification_ends(over: str, thing: Object, curator: Person, as_person: Browser) -> None:
    row = invited(curator, thing)
    guest = accepted(row)
    row.refresh_from_db()
    assert competence.qualified(guest.pk, "conservator", clock.today())
    at = clock.now()
    if over == "taken back":
        people.end_invitation(Actor.of(curator), row.pk, version=row.version, reason="the answer came by letter")
    else:
        at = clock.start_of(row.until + timedelta(days=1))
    with clock.at(at):
        assert as_person(guest).get(f"/things/{thing.pk}/").status_code in (403, 404)
        assert not competence.qualified(guest.pk, "conservator", clock.today())
        assert not Actor.of(guest).may("treatment.see")
        assert Client().get(path_of(row)).status_code == 404


def test_two_invitations_open_both_and_one_taken_back_leaves_the_other(thing: Object, other: Object, curator: Person) -> None:
    first, later = invited(curator, thing), clock.today() + timedelta(days=90)
    guest = accepted(first)
    second = invited(curator, other, until=later)
    people.accept_invitation(guest_of(second, Actor.of(guest), uuid7()), second.pk)
    assert set(Object.objects.visible_to(Actor.of(guest))) == {thing, other}
    assert competence.qualified(guest.pk, "conservator", later)
    second.refresh_from_db()
    people.end_invitation(Actor.of(curator), second.pk, version=second.version)
    assert set(Object.objects.visible_to(Actor.of(guest))) == {thing}
    assert competence.qualified(guest.pk, "conservator", first.until)
    assert not competence.qualified(guest.pk, "conservator", later)


def test_the_address_is_good_once_and_only_as_it_was_sent(thing: Object, curator: Person) -> None:
    row = invited(curator, thing)
    path = path_of(row)
    assert Client().get(path[:-3] + "xx/").status_code == 404
    accepted(row)
    assert Client().post(path, {"name": "Somebody else", "password": PASSWORD}).status_code == 302
    assert not Person.objects.filter(name="Somebody else").exists()
    row.refresh_from_db()
    assert (row.name, row.email, row.guest) == ("", "", "Sunniva Aas"), "name and address stand with the person only"


def test_programs_invite_accept_answer_and_take_back_each_once(thing: Object, volunteer: Person, curator: Person, as_person: Browser) -> None:
    proposal, desk, key, person = proposed_on(thing, volunteer), as_person(curator), str(uuid7()), str(uuid7())

    def post(client: Client, path: str, body: dict[str, Any]) -> Any:
        return client.post(path, body, content_type="application/json")

    body = {
        "id": key, "name": "Sunniva", "email": "sunniva@example.org", "evidence": "diploma", "things": [str(thing.pk)],
        "until": (clock.today() + timedelta(days=9)).isoformat(),
    }  # fmt: skip
    assert [post(desk, "/api/invitations/", body).status_code for _n in range(2)] == [201, 201]
    row = Invitation.objects.get()
    path = "/api" + path_of(row).rstrip("/")
    accept = {"id": person, "name": "Sunniva Aas", "password": PASSWORD}
    assert [post(Client(), path, accept).status_code for _n in range(2)] == [200, 200]
    assert post(Client(), path, accept | {"id": str(uuid7())}).status_code == 400, "accepted once"
    guest = as_person(Person.objects.get(pk=person))
    word = {"id": str(uuid7()), "version": 1, "agrees": True, "words": WORD}
    assert [post(guest, f"/api/proposals/{proposal.pk}/advise/", word).status_code for _n in range(2)] == [201, 201]
    assert Decision.objects.count() == 1
    row.refresh_from_db()
    assert post(desk, f"/api/invitations/{row.pk}/end/", {"version": row.version}).status_code == 201
    assert guest.get(f"/api/things/{thing.pk}/may/").status_code == 403


def test_who_has_a_role_is_not_invited_and_a_day_must_be_to_come(thing: Object, curator: Person, volunteer: Person) -> None:
    with pytest.raises(Invalid, match="invalid") as refused:
        invited(curator, thing, email=volunteer.email.upper())
    assert volunteer.name in refused.value.sentence
    for day in (clock.today() - timedelta(days=1), clock.today() + timedelta(days=400)):
        with pytest.raises(Invalid):
            invited(curator, thing, until=day)
    with pytest.raises(Forbidden):
        invited(volunteer, thing)
    assert not Invitation.objects.exists()


def test_all_that_is_wrong_in_the_form_is_told_at_once_beside_its_field_and_what_was_typed_stays(
    thing: Object, curator: Person, volunteer: Person, as_person: Browser
) -> None:
    desk, path = as_person(curator), f"/invitations/new/?thing={thing.pk}"
    assert "novalidate" in desk.get(path).content.decode(), "a browser stops at the first"
    typed = {"name": " ", "email": "sunniva at example", "evidence": "", "until": "2020-01-01", "words": "Is the rust under the film a case for you?"}
    answer = desk.post(path, typed)
    assert set(answer.context["form"].errors) == {"name", "email", "evidence", "things", "until"}
    page = answer.content.decode()
    for name in ("name", "email", "evidence", "things", "until"):
        assert f'id="inviteform_{name}_error"' in page, name
    assert all(one in page for one in ("sunniva at example", "2020-01-01", "Is the rust under the film a case for you?"))
    holder = desk.post(path, typed | {"email": volunteer.email})
    assert volunteer.name in holder.context["form"].errors["email"][0]
    assert not Invitation.objects.exists()


def test_the_time_line_of_the_thing_tells_of_it_without_name_or_address(thing: Object, curator: Person, as_person: Browser) -> None:
    accepted(invited(curator, thing))
    told = About.objects.filter(key=thing.pk).values_list("change__what", flat=True)
    assert {"invitation.made", "invitation.accepted"} <= set(told)
    assert "sunniva@example.org" not in as_person(curator).get(f"/things/{thing.pk}/").content.decode()


def test_a_mail_server_that_is_away_leaves_the_address_to_hand_over(thing: Object, curator: Person, settings: Any, as_person: Browser) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9
    row = invited(curator, thing)
    job = Job.objects.get(kind="send_invitation")
    run(job.pk)
    job.refresh_from_db()
    assert (job.state, "mail server" in job.error) == ("failed", True)
    assert address_of(row) in as_person(curator).get("/invitations/").content.decode()


def test_a_proposal_without_a_paper_has_none_to_fetch(thing: Object, volunteer: Person, as_person: Browser) -> None:
    proposal = proposed_on(thing, volunteer)
    assert not IssuedPaper.objects.exists()
    assert as_person(volunteer).get(f"/proposals/{proposal.pk}/paper/").status_code == 404
