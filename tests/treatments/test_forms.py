"""Forms that are shown again: nothing that was typed is lost; what is chosen from a list is chosen from the shelf."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client

from collection.objects.actions.hazards import report_hazard
from conservation.treatments.actions.standing import give_standing
from conservation.treatments.actions.stock import add_batch
from conservation.treatments.deeds import Meant
from conservation.treatments.models import BatchUse, Proposal, Wait, Work, WorkStep
from museum import clock
from museum.ids import uuid7
from museum.people.actor import Actor
from museum.people.models import Person
from tests import stock as house
from tests.treatments import stock

pytestmark = pytest.mark.django_db
Browser = Callable[[Person], Client]


@pytest.fixture
def soap(conservator: Person) -> tuple[Work, dict[str, str]]:
    """A conservator at work with film between brass and leather."""
    by = Actor.of(conservator)
    thing = house.helmet()
    seen = house.seen(thing, "RB", "RUST_SPOT", material="steel")
    stock.record(by, thing, seen)
    work = stock.begun(by, thing, "TR01", before=(stock.picture(by, thing),), finding_id=seen.finding)
    return work, {"step": "TR01", "surface": "steel", "do": "step"}


def test_a_refused_step_comes_back_with_everything_that_was_typed(soap: tuple[Work, dict[str, str]], conservator: Person, as_person: Browser) -> None:
    work, sent = soap
    typed = {"amounts": "two sheets", "note": "fits freely", "minutes": "ten"}
    answer = as_person(conservator).post(f"/work/{work.pk}/do/", sent | typed)
    page = answer.content.decode()
    assert answer.status_code == 409
    assert 'role="alert"' in page
    assert all(words in page for words in typed.values())
    assert not WorkStep.objects.exists()


def test_a_stop_without_a_word_is_asked_again_and_counts_the_photograph_sent_before(
    soap: tuple[Work, dict[str, str]], conservator: Person, as_person: Browser
) -> None:  # fmt: skip
    work, sent = soap
    browser = as_person(conservator)
    since = clock.now()
    assert browser.post(f"/work/{work.pk}/do/", sent | {"do": "stop", "note": " "}).status_code == 409
    picture = stock.picture(Actor.of(conservator), work.object, "", 5)
    browser.post(f"/work/{work.pk}/do/", sent | {"do": "stop", "note": "a flake moved", "since": since.isoformat()})
    assert WorkStep.objects.get().photographs == [str(picture)]


def test_batches_are_chosen_from_the_shelf_and_a_warning_is_ticked(soap: tuple[Work, dict[str, str]], conservator: Person, as_person: Browser) -> None:
    work, sent = soap
    by, today = Actor.of(conservator), clock.today()
    fresh = add_batch(by, supply="gloves", number="G-7", received_on=today)
    old = add_batch(by, supply="gloves", number="G-1", received_on=today - timedelta(days=900), expires_on=today - timedelta(days=1))
    browser, do = as_person(conservator), f"/work/{work.pk}/do/"
    page = browser.get(f"/work/{work.pk}/", sent).content.decode()
    assert "G-7" in page
    assert ("G-1" in page) == (f'value="{old.pk}"' in page)
    ticks = {"acknowledged": ["TR01"], "batch_ids": [str(fresh.pk)], "amounts": "a pair"}
    answer = browser.post(do, sent | ticks)
    if answer.status_code == 409:
        assert "G-7" in answer.content.decode()
        browser.post(do, sent | ticks | {"batch_read": [str(fresh.pk)]})
    assert (BatchUse.objects.get().batch, BatchUse.objects.get().amount) == (fresh, "a pair")


def test_a_wait_runs_by_the_clock_of_the_house(soap: tuple[Work, dict[str, str]], conservator: Person, as_person: Browser) -> None:
    work, _sent = soap
    browser = as_person(conservator)
    here = {"step": "TR10", "surface": "paint"}
    assert "Wait until" not in browser.get(f"/work/{work.pk}/", here).content.decode()
    browser.post(f"/work/{work.pk}/do/", here | {"do": "wait"})
    page = browser.get(f"/work/{work.pk}/", here).content.decode()
    assert "Wait until" in page
    assert "data-wait-until" in page


def test_a_wait_goes_on_on_another_device_and_for_another_person(
    soap: tuple[Work, dict[str, str]], conservator: Person, curator: Person, as_person: Browser
) -> None:
    """Ten rolls of damp swab, then 15 minutes and the loupe (conservation.md 4.3, step 3)."""
    work, here = soap[0], {"step": "TR10", "surface": "paint"}
    key = str(uuid7())
    asked = {"id": key, "step": "TR10"}
    told = [as_person(conservator).post(f"/api/work/{work.pk}/waits/", asked, content_type="application/json") for _n in range(2)]
    assert [one.status_code for one in told] == [201, 201]
    wait = Wait.objects.get()
    assert wait.over_at - wait.recorded_at == timedelta(minutes=15)
    for device in (as_person(conservator), as_person(curator)):
        assert "Wait until" in device.get(f"/work/{work.pk}/", here).content.decode()
        with clock.at(wait.over_at):
            assert "The wait was over at" in device.get(f"/work/{work.pk}/", here).content.decode()
    refused = as_person(curator).post(f"/api/work/{work.pk}/waits/", {"id": str(uuid7()), "step": "TR10"}, content_type="application/json")
    assert refused.status_code == 403, "whoever is at the work begins its waits"
    none = as_person(conservator).post(f"/api/work/{work.pk}/waits/", {"id": str(uuid7()), "step": "TR01"}, content_type="application/json")
    assert none.status_code == 400


def test_several_steps_stand_in_one_proposal_in_their_order(volunteer: Person, as_person: Browser) -> None:
    thing, seen = stock.rusty(Actor.of(volunteer))
    browser, address = as_person(volunteer), f"/things/{thing.pk}/propose/"
    assert "TR14" in browser.get(address, {"finding": str(seen.finding), "step": "TR14"}).content.decode()
    where = {"zone": stock.zone_of(thing), "surface": "steel", "finding": str(seen.finding), "aim": "loose rust off"}
    rows = {"step": ["TR14", "TR15"], "words": ["", ""], "earlier": ["dry already", ""]}
    more = browser.post(address, where | rows | {"do": "more"}).content.decode()
    assert "dry already" in more
    assert "Step 3" in more
    assert not Proposal.objects.exists()
    sent = browser.post(address, where | {"step": ["TR03", "TR14"], "words": ["", ""], "earlier": ["dust hides it", "dry already"], "do": "send"})
    assert sent.status_code == 302, sent.content.decode()
    assert [row["step"] for row in Proposal.objects.get().steps] == ["TR03", "TR14"]


def test_a_return_without_a_remark_keeps_the_desk_and_tells_why(volunteer: Person, curator: Person, as_person: Browser) -> None:
    thing, seen = stock.rusty(Actor.of(volunteer))
    proposal = stock.proposed(Actor.of(volunteer), thing, seen, Meant(step="TR14", earlier="dry"))
    sent = {"do": "return", "version": "1", "reason": "", "until": clock.today().isoformat(), "next": "/proposals/"}
    answer = as_person(curator).post(f"/proposals/{proposal.pk}/decide/", sent)
    assert answer.status_code == 409
    assert f'href="#decide-{proposal.pk}"' in answer.content.decode()


def test_a_hold_is_told_once_however_many_steps_it_shuts(volunteer: Person, curator: Person, as_person: Browser) -> None:
    thing, _seen = stock.rusty(Actor.of(volunteer))
    report_hazard(Actor.of(volunteer), thing.pk, code="ASBESTOS", level=3)
    page = as_person(curator).get(f"/things/{thing.pk}/may/").content.decode()
    assert page.lower().count("a hold stands for") == 1
    assert "Waits for what is said above (HOLD)" in page


def test_a_learner_begins_beside_a_named_person(volunteer: Person, curator: Person, conservator: Person, as_person: Browser) -> None:
    thing, seen = stock.rusty(Actor.of(volunteer))
    where = {"zone": stock.zone_of(thing), "surface": "steel", "finding": str(seen.finding), "step": "TR14"}
    browser = as_person(volunteer)
    page = browser.get(f"/things/{thing.pk}/may/").content.decode()
    assert conservator.name in page
    assert 'name="beside"' in page
    stock.picture(Actor.of(volunteer), thing)
    refused = browser.post(f"/things/{thing.pk}/work/", where | {"beside": str(conservator.pk)})
    assert refused.status_code == 409
    assert "no approval in force" in refused.content.decode()
    give_standing(Actor.of(curator), volunteer.pk, step="TR14", material="steel")
    begun = browser.post(f"/things/{thing.pk}/work/", where | {"beside": str(conservator.pk)})
    assert begun.status_code == 302
    assert Work.objects.get().beside == conservator
    assert f"{conservator.name} stands beside" in browser.get(begun["Location"]).content.decode()


def test_a_deposit_is_named_in_words_and_a_decision_without_a_reason_is_asked_again(volunteer: Person, curator: Person, as_person: Browser) -> None:
    thing = house.helmet()
    soot = house.seen(thing, "RB", "SIGNIF_DEPOSIT", material="paint")
    stock.record(Actor.of(volunteer), thing, soot)
    browser = as_person(curator)
    assert "soot of its service" in browser.get(f"/things/{thing.pk}/may/").content.decode()
    sent = {"finding": str(soot.finding), "kind": "service_soot", "decision": "keep", "reason": ""}
    answer = browser.post(f"/deposits/{soot.finding}/", sent)
    assert answer.status_code == 409
    assert '<option value="service_soot" selected>' in answer.content.decode()


def test_what_nobody_knows_is_asked_of_the_curator_from_the_box(volunteer: Person, as_person: Browser) -> None:
    thing, _seen = stock.rusty(Actor.of(volunteer))
    spot = f"{stock.zone_of(thing)}|steel"
    page = as_person(volunteer).get(f"/things/{thing.pk}/propose/", {"words": "wonder mix", "spot": spot}).content.decode()
    assert "wonder mix" in page
    sent = {"step": "", "words": "wonder mix", "earlier": "", "spot": spot, "aim": "what is it?", "do": "send"}
    as_person(volunteer).post(f"/things/{thing.pk}/propose/", sent)
    assert Proposal.objects.get().steps[0]["unknown"]


def test_what_needs_me_today(volunteer: Person, curator: Person, as_person: Browser) -> None:
    thing, seen = stock.rusty(Actor.of(volunteer))
    proposal = stock.proposed(Actor.of(volunteer), thing, seen, Meant(step="TR14", earlier="dry"))
    add_batch(Actor.of(volunteer), supply="gloves", number="G-1", received_on=clock.today(), expires_on=clock.today() - timedelta(days=1))
    page = as_person(curator).get("/").content.decode()
    assert f"/proposals/#p-{proposal.pk}" in page
    assert "is past its last day" in page
    mine = as_person(volunteer).get("/").content.decode()
    assert "#p-" not in mine
    as_person(curator).post(f"/proposals/{proposal.pk}/decide/", {"do": "return", "version": "1", "reason": "which brush?"})
    assert "came back with a remark" in as_person(volunteer).get("/").content.decode()
    stock.begun(Actor.of(volunteer), thing, "TR01")
    assert "1 session of work" in as_person(volunteer).get("/").content.decode()
    assert thing.card.number in as_person(volunteer).get("/work/").content.decode()
