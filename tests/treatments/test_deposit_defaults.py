"""A default of the society per kind of deposit (conservation reference 4.2 and 4.6, ours): shown as such, gone before by a decision, ended with a reason."""

import re
from collections.abc import Callable

import pytest
from django.test import Client

from conservation.treatments.actions.standing import decide_deposit, name_deposit, set_deposit_default
from conservation.treatments.models import DepositDefault
from museum.people.actor import Actor
from museum.people.models import Person
from tests import stock as house
from tests.treatments import stock

pytestmark = pytest.mark.django_db
PAGE = "/deposits/defaults/"
KEEP = {"kind": "mud", "decision": "keep", "reason": "mud of the flood is what they are kept for"}


def test_a_curator_sets_a_default_on_the_page_and_it_is_shown_as_one_not_as_a_decision(
    volunteer: Person, curator: Person, as_person: Callable[[Person], Client]
) -> None:
    by, thing = Actor.of(volunteer), house.helmet()
    mud = house.seen(thing, "SH", "SIGNIF_DEPOSIT", material="paint")
    stock.record(by, thing, mud)
    name_deposit(by, mud.finding, kind="mud")
    browser, may = as_person(curator), f"/things/{thing.pk}/may/"
    assert "Undecided" in browser.get(may).content.decode()
    assert browser.post(PAGE, KEEP)["Location"] == PAGE
    shown = browser.get(may).content.decode()
    assert "Default of the society: keep." in shown
    assert "Undecided" not in shown
    assert "Decided:" not in shown
    decide_deposit(Actor.of(curator), mud.finding, kind="mud", decision="remove", reason="garden mud")
    shown = browser.get(may).content.decode()
    assert "Decided: remove." in shown
    assert "Default of the society" not in shown


def test_the_page_keeps_who_said_what_and_why_also_after_the_default_ended(
    curator: Person, second_curator: Person, as_person: Callable[[Person], Client]
) -> None:
    set_deposit_default(Actor.of(curator), **KEEP)
    browser = as_person(second_curator)
    browser.post(PAGE, {"kind": "mud", "decision": "", "reason": "each is looked at by itself"})
    page = browser.get(PAGE).content.decode()
    for said in ("mud of the flood is what they are kept for", "each is looked at by itself", "Ivo", "Anke"):
        assert said in page
    assert page.count("no default: undecided until a curator decides") == 8, "mud is one of eight kinds, none with a default now"


@pytest.mark.parametrize("kind", ["house_dust", "rust_powder", "mould", "copper_soap", "pest_remains"])
def test_what_is_never_a_deposit_gets_no_default(curator: Person, kind: str, as_person: Callable[[Person], Client]) -> None:
    browser = as_person(curator)
    assert f'value="{kind}"' not in browser.get(PAGE).content.decode()
    assert browser.post(PAGE, KEEP | {"kind": kind}).status_code == 409
    assert not DepositDefault.objects.exists()


def test_without_a_reason_nothing_is_stored_and_what_was_typed_is_kept(curator: Person, as_person: Callable[[Person], Client]) -> None:
    answer = as_person(curator).post(PAGE, KEEP | {"kind": "coal_dust", "decision": "remove", "reason": " "})
    assert answer.status_code == 409
    page = answer.content.decode()
    assert 'value="coal_dust" selected' in page
    assert 'value="remove" selected' in page
    assert not DepositDefault.objects.exists()


def test_a_volunteer_reads_why_and_changes_nothing(volunteer: Person, curator: Person, as_person: Callable[[Person], Client]) -> None:
    set_deposit_default(Actor.of(curator), **KEEP)
    browser = as_person(volunteer)
    page = browser.get(PAGE).content.decode()
    assert KEEP["reason"] in page
    assert 'name="decision"' not in page
    assert browser.get("/api/deposits/defaults/").json() == {"defaults": {"mud": "keep"}}
    browser.post(PAGE, KEEP | {"decision": "remove"})
    browser.post("/api/deposits/defaults/", KEEP | {"decision": "remove"}, content_type="application/json")
    assert DepositDefault.objects.count() == 1


def test_a_form_sent_in_haste_ends_no_default(curator: Person, as_person: Callable[[Person], Client]) -> None:
    """Whoever chose neither kind nor decision is asked; an end of a default is chosen like any other."""
    browser = as_person(curator)
    browser.post(PAGE, KEEP)
    first = [re.search(rf'<select[^>]*name="{name}"[^>]*><option value="([^"]*)"', browser.get(PAGE).content.decode()) for name in ("kind", "decision")]
    assert [found and found[1] for found in first] == ["", "?"]
    for sent in ({"kind": "", "decision": "keep"}, {"kind": "mud", "decision": "?"}):
        assert browser.post(PAGE, {**sent, "reason": "in haste"}).status_code == 409
    assert DepositDefault.objects.count() == 1
