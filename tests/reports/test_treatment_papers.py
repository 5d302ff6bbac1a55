"""Treatment on paper: the proposal that is laid before the curator, the report of what was done, the list of what was used."""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from io import BytesIO
from uuid import UUID

import pytest
from django.test import Client
from pypdf import PdfReader

from collection.objects.actions.hazards import report_hazard
from collection.objects.actions.objects import withdraw_object
from collection.objects.models import Object
from conservation.checks.entry import Seen
from conservation.checks.models import ConditionCheck
from conservation.rules.guidance import shipped_lessons
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments import learning
from conservation.treatments.actions.deciding import approve, countersign
from conservation.treatments.actions.ending import end_work, keep_part
from conservation.treatments.actions.proposals import resubmit, return_proposal, withdraw_proposal
from conservation.treatments.actions.standing import give_standing
from conservation.treatments.actions.stock import add_batch, recall_batch, record_use
from conservation.treatments.actions.working import record_spot, record_step, stop_step
from conservation.treatments.deeds import Meant
from conservation.treatments.models import Approval, Batch, Proposal, Work
from locations.places.actions import move_object
from museum import clock
from museum.errors import Forbidden, Invalid, NotFound
from museum.ids import uuid7
from museum.papers.files import open_file
from museum.papers.models import IssuedPaper
from museum.people import actions as people
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person, Society
from reports.actions import gather
from reports.documents import treating
from reports.issuing import issue
from tests import stock as house
from tests.reports.test_documents import structure
from tests.treatments import stock
from tests.treatments.conftest import conservator, second_curator

__all__ = ["conservator", "second_curator"]
pytestmark = pytest.mark.django_db
BRUSH = Meant(step="TR14", earlier="dry since March, the powder goes on falling")


def pdf(paper: IssuedPaper) -> PdfReader:
    with open_file(paper.file) as opened:
        return PdfReader(BytesIO(opened.read()))


def text(paper: IssuedPaper) -> str:
    return " ".join(" ".join(page.extract_text() for page in pdf(paper).pages).split())


def missing(said: str, *wanted: str) -> list[str]:
    return [one for one in wanted if one not in said]


@pytest.fixture
def rusty(volunteer: Person) -> tuple[Object, Seen]:
    return stock.rusty(Actor.of(volunteer))


@pytest.fixture
def proposal(volunteer: Person, curator: Person, rusty: tuple[Object, Seen]) -> Proposal:
    stock.picture(Actor.of(volunteer), rusty[0])
    return stock.proposed(Actor.of(volunteer), *rusty, BRUSH)


def test_a_proposal_says_what_was_found_what_is_meant_and_why_no_less_would_do(proposal: Proposal, volunteer: Person) -> None:
    """Conservation.md 1.4 and 4.3: the aim in one sentence, the steps from least, the reason why the lesser are not enough, cautions, stop signs."""
    said = text(issue(Actor.of(volunteer), "treatment_proposal", proposal.pk))
    assert not missing(
        said, "Loose rust off", "RB rim", "Rust spotting, on steel, 2 % of the zone", "S2 A1", "TR15", "Ruled out: CX64", "Proposed, as step 1",
        "Goes further; not asked for", "dry since March, the powder goes on falling", "soft natural or nylon bristle brush", "presume lead",
        "Stop at once: the dark firm layer", "Never: wire wool", "cannot be taken back", "Test spot", "Proposed by", "Approved or returned by",
        "None yet. Who proposes and who approves are two people.", "local safety codes", "F1 front",
    )  # fmt: skip
    assert "For the conservator" not in said


def test_the_finding_stands_on_its_drawing_and_the_file_is_tagged(proposal: Proposal, volunteer: Person) -> None:
    paper = issue(Actor.of(volunteer), "treatment_proposal", proposal.pk)
    ((mark,),) = [view["marks"] for view in paper.data["drawing"]["views"]]
    assert (mark["zone"], mark["n"]) == ("RB", 1)
    tags = list(structure(pdf(paper).trailer["/Root"]["/StructTreeRoot"]))
    assert {"/H1", "/H2", "/H3", "/Figure", "/Table"} <= {tag for tag, _alt in tags}
    assert all(alt for tag, alt in tags if tag == "/Figure")


def test_what_was_decided_stands_on_the_proposal_with_its_remark_and_last_day(proposal: Proposal, volunteer: Person, curator: Person) -> None:
    by = Actor.of(curator)
    return_proposal(by, proposal.pk, version=1, remark="which brush?")
    assert not missing(text(issue(by, "treatment_proposal", proposal.pk)), "Returned with a remark", "which brush?")
    other = stock.proposed(Actor.of(volunteer), *stock.rusty(Actor.of(volunteer), number="1974.12.4"), BRUSH)
    approve(by, other.pk, version=1, reason="gently, and only today")
    paper = issue(by, "treatment_proposal", other.pk)
    assert not missing(text(paper), "Approved.", "gently, and only today", "Good until")
    assert paper.data["leave"][0]["deed"] == "TR14"


def test_a_step_for_a_conservator_has_its_own_part_to_be_written_in(volunteer: Person, curator: Person, rusty: tuple[Object, Seen]) -> None:
    meant = (BRUSH, Meant(step="TR16", earlier="it sits under the film"), Meant(words="grandfather's wonder mix", earlier="he swore by it"))
    proposal = stock.proposed(Actor.of(volunteer), *rusty, *meant)
    said = text(issue(Actor.of(curator), "treatment_proposal", proposal.pk))
    assert not missing(
        said, "For the conservator", "Written proposal on file: none yet", "Curator’s consent", "Step 3: “grandfather's wonder mix”",
        "Nobody here knows what is meant",
        "There is no photograph yet",
    )  # fmt: skip


def test_a_hold_is_said_before_anybody_signs(proposal: Proposal, curator: Person) -> None:
    report_hazard(PROGRAM, proposal.object_id, code="ASBESTOS", level=3)
    said = text(issue(Actor.of(curator), "treatment_proposal", proposal.pk))
    assert not missing(said, "Held: nobody works on it. Asbestos", "Leave alone does not open it", "Who can open it")


def test_a_proposal_tells_no_room_and_is_not_there_for_whoever_may_not_see_it(
    proposal: Proposal, volunteer: Person, registrar: Person, administrator: Person
) -> None:
    *_, shelf = house.shelf()
    move_object(PROGRAM, proposal.object_id, place_id=shelf.pk)
    said = text(issue(Actor.of(volunteer), "treatment_proposal", proposal.pk))
    assert "Hose hall" in said
    assert "Cold store" not in said
    with pytest.raises(Forbidden):
        gather(Actor.of(administrator), "treatment_proposal", proposal.pk)
    withdraw_object(Actor.of(registrar), proposal.object_id, reason="entered twice")
    with pytest.raises(NotFound):
        gather(Actor.of(volunteer), "treatment_proposal", proposal.pk)


def test_the_page_of_a_proposal_has_the_button_of_its_paper(proposal: Proposal, volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    page = as_person(volunteer).get(f"/proposals/{proposal.pk}/").content.decode()
    assert 'value="treatment_proposal"' in page


@pytest.fixture
def begun(proposal: Proposal, volunteer: Person, curator: Person, conservator: Person) -> Work:
    """Approved, shown, begun with a photograph from before."""
    marit = Actor.of(volunteer)
    approve(Actor.of(curator), proposal.pk, version=1, reason="gently")
    stock.shown(volunteer, conservator, "TR14")
    return stock.begun(marit, proposal.object, "TR14", before=(stock.picture(marit, proposal.object, shade=40),), finding_id=proposal.finding_id)


@pytest.fixture
def worked(begun: Work, volunteer: Person) -> Work:
    """One step done with a batch, a part kept, stopped at paint colour, ended."""
    marit, thing = Actor.of(volunteer), begun.object
    record_spot(marit, begun.pk, spot_id=uuid7(), step="TR14", surface="steel", unchanged=True, note="no colour on the swab")
    film = add_batch(marit, supply="polyester_film", number="F-1", received_on=clock.today(), maker="Sheerwell")
    said = stock.done("TR14", minutes=10, amounts="one strip, 2 by 8 cm", climate="17 °C, 48 %", batch_ids=[film.pk])
    record_step(marit, begun.pk, replace(said, acknowledged=["TR14", "CX73"]))
    keep_part(marit, begun.pk, name="rust powder", because="an event story hangs on it", bag="vial 3")
    stop_step(marit, begun.pk, stock.done("TR14", note="paint colour on the brush", photographs=[stock.picture(marit, thing, "", 1)]))
    end_work(marit, begun.pk, end_id=uuid7(), after=[stock.picture(marit, thing, "V01", 2)], note="another brush next time")
    return begun


def test_a_report_goes_from_document_to_decide_to_plan_to_do(worked: Work, curator: Person) -> None:
    """The order of EN 16853, the contents of conservation.md 1.4."""
    said = text(issue(Actor.of(curator), "treatment_report", worked.pk))
    parts = ("1. Documented", "2. Decided", "3. Planned", "4. Done", "What came off", "Before and after", "5. To be looked at again", "For whoever comes after")
    assert [said.index(one) for one in parts] == sorted(said.index(one) for one in parts)
    assert not missing(
        said, "Rust spotting, on steel, 2 % of the zone", "dry since March", "gently", "Ivo", "Test spot TR14 on steel: nothing changed; no colour on the swab",
        "clear polyester film, batch F-1", "one strip, 2 by 8 cm", "17 °C, 48 %", "10 minutes", "CX73 kneaded or vinyl eraser", "rust powder", "vial 3",
        "an event story hangs on it", "2. STOPPED: TR14", "paint colour on the brush", "B1 front", "A1 front", "S2-1",
        "another brush next time", "Never here: wire wool",
    )  # fmt: skip
    assert "Sheerwell" not in said, "maker and trade name stay in the list of stock"


def test_a_report_says_when_and_how_to_look_again(worked: Work, curator: Person) -> None:
    """Dry work: 30, 90, 180 days (conservation.md 7.4, ours)."""
    again = gather(Actor.of(curator), "treatment_report", worked.pk).data["again"]
    assert [row["on"] for row in again] == [(clock.today() + timedelta(days=days)).isoformat() for days in (30, 90, 180)]


def test_a_picture_from_before_stands_beside_its_fellow_from_after(worked: Work, curator: Person) -> None:
    (pair,) = gather(Actor.of(curator), "treatment_report", worked.pk).data["photographs"]["pairs"]
    assert (pair["before"]["view"], pair["after"]["view"]) == ("V01", "V01")
    assert pair["before"]["sha256"] != pair["after"]["sha256"]


def test_work_stopped_at_its_first_step_tells_its_leave_and_its_aim(begun: Work, volunteer: Person, curator: Person) -> None:
    stop_step(Actor.of(volunteer), begun.pk, stock.done("TR14", note="paint colour on the brush"))
    said = text(issue(Actor.of(curator), "treatment_report", begun.pk))
    assert not missing(said, "Loose rust off", "gently", "Ivo", "dry since March", "STOPPED")
    assert "No approval stands on file" not in said


def test_a_step_under_standing_leave_tells_whose_it_is(rusty: tuple[Object, Seen], volunteer: Person, curator: Person, conservator: Person) -> None:
    marit, (thing, seen) = Actor.of(volunteer), rusty
    stock.shown(volunteer, conservator, "TR14")
    give_standing(Actor.of(curator), volunteer.pk, step="TR14", material="steel", reason="she has a light hand")
    work = stock.begun(marit, thing, "TR14", before=(stock.picture(marit, thing, shade=40),), finding_id=seen.finding)
    record_spot(marit, work.pk, spot_id=uuid7(), step="TR14", surface="steel", unchanged=True)
    record_step(marit, work.pk, stock.done("TR14"))
    said = text(issue(Actor.of(curator), "treatment_report", work.pk))
    assert not missing(said, "standing, for Marit on steel", "she has a light hand")
    assert "only steps that any trained hand may do" not in said


def test_what_was_approved_and_not_begun_is_said_to_be_so(begun: Work, curator: Person) -> None:
    paper = issue(Actor.of(curator), "treatment_report", begun.pk)
    assert [(step["code"], step["begun"]) for step in paper.data["plan"]] == [("TR14", False)]
    assert "Not begun." in text(paper)


def test_of_several_sessions_the_first_picture_is_from_before_and_the_last_from_after(worked: Work, volunteer: Person, curator: Person) -> None:
    marit = Actor.of(volunteer)
    later = stock.begun(marit, worked.object, "TR14", before=(stock.picture(marit, worked.object, "V04", 60),), finding_id=worked.finding_id)
    end_work(marit, later.pk, end_id=uuid7(), after=[stock.picture(marit, worked.object, view, shade) for view, shade in (("V04", 70), ("V01", 80))])
    pairs = gather(Actor.of(curator), "treatment_report", worked.pk).data["photographs"]["pairs"]
    assert [(one["before"]["view"], one["after"]["view"]) for one in pairs] == [("V01", "V01"), ("V04", "V04")]
    assert all(one["before"]["sha256"] != one["after"]["sha256"] for one in pairs)


def test_a_picture_from_before_is_never_paired_with_an_older_one_and_none_is_left_out(begun: Work, volunteer: Person, curator: Person) -> None:
    """The first session photographs the left side only afterwards, the second only before; what lies between stands on its own."""
    marit, thing = Actor.of(volunteer), begun.object
    left, front = stock.picture(marit, thing, "V04", 1), stock.picture(marit, thing, "V01", 2)
    end_work(marit, begun.pk, end_id=uuid7(), after=[left, front])
    again = stock.picture(marit, thing, "V04", 3)
    later = stock.begun(marit, thing, "TR14", before=(*map(UUID, begun.before), left, front, again), finding_id=begun.finding_id)
    end_work(marit, later.pk, end_id=uuid7(), after=[stock.picture(marit, thing, "V01", 4)])
    paper = issue(Actor.of(curator), "treatment_report", begun.pk)
    shown = paper.data["photographs"]
    assert [(one["before"] and one["before"]["ref"], one["after"] and one["after"]["ref"]) for one in shown["pairs"]] == [("B1-1", "A2-1"), ("B2-4", None)]
    assert [(one["ref"], one["view"], one["session"]) for one in shown["between"]] == [("A1-1", "V04", 1), ("A1-2", "V01", 1)]
    assert not missing(text(paper), "Between the sessions", "No picture of this view from after")


def test_whoever_gave_leave_stands_with_the_role_of_that_day(worked: Work, curator: Person, registrar: Person, administrator: Person) -> None:
    people.give_role(Actor.of(administrator), registrar.pk, "curator")
    people.end_role(Actor.of(administrator), curator.pk, "curator", reason="moved away")
    said = text(issue(Actor.of(registrar), "treatment_report", worked.pk))
    assert "Ivo (curator)" in said
    assert "Ivo (curator)" in text(issue(Actor.of(registrar), "treatment_proposal", Proposal.objects.get().pk))


def test_a_second_signature_tells_whose_reader_signed(proposal: Proposal, volunteer: Person, curator: Person, reader: Person) -> None:
    people.give_role(PROGRAM, reader.pk, "reader", kind="trustee")
    own = stock.proposed(Actor.of(curator), proposal.object, None, Meant(step="TR03"), surface="paint")
    approve(Actor.of(curator), own.pk, version=1, second_later=True)
    countersign(Actor.of(reader), Approval.objects.get().pk)
    said = text(issue(Actor.of(curator), "treatment_proposal", own.pk))
    assert f"second signature: {reader.name} (trustee)" in said


def test_a_report_names_the_condition_report_it_begins_from_or_the_check(worked: Work, curator: Person) -> None:
    by = Actor.of(curator)
    check = ConditionCheck.objects.get()
    before = text(issue(by, "treatment_report", worked.pk))
    assert not missing(before, "Begins from: Full check of", f"by {check.author.name}; no condition report of it was issued")
    number = issue(by, "condition_report", check.pk).number
    paper = issue(by, "treatment_report", worked.pk)
    assert f"condition report {number}," in text(paper)
    links = [note.get_object()["/A"]["/URI"] for page in pdf(paper).pages for note in page.get("/Annots", []) if "/A" in note.get_object()]
    assert any(number in link for link in links)


def test_what_was_considered_and_not_chosen_stands_with_its_reason(worked: Work, volunteer: Person, curator: Person, rusty: tuple[Object, Seen]) -> None:
    """Conservation.md 1.4: the options considered. Lesser steps, what came back as it then stood, what was taken back, leaving it alone."""
    marit, ivo = Actor.of(volunteer), Actor.of(curator)
    stronger = stock.proposed(marit, *rusty, Meant(words="grandfather's wonder mix", earlier="he swore by it"))
    return_proposal(ivo, stronger.pk, version=1, remark="nobody knows what is in it")
    resubmit(marit, stronger.pk, version=2, surface="steel", aim="rust off for good", steps=[Meant(step="TR16", earlier="it sits under the film")])
    withdraw_proposal(marit, stronger.pk, version=3, reason="the card stayed clean")
    paper = issue(ivo, "treatment_report", worked.pk)
    rows = {(row["sort"], *(step["code"] or step["words"] for step in row["steps"])): row for row in paper.data["considered"]}
    assert list(rows) == [("out", "TR15"), ("returned", "grandfather's wonder mix"), ("withdrawn", "TR16")]
    assert not missing(
        text(paper), "Considered, and not chosen", "Ruled out: CX64", "Returned: nobody knows what is in it", "Ivo (curator)",
        "Taken back: the card stayed clean", "“rust off for good”", "Marit (volunteer)",
    )  # fmt: skip


def test_lesser_steps_are_told_with_the_written_reason_why_they_were_not_enough(volunteer: Person, curator: Person, conservator: Person) -> None:
    """Of bare steel without leather the drier box stands; it was passed over for the reason that was written."""
    marit, thing = Actor.of(volunteer), house.helmet("1974.12.8", materials=["steel"])
    seen = house.seen(thing, "RB", "RUST_SPOT")
    stock.record(marit, thing, seen, no_treatment=True)
    dry = stock.proposed(marit, thing, seen, Meant(step="TR01"))
    approve(Actor.of(curator), dry.pk, version=1)
    proposal = stock.proposed(marit, thing, seen, BRUSH)
    approve(Actor.of(curator), proposal.pk, version=1)
    stock.shown(volunteer, conservator, "TR14")
    work = stock.begun(marit, thing, "TR14", before=(stock.picture(marit, thing),), finding_id=seen.finding)
    paper = issue(Actor.of(curator), "treatment_report", work.pk)
    rows = {(row["sort"], *(step["code"] for step in row["steps"])): row for row in paper.data["considered"]}
    assert rows["turned_down", "TR15"]["why"] == "dry since March, the powder goes on falling"
    assert {("no_treatment",), ("preventive", "TR01")} <= set(rows)
    assert not missing(text(paper), "Not enough: dry since March", "No treatment", "Preventive only: TR01", "decided otherwise since")


def test_what_was_decided_as_preventive_and_done_is_not_told_as_passed_over(volunteer: Person, curator: Person) -> None:
    marit, thing = Actor.of(volunteer), house.helmet("1974.12.8", materials=["steel"])
    seen = house.seen(thing, "RB", "RUST_SPOT")
    stock.record(marit, thing, seen)
    dry = stock.proposed(marit, thing, seen, Meant(step="TR01"))
    approve(Actor.of(curator), dry.pk, version=1)
    work = stock.begun(marit, thing, "TR01", finding_id=seen.finding)
    paper = issue(Actor.of(curator), "treatment_report", work.pk)
    assert "preventive" not in {row["sort"] for row in paper.data["considered"]}
    assert paper.data["decided"]


def test_a_report_says_so_where_nothing_else_was_considered(volunteer: Person, curator: Person, conservator: Person) -> None:
    marit, (thing, seen) = Actor.of(volunteer), stock.rusty(Actor.of(volunteer), term="DUST", code="SH", severity=1, activity=0)
    work = stock.begun(marit, thing, "TR03", surface="paint", code="SH", before=(stock.picture(marit, thing),), finding_id=seen.finding)
    assert "Nothing else is written down for this finding" in text(issue(Actor.of(curator), "treatment_report", work.pk))


@pytest.mark.parametrize("step", ["TR18", "TR07", "TR08", "TR14", "TR22", "TR24", "TR28", "TR41"])
def test_a_caution_is_told_once(step: str) -> None:
    """What the sequence asks to put on and what the table warns of say the same more than once; grades of masks are never lost."""
    rules = treatment_rules_in_force()
    words = treating.step_words(rules.steps[step], rules)
    told = "; ".join([*words["besides"], words["cautions"]]).lower()
    assert told.count("nitrile gloves") == (step != "TR28")
    assert {grade for one in words["protection"] for grade in re.findall(r"FFP\d", one)} <= {*re.findall(r"FFP\d", told.upper())}


def test_a_lesson_names_the_gloves_once_on_the_page_and_on_paper(volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    (lesson,) = [one for one in shipped_lessons() if one.step == "TR18"]
    assert text(issue(Actor.of(volunteer), "lesson", learning.key_of(lesson))).lower().count("nitrile gloves") == 1
    assert as_person(volunteer).get("/lessons/TR18/").content.decode().lower().count("nitrile gloves") == 1


def test_the_cautions_of_a_proposal_name_the_gloves_once(volunteer: Person, curator: Person) -> None:
    marit, thing = Actor.of(volunteer), house.helmet("1974.12.9", kind="fire", materials=["copper_alloy", "leather"])
    seen = house.seen(thing, "CC", "CU_SOAP", material="copper_alloy")
    stock.record(marit, thing, seen)
    proposal = stock.proposed(marit, thing, seen, Meant(step="TR18", earlier="it creeps"), surface="copper_alloy", code="CC")
    assert text(issue(marit, "treatment_proposal", proposal.pk)).lower().count("nitrile gloves") == 1


def test_all_sessions_on_a_finding_are_one_report(worked: Work, volunteer: Person, curator: Person) -> None:
    marit = Actor.of(volunteer)
    again = stock.begun(marit, worked.object, "TR14", before=(stock.picture(marit, worked.object, shade=50),), finding_id=worked.finding_id)
    paper = issue(Actor.of(curator), "treatment_report", again.pk)
    assert [row["n"] for row in paper.data["sessions"]] == [1, 2]
    assert not missing(text(paper), "Not ended yet.", "Session 1", "Session 2", "This session is not ended")
    assert paper.subject == worked.pk, "it is found again under the first session, whichever asked for it"


def test_the_page_of_the_work_has_the_button_of_its_report(worked: Work, volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    assert 'value="treatment_report"' in as_person(volunteer).get(f"/work/{worked.pk}/").content.decode()


ALL = UUID(Society.KEY)


def test_what_was_used_on_a_thing_stands_with_its_batch_and_with_what_is_in_no_list(worked: Work, volunteer: Person) -> None:
    said = text(issue(Actor.of(volunteer), "material_list", worked.object_id))
    assert not missing(said, "Clear polyester film", "F-1", "RB rim", "one strip, 2 by 8 cm", "Marit", "TR14 soft brush, kneaded or vinyl eraser", "stopped")
    assert "Sheerwell" not in said


def test_where_a_batch_was_used_answers_at_once_and_says_that_it_is_recalled(worked: Work, volunteer: Person, curator: Person, registrar: Person) -> None:
    film, other, gone = Batch.objects.get(), house.helmet("1974.12.5"), house.helmet("1974.12.6")
    for thing in (other, gone):
        record_use(Actor.of(volunteer), film.pk, thing.pk, amount="two sheets")
    recall_batch(Actor.of(curator), film.pk, reason="it hazes", due_on=clock.today())
    withdraw_object(Actor.of(registrar), gone.pk, reason="entered twice")
    said = text(issue(Actor.of(curator), "material_list", film.pk))
    assert not missing(said, "1974.12.3", "1974.12.5", "two sheets", "packing, padding, tags", "Not to be used", "it hazes", "2 uses of batches")
    assert "1974.12.6" not in said


def test_a_time_holds_what_was_used_in_it_and_no_more(worked: Work, curator: Person) -> None:
    by, today = Actor.of(curator), clock.today()
    yesterday = today - timedelta(days=1)
    assert gather(by, "material_list", ALL).data["count"] == 1
    before = gather(by, "material_list", ALL, {"begin": "2026-01-01", "end": yesterday.isoformat()})
    assert (before.data["count"], before.data["steps"]) == (0, [])
    assert before.data["asked"] == {"begin": "2026-01-01", "end": yesterday.isoformat()}
    for options in ({"end": (today + timedelta(days=1)).isoformat()}, {"begin": "soon"}, {"begin": "1950-01-01"}, {"place": "x"}):
        with pytest.raises(Invalid):
            gather(by, "material_list", ALL, options)


def test_the_list_is_asked_for_where_its_person_looks(worked: Work, volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    client = as_person(volunteer)
    for address in (f"/things/{worked.object_id}/", f"/stock/batches/{Batch.objects.get().pk}/", "/stock/"):
        assert 'value="material_list"' in client.get(address).content.decode(), address
    asked = client.post("/papers/issue/", {"document": "material_list", "subject": str(ALL), "begin": "2026-12-40", "end": ""})
    assert asked.status_code == 400
    assert "is no day of the calendar" in asked.content.decode()


def test_a_program_asks_for_a_time_and_an_issue_anew_asks_for_the_same(worked: Work, curator: Person, as_person: Callable[[Person], Client]) -> None:
    client, options = as_person(curator), {"begin": "2026-11-01", "end": clock.today().isoformat()}
    body = {"document": "material_list", "subject": str(ALL), "options": options}
    assert client.post("/api/papers/issue", body, content_type="application/json").status_code == 202
    paper = issue(Actor.of(curator), "material_list", ALL, options=options)
    page = client.get(f"/papers/{paper.pk}/").content.decode()
    assert f'name="begin" value="{options["begin"]}"' in page
