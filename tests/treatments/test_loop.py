"""From a finding to gentle work and to looking again, as people do it."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client

from collection.objects.actions.hazards import report_hazard
from collection.objects.actions.objects import set_ownership
from conservation.checks.models import Call
from conservation.rules.leave import same_day_later
from conservation.treatments.actions.deciding import approve, countersign, record_owner_leave
from conservation.treatments.actions.ending import end_work, keep_part
from conservation.treatments.actions.proposals import propose_treatment, resubmit, return_proposal, withdraw_proposal
from conservation.treatments.actions.standing import decide_deposit, end_standing, give_standing, name_deposit, set_deposit_default
from conservation.treatments.actions.working import record_spot, record_step, start_work, stop_step
from conservation.treatments.asking import waits_for_a_second
from conservation.treatments.deeds import Meant
from conservation.treatments.follow import catch_up
from conservation.treatments.models import Lapse, Proposal, WorkStep
from conservation.treatments.refusal import Refused
from museum import clock
from museum.errors import Forbidden, Invalid, VersionConflict
from museum.ids import uuid7
from museum.people import actions as people
from museum.people.actor import PROGRAM, Actor
from museum.people.models import Person
from tests import stock as house
from tests.treatments import stock

pytestmark = pytest.mark.django_db
BRUSH = Meant(step="TR14", earlier="dry since March, the powder goes on falling")


def gate_of(refused: pytest.ExceptionInfo[Refused]) -> str:
    return str(refused.value.data["gate"])


def test_bleach_on_a_mouldy_sweatband_is_refused_with_the_reason_and_what_to_do_instead(volunteer: Person) -> None:
    by = Actor.of(volunteer)
    thing = house.helmet()
    mould = house.seen(thing, "HB", "MOULD_DORMANT", material="leather")
    stock.record(by, thing, mould)
    with pytest.raises(Refused) as refused:
        stock.proposed(by, thing, mould, Meant(words="a little household bleach"), surface="leather", code="HB")
    assert gate_of(refused).startswith("CX")
    assert all(refused.value.data[said] for said in ("why", "instead", "source"))
    assert refused.value.data["opens"] == "nobody"
    assert not Proposal.objects.exists()


def test_what_nobody_knows_goes_to_the_curator_as_unknown_and_is_never_approved(volunteer: Person, curator: Person) -> None:
    by = Actor.of(volunteer)
    thing, seen = stock.rusty(by)
    proposal = stock.proposed(by, thing, seen, Meant(words="grandfather's wonder mix", earlier="he swore by it"))
    assert proposal.steps[0]["unknown"]
    with pytest.raises(Refused) as refused:
        approve(Actor.of(curator), proposal.pk, version=1)
    assert gate_of(refused) == "UNKNOWN"


def shown_by(learner: Person, conservator: Person) -> None:
    """The conservator showed them the brush."""
    today = clock.today()
    people.record_shown(Actor.of(conservator), learner.pk, "TR14", shown_by=conservator.pk, on=today, valid_to=same_day_later(today, years=2))


def test_a_refusal_sends_nobody_to_the_curator_who_is_one(
    volunteer: Person, curator: Person, conservator: Person, as_person: Callable[[Person], Client]
) -> None:
    """The curator reads what a curator does; where there is one alone, that a second person signs later."""
    thing, _seen = stock.rusty(Actor.of(volunteer))
    for learner in (volunteer, curator):
        shown_by(learner, conservator)
    page = f"/things/{thing.pk}/may/"
    asked = {"words": "grandfather's wonder mix"}
    of_volunteer, of_curator = as_person(volunteer).get(page, asked).content.decode(), as_person(curator).get(page, asked).content.decode()
    sends = ("send a proposal to the curator", "ask the curator;", "Propose it to the curator", "Ask the curator what it is")
    assert all(said in of_volunteer for said in sends)
    assert not [said for said in sends if said in of_curator]
    assert "write a proposal and approve it; where you proposed it yourself, a second person signs later" in of_curator
    assert "or ask a conservator; nothing unknown is put on a thing" in of_curator
    with pytest.raises(Refused) as refused:
        stock.begun(Actor.of(curator), thing, "TR14")
    assert refused.value.data["gate"] == "APPROVAL"
    assert "write a proposal and approve it" in refused.value.sentence


def test_a_curator_among_others_reads_that_another_approves(curator: Person, second_curator: Person, conservator: Person) -> None:
    shown_by(curator, conservator)
    thing, _seen = stock.rusty(Actor.of(curator))
    with pytest.raises(Refused) as refused:
        stock.begun(Actor.of(curator), thing, "TR14")
    assert "of two people one proposes and another approves" in refused.value.sentence


def test_an_undecided_deposit_is_the_curators_own_to_decide(volunteer: Person, curator: Person) -> None:
    thing, _seen = stock.rusty(Actor.of(volunteer), term="SIGNIF_DEPOSIT")
    for person, words in ((volunteer, "a curator decides"), (curator, "decide what becomes of it, with your reason")):
        with pytest.raises(Refused) as refused:
            stock.begun(Actor.of(person), thing, "TR14")
        assert refused.value.data["gate"] == "DEPOSIT"
        assert words in refused.value.data["instead"]


def test_a_later_step_needs_the_reason_why_the_lesser_ones_are_not_enough(volunteer: Person) -> None:
    by = Actor.of(volunteer)
    thing, seen = stock.rusty(by)
    with pytest.raises(Invalid) as asked:
        stock.proposed(by, thing, seen, Meant(step="TR16"))
    assert "TR14" in asked.value.sentence
    assert stock.proposed(by, thing, seen, Meant(step="TR16", earlier="it sits under the film")).state == "waiting"


def test_the_whole_loop(volunteer: Person, curator: Person, conservator: Person) -> None:
    marit, ivo = Actor.of(volunteer), Actor.of(curator)
    thing, seen = stock.rusty(marit)
    proposal = stock.proposed(marit, thing, seen, BRUSH)
    return_proposal(ivo, proposal.pk, version=1, remark="which brush?")
    with pytest.raises(VersionConflict):
        approve(ivo, proposal.pk, version=1)
    again = resubmit(marit, proposal.pk, version=2, surface="steel", aim="loose rust off, natural bristle", steps=[BRUSH])
    approve(ivo, again.pk, version=3)

    with pytest.raises(Refused) as refused:
        stock.begun(marit, thing, "TR14")
    assert gate_of(refused) == "ROLE", "a gentle step is the curator's, or of whoever was shown it"
    assert (refused.value.data["teachers"], refused.value.data["lesson"]) == ([conservator.name], "TR14")
    assert conservator.name in refused.value.sentence
    stock.shown(volunteer, conservator, "TR14")
    with pytest.raises(Refused) as refused:
        stock.begun(marit, thing, "TR14")
    assert gate_of(refused) == "PHOTOGRAPHS"

    front = stock.picture(marit, thing)
    work = stock.begun(marit, thing, "TR14", before=(front,), finding_id=seen.finding)
    with pytest.raises(Refused) as refused:
        record_step(marit, work.pk, stock.done("TR14", ticked=False))
    assert gate_of(refused) in ("TEST-SPOT", "CAUTIONS")
    record_spot(marit, work.pk, spot_id=uuid7(), step="TR14", surface="steel", unchanged=True)
    with pytest.raises(Refused) as refused:
        record_step(marit, work.pk, stock.done("TR14", ticked=False))
    assert gate_of(refused) == "CAUTIONS"
    step = record_step(marit, work.pk, stock.done("TR14", minutes=10))
    assert len(step.acknowledged) < 10, "of all that was ticked that is kept which was asked here"
    assert "TR14" in step.acknowledged
    assert "CX01" not in step.acknowledged
    assert step.approval == again.decisions.get(what="approved").approvals.get().pk

    kept = keep_part(marit, work.pk, name="rust powder", because="an event story hangs on it", bag="vial 3")
    assert (kept.component.sort, kept.component.letter) == ("retained", "b")
    stop_step(marit, work.pk, stock.done("TR14", note="paint colour on the brush", photographs=[stock.picture(marit, thing, "", 1)]))
    with pytest.raises(Refused) as refused:
        record_step(marit, work.pk, stock.done("TR14"))
    assert gate_of(refused) == "ENDED"
    with pytest.raises(Refused) as refused:
        end_work(marit, work.pk, end_id=uuid7())
    assert gate_of(refused) == "AFTER"
    end_work(marit, work.pk, end_id=uuid7(), after=[stock.picture(marit, thing, "V01", 2)])

    calls = Call.objects.filter(object=thing, why="follow_up", source=work.pk).order_by("due_on")
    # conservation.md 7.4 [OURS]: dry work is looked at again after 30, 90 and 180 days
    assert [call.due_on - clock.today() for call in calls] == [timedelta(days=days) for days in (30, 90, 180)]
    assert calls[0].zones == [work.zone_key]


def test_an_approval_lapses_when_its_zone_gets_worse(volunteer: Person, curator: Person) -> None:
    by = Actor.of(volunteer)
    thing, seen = stock.rusty(by)
    proposal = stock.proposed(by, thing, seen, BRUSH)
    approve(Actor.of(curator), proposal.pk, version=1)
    assert catch_up() == 0
    stock.record(by, thing, house.seen(thing, "RB", "RUST_SPOT", "30", severity=3, activity=3, change="grown", finding=seen.finding))
    with pytest.raises(Refused) as refused:
        stock.begun(Actor.of(curator), thing, "TR14", before=(stock.picture(by, thing),))
    assert gate_of(refused) in ("COMPETENCE", "APPROVAL")
    assert catch_up() == 1
    assert Lapse.objects.get().why == "zone_changed"
    assert catch_up() == 0


def test_nobody_approves_their_own_proposal_while_another_can(curator: Person, second_curator: Person) -> None:
    by = Actor.of(curator)
    thing, seen = stock.rusty(by)
    proposal = stock.proposed(by, thing, seen, BRUSH)
    for later in (False, True):
        with pytest.raises(Forbidden) as refused:
            approve(by, proposal.pk, version=1, second_later=later)
        assert "Anke" in refused.value.sentence
    assert approve(Actor.of(second_curator), proposal.pk, version=1).state == "approved"


def test_one_curator_signs_alone_and_is_listed_until_another_signs(curator: Person, reader: Person, volunteer: Person) -> None:
    by = Actor.of(curator)
    thing, seen = stock.rusty(by)
    proposal = stock.proposed(by, thing, seen, BRUSH)
    with pytest.raises(Forbidden):
        approve(by, proposal.pk, version=1)
    approve(by, proposal.pk, version=1, second_later=True)
    (listed,) = waits_for_a_second()
    with pytest.raises(Forbidden):
        countersign(by, listed.pk)
    countersign(Actor.of(reader), listed.pk)
    assert not waits_for_a_second().exists()


def test_second_person_later_is_never_for_a_conservators_step(curator: Person) -> None:
    by = Actor.of(curator)
    thing, seen = stock.rusty(by)
    proposal = stock.proposed(by, thing, seen, Meant(step="TR16", earlier="it sits under the film"), written="letter of 3 May, file 12")
    with pytest.raises(Refused) as refused:
        approve(by, proposal.pk, version=1, second_later=True)
    assert gate_of(refused) == "SECOND"


def test_a_conservators_step_needs_the_written_proposal(volunteer: Person, curator: Person) -> None:
    by = Actor.of(volunteer)
    thing, seen = stock.rusty(by)
    reason = Meant(step="TR16", earlier="it sits under the film")
    bare = stock.proposed(by, thing, seen, reason)
    with pytest.raises(Refused) as refused:
        approve(Actor.of(curator), bare.pk, version=1)
    assert gate_of(refused) == "APPROVAL"
    filed = stock.proposed(by, thing, seen, reason, written="letter of 3 May, file 12")
    assert approve(Actor.of(curator), filed.pk, version=1).state == "approved"


def test_a_hold_shuts_work_and_leave_and_never_the_stop(volunteer: Person, curator: Person, conservator: Person) -> None:
    marit, ivo = Actor.of(volunteer), Actor.of(curator)
    thing, seen = stock.rusty(marit)
    proposal = stock.proposed(marit, thing, seen, BRUSH)
    approve(ivo, proposal.pk, version=1)
    stock.shown(volunteer, conservator, "TR14")
    work = stock.begun(marit, thing, "TR14", before=(stock.picture(marit, thing),))
    record_spot(marit, work.pk, spot_id=uuid7(), step="TR14", surface="steel", unchanged=True)
    report_hazard(marit, thing.pk, code="ASBESTOS", level=3, note="a grey pad")
    with pytest.raises(Refused) as refused:
        record_step(marit, work.pk, stock.done("TR14"))
    assert gate_of(refused) == "HOLD"
    assert stop_step(marit, work.pk, stock.done("TR14", note="a grey pad shows")).result == WorkStep.Result.STOPPED


def test_a_deposit_waits_for_the_curator(volunteer: Person, curator: Person) -> None:
    marit, ivo = Actor.of(volunteer), Actor.of(curator)
    thing = house.helmet()
    rust, mud = house.seen(thing, "RB", "RUST_SPOT"), house.seen(thing, "RB", "SIGNIF_DEPOSIT", material="paint")
    stock.record(marit, thing, rust, mud)
    proposal = stock.proposed(marit, thing, rust, BRUSH)

    def told() -> str:
        with pytest.raises(Refused) as refused:
            approve(ivo, proposal.pk, version=1)
        return gate_of(refused)

    assert told() == "DEPOSIT"
    name_deposit(marit, mud.finding, kind="mud")
    assert told() == "DEPOSIT"
    with pytest.raises(Forbidden):
        decide_deposit(marit, mud.finding, kind="mud", decision="remove", reason="garden mud")
    set_deposit_default(ivo, kind="mud", decision="keep", reason="it tells of the last duty")
    assert told() == "DEPOSIT"
    decide_deposit(ivo, mud.finding, kind="mud", decision="remove", reason="garden mud, photographed")
    with pytest.raises(Forbidden):
        name_deposit(marit, mud.finding, kind="hair")
    assert approve(ivo, proposal.pk, version=1).state == "approved"


def test_a_thing_that_is_not_ours_waits_for_its_owner(volunteer: Person, curator: Person) -> None:
    marit, ivo = Actor.of(volunteer), Actor.of(curator)
    thing, seen = stock.rusty(marit)
    set_ownership(PROGRAM, thing.pk, whose="borrowed", evidence="loan form")
    proposal = stock.proposed(marit, thing, seen, BRUSH)
    with pytest.raises(Refused) as refused:
        approve(ivo, proposal.pk, version=1)
    assert gate_of(refused) == "OWNER"
    record_owner_leave(ivo, thing.pk, letter="letter of the owner, 2 June, folder 4")
    assert approve(ivo, proposal.pk, version=1).state == "approved"


def test_standing_leave_carries_a_gentle_step_until_it_is_taken_back(volunteer: Person, curator: Person, conservator: Person) -> None:
    marit, ivo = Actor.of(volunteer), Actor.of(curator)
    thing, _seen = stock.rusty(marit)
    stock.shown(volunteer, conservator, "TR14")
    front = stock.picture(marit, thing)
    with pytest.raises(Refused) as refused:
        stock.begun(marit, thing, "TR14", before=(front,))
    assert gate_of(refused) == "APPROVAL"
    with pytest.raises(Invalid):
        give_standing(ivo, volunteer.pk, step="TR28", material="steel")
    with pytest.raises(Forbidden):
        give_standing(ivo, curator.pk, step="TR14", material="steel")
    standing = give_standing(ivo, volunteer.pk, step="TR14", material="steel")
    work = stock.begun(marit, thing, "TR14", before=(front,))
    record_spot(marit, work.pk, spot_id=uuid7(), step="TR14", surface="steel", unchanged=True)
    assert record_step(marit, work.pk, stock.done("TR14")).approval == standing.pk
    end_standing(ivo, standing.pk)
    with pytest.raises(Refused):
        record_step(marit, work.pk, stock.done("TR14"))


def test_a_learner_works_beside_somebody_competent(volunteer: Person, curator: Person, second_curator: Person, conservator: Person) -> None:
    marit, ivo = Actor.of(volunteer), Actor.of(curator)
    thing, seen = stock.rusty(marit)
    approve(ivo, stock.proposed(marit, thing, seen, BRUSH).pk, version=1)
    front = stock.picture(marit, thing)
    with pytest.raises(Refused):
        stock.begun(marit, thing, "TR14", before=(front,), beside=second_curator.pk)
    stock.shown(second_curator, conservator, "TR14")
    assert stock.begun(marit, thing, "TR14", before=(front,), beside=second_curator.pk).beside == second_curator


def test_a_test_spot_that_changed_shuts_the_step(volunteer: Person, curator: Person, conservator: Person) -> None:
    marit, ivo = Actor.of(volunteer), Actor.of(curator)
    thing, seen = stock.rusty(marit)
    approve(ivo, stock.proposed(marit, thing, seen, BRUSH).pk, version=1)
    stock.shown(volunteer, conservator, "TR14")
    work = stock.begun(marit, thing, "TR14", before=(stock.picture(marit, thing),))
    record_spot(marit, work.pk, spot_id=uuid7(), step="TR14", surface="steel", unchanged=False, note="bright metal")
    record_spot(marit, work.pk, spot_id=uuid7(), step="TR14", surface="steel", unchanged=True)
    with pytest.raises(Refused) as refused:
        record_step(marit, work.pk, stock.done("TR14"))
    assert gate_of(refused) == "TEST-SPOT"


def test_a_session_is_of_the_one_who_began_it(volunteer: Person, curator: Person, conservator: Person) -> None:
    marit, ivo = Actor.of(volunteer), Actor.of(curator)
    thing, _seen = stock.rusty(marit)
    key = uuid7()
    work = start_work(marit.keyed(key), thing.pk, work_id=key, zone=stock.zone_of(thing), surface="steel", meant=Meant(step="TR01"))
    with pytest.raises(Forbidden):
        record_step(ivo, work.pk, stock.done("TR01"))
    record_step(marit, work.pk, stock.done("TR01"))
    assert end_work(ivo, work.pk, end_id=uuid7()).kinds == [], "a look is no work that is looked at again"


def test_only_the_proposer_takes_it_back(volunteer: Person, curator: Person) -> None:
    thing, seen = stock.rusty(Actor.of(volunteer))
    proposal = stock.proposed(Actor.of(volunteer), thing, seen, BRUSH)
    with pytest.raises(Forbidden):
        withdraw_proposal(Actor.of(curator), proposal.pk, version=1)
    withdraw_proposal(Actor.of(volunteer), proposal.pk, version=1)
    with pytest.raises((Invalid, VersionConflict)):
        approve(Actor.of(curator), proposal.pk, version=2)


def test_a_tap_sent_twice_proposes_once(volunteer: Person) -> None:
    by = Actor.of(volunteer)
    thing, seen = stock.rusty(by)
    key = uuid7()
    for _again in range(2):
        propose_treatment(
            by.keyed(key), thing.pk, proposal_id=key, zone=stock.zone_of(thing), surface="steel", aim="loose rust off", steps=[BRUSH], finding_id=seen.finding
        )
    assert Proposal.objects.count() == 1


@pytest.mark.parametrize("who", ["reader", "administrator"])
def test_who_only_reads_neither_proposes_nor_works(who: str, request: pytest.FixtureRequest, volunteer: Person) -> None:
    thing, seen = stock.rusty(Actor.of(volunteer))
    by: Callable[[], Actor] = lambda: Actor.of(request.getfixturevalue(who))  # noqa: E731
    with pytest.raises(Forbidden):
        stock.proposed(by(), thing, seen, BRUSH)
    with pytest.raises(Forbidden):
        stock.begun(by(), thing, "TR01")
