"""The pages, without scripts: what may I do, the proposal, the desk, the work."""

import html
import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from collection.objects.actions.objects import set_ownership
from collection.objects.models import Object
from conservation.rules.guidance import shipped_guidance
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments.actions.deciding import approve
from conservation.treatments.actions.proposals import propose_treatment, return_proposal
from conservation.treatments.deeds import Meant
from conservation.treatments.models import DepositDecision, OwnerLeave, Proposal, StandingApproval, Work, WorkEnd, WorkStep
from museum import clock
from museum.errors import Invalid, VersionConflict
from museum.ids import uuid7
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from museum.people.permissions import Role
from tests import stock as house
from tests.conftest import cast
from tests.objects.pictures import made
from tests.treatments import stock

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]


def upload(shade: int = 0) -> SimpleUploadedFile:
    """Another picture for each shade."""
    return SimpleUploadedFile("front.jpg", made(image=Image.new("RGB", (400 + shade, 300))), content_type="image/jpeg")


def test_the_box_answers_at_once(volunteer: Person, as_person: Browser) -> None:
    thing = house.helmet()
    stock.record(Actor.of(volunteer), thing, house.seen(thing, "HB", "MOULD_DORMANT", material="leather"))
    spot = f"{stock.zone_of(thing, 'HB')}|leather"
    page = as_person(volunteer).get(f"/things/{thing.pk}/may/", {"words": "bleach", "spot": spot}).content.decode()
    assert "note--refused" in page
    assert "Instead:" in page
    assert "CX" in page


def test_what_the_tables_say_is_german_on_a_german_page(volunteer: Person, curator: Person, as_person: Browser) -> None:
    """Steps, first responses and prohibitions; whose a step is, too. A curator in a hurry decides by these words."""
    Person.objects.update(language="de")
    thing, seen = stock.rusty(Actor.of(volunteer))
    asked = {"words": "wire wool", "spot": f"{stock.zone_of(thing)}|steel"}
    page = as_person(Person.objects.get(pk=volunteer.pk)).get(f"/things/{thing.pk}/may/", asked).content.decode()
    assert set(re.findall(r"ist Sache von: ([^<.]+)", page)) == {"Kurator(in)"}
    for german in ("Nur abbürsten oder abnehmen, was schon lose ist", "Mit Maßstab fotografieren, % der Zone festhalten",
                   "Stahlwolle, Drahtbürste, Schleifpapier", "hinterlässt Stahlsplitter, die rosten"):  # fmt: skip
        assert german in page
    stock.proposed(Actor.of(volunteer), thing, seen, Meant(step="TR16", earlier="zu tief"))
    desk = as_person(Person.objects.get(pk=curator.pk)).get("/proposals/").content.decode()
    assert "Rost soll chemisch, durch Elektrolyse, Tannat, Säure oder feines Schleifmittel gemindert werden: Weitergeben" in desk
    for english in ("Brush or pick off", "Photograph with scale, record", "Removes original paint", "Refer", "rust to be reduced"):
        assert english not in page + desk


def test_what_lacks_a_conservators_proposal_is_not_offered_to_be_approved(volunteer: Person, curator: Person, as_person: Browser) -> None:
    """The gate would refuse it in any case; the page says what opens it, and returning stays possible."""
    thing, seen = stock.rusty(Actor.of(volunteer))
    row, desk = stock.proposed(Actor.of(volunteer), thing, seen, Meant(step="TR16", earlier="too deep")), as_person(curator)
    for page in ("/proposals/", f"/proposals/{row.pk}/"):
        text = desk.get(page).content.decode()
        assert ('value="approve"' in text, 'value="return"' in text, "written proposal is on file: ask a conservator" in text) == (False, True, True)
        assert "Rust to be reduced chemically, by electrolysis, tannate, acid or fine abrasive: Refer" in text
    filed = stock.proposed(Actor.of(volunteer), thing, seen, Meant(step="TR16", earlier="too deep"), written="letter of 3 May, file 12")
    assert 'value="approve"' in desk.get(f"/proposals/{filed.pk}/").content.decode()


def test_what_no_step_brings_is_told_by_its_name_with_the_steps_that_bring_it_elsewhere(volunteer: Person, as_person: Browser) -> None:
    thing, _seen = stock.rusty(Actor.of(volunteer))
    sent = {"words": "a damp cloth", "spot": f"{stock.zone_of(thing)}|steel"}
    page = as_person(volunteer).get(f"/things/{thing.pk}/may/", sent).content.decode()
    assert "brings a damp cloth or swab, dried at once here" in page
    page = as_person(volunteer).get(f"/things/{thing.pk}/may/", sent | {"words": "soft brush"}).content.decode()
    assert "<li>TR03 surface dust</li>" in page


def test_the_aim_is_one_sentence(volunteer: Person) -> None:
    thing, _seen = stock.rusty(Actor.of(volunteer))
    with pytest.raises(Invalid) as asked:
        propose_treatment(
            Actor.of(volunteer), thing.pk, proposal_id=uuid7(), zone=stock.zone_of(thing), surface="steel", aim="x" * 301, steps=[Meant(step="TR01")]
        )
    assert asked.value.field == "aim"


def test_leave_is_given_for_twelve_months_at_the_longest(volunteer: Person, curator: Person) -> None:
    thing, seen = stock.rusty(Actor.of(volunteer))
    proposal = stock.proposed(Actor.of(volunteer), thing, seen, Meant(step="TR14", earlier="dry"))
    with pytest.raises(Invalid) as asked:
        approve(Actor.of(curator), proposal.pk, version=1, until=clock.today() + timedelta(days=400))
    assert "at the longest" in asked.value.sentence
    assert asked.value.field == "until"


def test_whoever_decides_too_late_is_told_who_was_first(volunteer: Person, curator: Person) -> None:
    thing, seen = stock.rusty(Actor.of(volunteer))
    proposal = stock.proposed(Actor.of(volunteer), thing, seen, Meant(step="TR14", earlier="dry"))
    return_proposal(Actor.of(curator), proposal.pk, version=1, remark="which brush?")
    with pytest.raises(VersionConflict) as late:
        approve(Actor.of(curator), proposal.pk, version=1)
    assert late.value.sentence.startswith(f"{curator.name} decided")


def test_a_refused_proposal_keeps_what_was_typed(volunteer: Person, as_person: Browser) -> None:
    thing, seen = stock.rusty(Actor.of(volunteer))
    sent = {"zone": stock.zone_of(thing), "surface": "steel", "finding": str(seen.finding), "step": "TR16", "aim": "bright again", "earlier": ""}
    answer = as_person(volunteer).post(f"/things/{thing.pk}/propose/", sent)
    assert answer.status_code == 409
    assert "bright again" in answer.content.decode()
    assert not Proposal.objects.exists()


def test_five_on_the_desk_and_the_whole_work_by_hand(volunteer: Person, curator: Person, conservator: Person, as_person: Browser) -> None:
    marit, ivo = as_person(volunteer), as_person(curator)
    thing, seen = stock.rusty(Actor.of(volunteer))
    where = {"zone": stock.zone_of(thing), "surface": "steel", "finding": str(seen.finding), "step": "TR14"}
    assert marit.get(f"/things/{thing.pk}/may/").status_code == 200
    sent = marit.post(f"/things/{thing.pk}/propose/", where | {"aim": "loose rust off", "earlier": "dry already"})
    proposal = Proposal.objects.get()
    assert sent["Location"] == f"/proposals/{proposal.pk}/"
    assert "loose rust off" in ivo.get("/proposals/").content.decode()
    decide = f"/proposals/{proposal.pk}/decide/"
    ivo.post(decide, {"do": "return", "version": "1", "reason": "which brush?", "next": "/proposals/"})
    assert "which brush?" in marit.get(f"/proposals/{proposal.pk}/").content.decode()
    marit.post(decide, {"do": "again", "version": "2", "surface": "steel", "aim": "loose rust off", "step": "TR14", "words": "", "earlier": "dry already"})
    assert "cannot" not in ivo.post(decide, {"do": "approve", "version": "3", "reason": ""}, follow=True).content.decode()
    proposal.refresh_from_db()
    assert proposal.state == "approved"

    stock.shown(volunteer, conservator, "TR14")
    begun = marit.post(f"/things/{thing.pk}/work/", where | {"photo": upload(), "view": "V01"})
    work = Work.objects.get()
    assert begun["Location"].startswith(f"/work/{work.pk}/")
    page = marit.get(begun["Location"]).content.decode()
    assert "Stop" in page
    assert "acknowledged" in page
    do, step = f"/work/{work.pk}/do/", {"step": "TR14", "surface": "steel"}
    marit.post(do, step | {"do": "spot", "unchanged": "yes"})
    marit.post(do, step | {"do": "step"})
    assert not WorkStep.objects.exists(), "the cautions were not ticked"
    marit.post(do, step | {"do": "step", "acknowledged": ["TR14", "CX01", "CX73", "CX74"], "minutes": "10"})
    assert WorkStep.objects.get().result == "done"
    marit.post(do, step | {"do": "keep", "name": "rust powder", "because": "it tells of the fire", "bag": "vial 3"})
    assert "vial 3" in marit.get(f"/work/{work.pk}/").content.decode()
    marit.post(do, step | {"do": "stop", "note": "paint colour on the brush", "photo": upload(1)})
    after = marit.post(do, {"do": "end", "view": "V01", "note": "ask Rhea", "photo": upload(2)}, follow=True)
    assert WorkEnd.objects.get(work=work).kinds == ["dry"], after.content.decode()
    told = marit.get(f"/things/{thing.pk}/?show=treatment").content.decode()
    assert "stopped work at a stop sign" in told
    told = ivo.get(f"/proposals/{proposal.pk}/").content.decode()
    assert f'href="/work/{work.pk}/"' in told
    assert "Begin further work" in told or "Ended:" in told


def test_a_deposit_and_standing_leave_by_hand(volunteer: Person, curator: Person, as_person: Browser) -> None:
    thing = house.helmet()
    mud = house.seen(thing, "RB", "SIGNIF_DEPOSIT", material="paint")
    stock.record(Actor.of(volunteer), thing, mud)
    as_person(volunteer).post(f"/deposits/{mud.finding}/", {"kind": "mud"})
    as_person(curator).post(f"/deposits/{mud.finding}/", {"kind": "mud", "decision": "keep", "reason": "the flood of 1953"})
    assert [row.decision for row in DepositDecision.objects.order_by("recorded_at")] == ["", "keep"]
    as_person(curator).post("/standing/", {"person": str(volunteer.pk), "step": "TR14", "material": "steel"})
    standing = StandingApproval.objects.get()
    assert "Marit" in as_person(volunteer).get("/standing/").content.decode()
    as_person(curator).post(f"/standing/{standing.pk}/end/")
    assert standing.end is not None


def test_by_the_api(volunteer: Person, curator: Person, as_person: Browser) -> None:
    thing, seen = stock.rusty(Actor.of(volunteer))
    marit, ivo = as_person(volunteer), as_person(curator)
    body = {
        "id": str(uuid7()), "zone": stock.zone_of(thing), "surface": "steel", "aim": "loose rust off", "finding": str(seen.finding),
        "steps": [{"step": "TR14", "earlier": "dry"}],
    }  # fmt: skip
    for _again in range(2):
        answer = marit.post(f"/api/things/{thing.pk}/proposals/", body, content_type="application/json")
        assert answer.status_code == 201, answer.content
    assert Proposal.objects.count() == 1
    refused = marit.post(f"/api/things/{thing.pk}/proposals/", body | {"id": str(uuid7()), "steps": [{"words": "wire wool"}]}, content_type="application/json")
    assert refused.status_code == 409
    assert refused.json()["gate"].startswith("CX")
    assert refused.json()["instead"]
    key = body["id"]
    assert marit.post(f"/api/proposals/{key}/approve/", {"version": 1}, content_type="application/json").status_code == 403
    assert ivo.post(f"/api/proposals/{key}/approve/", {"version": 1}, content_type="application/json").json()["state"] == "approved"
    may = marit.get(f"/api/things/{thing.pk}/may/", {"words": "bleach"}).json()
    assert may["findings"][0]["ways"]
    assert may["asked"]["refusal"]["gate"]


def test_whoever_does_not_sign_reads_of_no_hidden_thing_that_one_person_signed_alone(curator: Person, reader: Person, as_person: Browser) -> None:
    """The board signs for things that are not shown too; an insurer neither signs nor learns that they exist."""
    by, insurer = Actor.of(curator), cast("Ines", Role.READER, kind="insurer")
    thing, seen = stock.rusty(by, number="1974.9.9")
    approve(by, stock.proposed(by, thing, seen, Meant(step="TR14", earlier="dusting left it")).pk, version=1, second_later=True)
    said = {person.name: as_person(person).get("/proposals/").content.decode() for person in (reader, insurer)}
    assert "1974.9.9" in said[reader.name]
    assert "Sign as the second person" in said[reader.name]
    assert "1974.9.9" not in said["Ines"]
    Object.objects.filter(pk=thing.pk).update(public=True)
    shown = as_person(insurer).get("/proposals/").content.decode()
    assert "1974.9.9" in shown
    assert "Sign as the second person" not in shown
    assert "Give standing leave" not in as_person(insurer).get("/standing/").content.decode()


def test_no_button_is_no_end_of_the_work_and_no_proposal_sent_again(volunteer: Person, curator: Person, conservator: Person, as_person: Browser) -> None:
    """A form that was cut short on its way says nothing; what is not said is not done."""
    by = Actor.of(volunteer)
    thing, seen = stock.rusty(by)
    proposal = stock.proposed(by, thing, seen, Meant(step="TR14", earlier="dusting left it"))
    return_proposal(Actor.of(curator), proposal.pk, version=1, remark="which brush?")
    sent = {"version": "2", "surface": "steel", "aim": "rust off", "step": "TR14", "words": "", "earlier": "dusting left it"}
    assert as_person(volunteer).post(f"/proposals/{proposal.pk}/decide/", sent).status_code == 404
    assert Proposal.objects.get().state == "returned"
    work = stock.begun(by, thing, "TR01")
    for do in ({}, {"do": "ended"}):
        assert as_person(volunteer).post(f"/work/{work.pk}/do/", {"step": "TR01", "surface": "steel", **do}).status_code == 404
    assert not WorkEnd.objects.exists()


def test_a_form_of_leave_sent_twice_gives_it_once(volunteer: Person, curator: Person, as_person: Browser) -> None:
    thing = house.helmet()
    set_ownership(PROGRAM, thing.pk, whose="borrowed")
    mud = house.seen(thing, "RB", "SIGNIF_DEPOSIT", material="paint")
    stock.record(Actor.of(volunteer), thing, mud)
    browser = as_person(curator)
    may = f"/things/{thing.pk}/may/"
    forms = {
        "/standing/": ("/standing/", {"person": str(volunteer.pk), "step": "TR14", "material": "steel"}),
        f"/deposits/{mud.finding}/": (may, {"kind": "mud", "decision": "keep", "reason": "the flood of 1953"}),
        f"/things/{thing.pk}/owner-leave/": (may, {"letter": "the heirs, 3 May, file 12"}),
    }
    for address, (page, sent) in forms.items():
        form = browser.get(page).content.decode().partition(f'action="{address}"' if page == may else 'id="form-standing"')[2]
        key = re.search(r'name="act" value="([^"]+)"', form.partition("</form>")[0])
        assert key is not None, address
        for _again in range(2):
            assert browser.post(address, sent | {"act": key[1]}).status_code == 302
    assert [kind.objects.count() for kind in (StandingApproval, DepositDecision, OwnerLeave)] == [1, 1, 1]


def test_in_german_tools_cautions_and_what_leads_the_work_are_german(volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    """Texts with a sign of percent too, which the tag 'translate' does not find."""
    by = Actor.of(volunteer)
    thing, _seen = stock.rusty(by, term="DUST", activity=0)
    work = stock.begun(by, thing, "TR01")
    Person.objects.filter(pk=volunteer.pk).update(language="de")
    browser = as_person(Person.objects.get(pk=volunteer.pk))
    rules, guidance = treatment_rules_in_force(), shipped_guidance()
    english = {text for code in ("TR01", "TR03") for text in (rules.steps[code].tools, rules.steps[code].cautions)}
    english |= {*guidance.stop_signs, guidance.gives_way, *(guidance.of("TR03") or guidance.sequences[1]).do}
    for page in (f"/things/{thing.pk}/may/", f"/work/{work.pk}/?step=TR01&surface=steel", f"/work/{work.pk}/?step=TR03&surface=steel"):
        shown = html.unescape(browser.get(page).content.decode())
        assert '<html lang="de"' in shown
        assert not [text for text in english if text in shown]
    assert "bei über 50 % rF spricht für Stabilität" in html.unescape(browser.get(f"/work/{work.pk}/?step=TR01&surface=steel").content.decode())
    lesson = html.unescape(browser.get("/lessons/TR08/").content.decode())
    assert "Wird der weiße Tupfer rotbraun: Rotfäule, aufhören." in lesson
