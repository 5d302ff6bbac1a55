"""The ten questions (conservation reference, 6 and 4.6, ours): once for a lot, confirmed in one act, opened whole by any difference, old after an opening."""

import re
import threading
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from collection.objects.actions.parts import add_component, change_component, made_of, withdraw_material
from collection.objects.actions.screens import tell_opening
from collection.objects.models import Component, LotScreen, MadeOf, Object, Opening, Screen
from collection.objects.queries import hazards_in_force
from collection.objects.screens import standing_of
from conservation.checks.actions.screening import answer_ten, answer_ten_of_lot, confirm_from_lot
from conservation.treatments.actions.ending import keep_part
from conservation.treatments.actions.working import record_step, start_work, tell_opened
from conservation.treatments.deeds import Meant
from conservation.treatments.refusal import Refused
from museum import clock
from museum.errors import DomainError, Invalid, NotFound
from museum.ids import uuid7
from museum.people.actor import Actor
from museum.people.models import Person
from tests import stock as house
from tests.treatments import stock

pytestmark = pytest.mark.django_db
FELT = house.NO_TO_ALL | {"4": "yes"}


@pytest.fixture
def by(volunteer: Person) -> Actor:
    return Actor.of(volunteer)


def lot(by: Actor, **more: Any) -> LotScreen:
    found: LotScreen = answer_ten_of_lot(by, uuid7(), name=more.pop("name", "felt caps, one store"), answers=FELT, **more)
    return found


def dusted(by: Actor, thing: Object) -> None:
    """Begins to dust it, which asks for no leave but for every other gate."""
    start_work(by, thing.pk, work_id=uuid7(), zone=stock.zone_of(thing, "SH"), surface="paint", meant=Meant(step="TR03"), before=[stock.picture(by, thing)])


def refused_screen(by: Actor, thing: Object) -> str:
    with pytest.raises(Refused) as refused:
        dusted(by, thing)
    assert refused.value.data["gate"] == "SCREEN"
    return str(refused.value.data["why"])


@pytest.mark.parametrize("page", ["things/{}/screen/", "things/{}/check/screen/", "lots/new/"])
def test_fibre_that_is_seen_is_not_lost_behind_a_no(page: str, as_person: Callable[..., Client], volunteer: Person) -> None:
    """'No' to 1 and 'yes' to 1a: one of the two is a slip, and nobody but who looked knows which."""
    thing, client = house.helmet(), as_person(volunteer)
    told = client.post("/" + page.format(thing.pk), {"name": "one crate", **house.NO_TO_ALL, "1a": "yes"})
    text = told.content.decode()
    assert told.status_code == 400
    assert "What was answered to 1a does not go with ‘no’" in text
    assert "What you answered is kept." in text
    assert re.search(r'name="1a" value="yes"[^>]*checked', text)
    assert not Screen.objects.exists()
    assert not LotScreen.objects.exists()


# from its lot


def test_what_is_confirmed_from_its_lot_may_be_dusted_and_carries_the_dangers_of_the_lot(by: Actor) -> None:
    thing = house.helmet()
    assert "missing" in refused_screen(by, thing)
    confirm_from_lot(by, thing.pk, lot_id=lot(by).pk, looked="same")
    stands = standing_of(thing.pk)
    assert (stands.state, stands.screen and stands.screen.answers["4"]) == ("confirmed", "yes")
    assert hazards_in_force([thing.pk])[thing.pk] == {"PESTICIDE": 1, "MERCURY_FELT": 1}
    dusted(by, thing)


@pytest.mark.parametrize("looked", ["differs", "unsure"])
def test_what_differs_or_is_unsure_is_asked_whole_and_the_lot_counts_no_more(by: Actor, looked: str) -> None:
    thing, of_lot = house.helmet(), lot(by)
    confirm_from_lot(by, thing.pk, lot_id=of_lot.pk, looked=looked, note="a pad inside")
    assert standing_of(thing.pk).state == "missing"
    assert not Screen.objects.exists()
    with pytest.raises(Invalid):
        confirm_from_lot(by, thing.pk, lot_id=of_lot.pk, looked="same")
    refused_screen(by, thing)
    answer_ten(by, thing.pk, answers=house.NO_TO_ALL)
    dusted(by, thing)


def test_a_lot_answered_anew_is_confirmed_anew(by: Actor) -> None:
    thing, of_lot = house.helmet(), lot(by)
    confirm_from_lot(by, thing.pk, lot_id=of_lot.pk, looked="same")
    anew = answer_ten_of_lot(by, uuid7(), name="felt caps, one store", answers=FELT | {"5": "unsure"}, corrects=of_lot.pk)
    assert standing_of(thing.pk).state == "missing"
    with pytest.raises(NotFound):
        confirm_from_lot(by, thing.pk, lot_id=of_lot.pk, looked="same")
    confirm_from_lot(by, thing.pk, lot_id=anew.pk, looked="same")
    assert standing_of(thing.pk).state == "confirmed"


def test_a_lot_of_one_kind_is_offered_to_no_other(by: Actor) -> None:
    with pytest.raises(NotFound):
        confirm_from_lot(by, house.helmet(kind="civil_defence").pk, lot_id=lot(by, kind="fire").pk, looked="same")


def test_a_lot_needs_a_name_and_all_ten_with_the_closer_ones(by: Actor) -> None:
    for name, answers in ((" ", FELT), ("caps", {"1": "no"}), ("caps", FELT | {"9": "yes"})):
        with pytest.raises(Invalid):
            answer_ten_of_lot(by, uuid7(), name=name, answers=answers)
    assert not LotScreen.objects.exists()


# outdated


@pytest.mark.parametrize("full", [True, False])
def test_after_an_opening_nothing_is_cleaned_until_the_ten_are_answered_for_the_thing_itself(by: Actor, full: bool) -> None:
    thing, of_lot = house.helmet(), lot(by)
    if full:
        answer_ten(by, thing.pk, answers=house.NO_TO_ALL)
    else:
        confirm_from_lot(by, thing.pk, lot_id=of_lot.pk, looked="same")
    dusted(by, thing)
    tell_opening(by, thing.pk, why="lining", note="front pad lifted")
    assert standing_of(thing.pk).state == "outdated"
    assert "outdated" in refused_screen(by, thing)
    with pytest.raises(Invalid):
        confirm_from_lot(by, thing.pk, lot_id=of_lot.pk, looked="same")
    answer_ten(by, thing.pk, answers=house.NO_TO_ALL)
    assert standing_of(thing.pk).state == "full"
    dusted(by, thing)


def test_an_opening_of_yesterday_told_today_is_newer_than_an_answer_of_yesterday_and_older_than_one_of_today(by: Actor) -> None:
    thing, other, now = house.helmet(), house.helmet("1974.12.4"), clock.now()
    with clock.at(now - timedelta(days=1)):
        answer_ten(by, thing.pk, answers=house.NO_TO_ALL)
    answer_ten(by, other.pk, answers=house.NO_TO_ALL)
    for one in (thing, other):
        tell_opening(by, one.pk, why="out", happened_on=clock.day_of(now - timedelta(days=1)))
    assert (standing_of(thing.pk).state, standing_of(other.pk).state) == ("outdated", "full")
    with pytest.raises(Invalid):
        tell_opening(by, thing.pk, why="out", happened_on=clock.day_of(now + timedelta(days=1)))


def test_at_work_the_next_step_waits_for_the_ten_once_something_was_opened(by: Actor) -> None:
    thing = house.helmet()
    stock.record(by, thing, house.seen(thing, "SH", "DUST", activity=0, material="paint"))
    work = stock.begun(by, thing, "TR03", surface="paint", code="SH", before=(stock.picture(by, thing),))
    record_step(by, work.pk, stock.done("TR03", surface="paint"))
    tell_opened(by, work.pk, why="showed", note="grey powder under the pad")
    with pytest.raises(Refused) as refused:
        record_step(by, work.pk, stock.done("TR03", surface="paint"))
    assert refused.value.data["gate"] == "SCREEN"
    answer_ten(by, thing.pk, answers=house.NO_TO_ALL)
    record_step(by, work.pk, stock.done("TR03", surface="paint"))


def test_what_came_off_at_work_outdates_the_answers_only_where_something_lies_open_now(by: Actor) -> None:
    thing = house.helmet()
    stock.record(by, thing, house.seen(thing, "RB", "RUST_SPOT"))
    work = stock.begun(by, thing, "TR01")
    keep_part(by, work.pk, name="flake of rust", because="it fell")
    assert standing_of(thing.pk).state == "full"
    keep_part(by, work.pk, name="front pad", because="its stitches gave", opened=True)
    assert standing_of(thing.pk).state == "outdated"


def test_the_program_sees_for_itself_that_a_fixed_part_came_off(by: Actor, registrar: Person) -> None:
    keeper, thing = Actor.of(registrar), house.helmet()
    part = add_component(keeper, thing.pk, sort="fixed", name="liner")
    answer_ten(by, thing.pk, answers=house.NO_TO_ALL)
    change_component(keeper, part.pk, version=part.version, name="leather liner", sort="fixed")
    assert standing_of(thing.pk).state == "full"
    change_component(keeper, part.pk, version=part.version + 1, name="leather liner", sort="loose")
    assert standing_of(thing.pk).state == "outdated"
    assert Opening.objects.get().note == "leather liner"


def test_a_material_of_which_the_answers_say_there_is_none_outdates_them(by: Actor, registrar: Person) -> None:
    thing, keeper = house.helmet(), Actor.of(registrar)
    main = Component.objects.get(object=thing, sort="main")
    answer_ten(by, thing.pk, answers=FELT)
    made_of(keeper, main.pk, material="copper_alloy")
    made_of(keeper, main.pk, material="felt")
    assert standing_of(thing.pk).state == "full", "felt was answered with yes, and of brass nobody asks"
    made_of(keeper, main.pk, material="mineral_fibre")
    assert standing_of(thing.pk).state == "outdated"


def test_a_lot_that_says_no_to_what_the_record_tells_is_not_confirmed(by: Actor) -> None:
    """Rather asked whole than believed: who taps 'the same' for the twelfth cap looks less than for the first."""
    of_lot = answer_ten_of_lot(by, uuid7(), name="caps, one crate", answers=house.NO_TO_ALL)
    thing, plain = house.helmet(materials=["steel", "felt"]), house.helmet("1974.12.4", materials=["steel"])
    with pytest.raises(Invalid) as refused:
        confirm_from_lot(by, thing.pk, lot_id=of_lot.pk, looked="same")
    assert "answered for this thing itself now" in refused.value.sentence
    assert standing_of(thing.pk).state == "missing"
    confirm_from_lot(by, plain.pk, lot_id=of_lot.pk, looked="same")
    confirm_from_lot(by, thing.pk, lot_id=lot(by).pk, looked="same")
    assert standing_of(thing.pk).state == standing_of(plain.pk).state == "confirmed"


def test_a_full_no_to_what_the_record_tells_is_asked_about_and_nothing_is_stored(by: Actor, registrar: Person) -> None:
    thing = house.helmet(materials=["steel", "felt", "cadmium_plate"])
    with pytest.raises(Invalid) as asked:
        answer_ten(by, thing.pk, answers=house.NO_TO_ALL)
    assert "cadmium plate, felt" in asked.value.sentence
    assert "question 4, 7 is" in asked.value.sentence
    assert standing_of(thing.pk).state == "missing"
    for material in ("felt", "cadmium_plate"):
        withdraw_material(Actor.of(registrar), MadeOf.objects.get(material__code=material).pk, reason="it is wool cloth on card")
    answer_ten(by, thing.pk, answers=house.NO_TO_ALL)
    assert standing_of(thing.pk).state == "full"
    other = house.helmet("1974.9.9", materials=["steel", "felt"])
    answer_ten(by, other.pk, answers=house.NO_TO_ALL | {"4": "unsure"})
    assert standing_of(other.pk).state == "full", "'unsure' is an answer"


def test_a_check_that_says_no_to_what_the_record_tells_is_kept_and_the_ten_are_asked_anew(by: Actor) -> None:
    """A look that happened is never lost, and its 'no' opens no gate."""
    thing = house.helmet(materials=["steel", "paint", "felt"])
    stock.record(by, thing, house.seen(thing, "SH", "DUST", activity=0, material="paint"))
    assert Screen.objects.get().answers["4"] == "no"
    stands = standing_of(thing.pk)
    assert stands.state == "outdated"
    assert stands.opening is not None
    assert stands.opening.note == "felt"
    refused_screen(by, thing)
    answer_ten(by, thing.pk, answers=FELT)
    dusted(by, thing)


def test_the_page_before_a_check_asks_about_a_no_to_what_the_record_tells(volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    thing = house.helmet(materials=["steel", "felt"])
    page = as_person(volunteer).post(f"/things/{thing.pk}/check/screen/", {**house.NO_TO_ALL, "check": str(uuid7())})
    assert page.status_code == 400
    assert "Its record says felt" in page.content.decode()


# by page


def test_one_tap_confirms_on_the_page_and_the_walk_asks_again_after_an_opening(by: Actor, volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    thing, of_lot = house.helmet(), lot(by)
    browser = as_person(volunteer)
    page = browser.get(f"/things/{thing.pk}/screen/").content.decode()
    assert "felt caps, one store" in page
    answer = browser.post(f"/things/{thing.pk}/screen/confirm/", {"lot": of_lot.pk, "looked": "same", "next": f"/things/{thing.pk}/check/"})
    assert answer["Location"] == f"/things/{thing.pk}/check/"
    assert browser.get(f"/things/{thing.pk}/check/").status_code == 200
    browser.post(f"/things/{thing.pk}/opened/", {"why": "lining", "note": "front pad"})
    assert browser.get(f"/things/{thing.pk}/check/")["Location"] == f"/things/{thing.pk}/check/screen/"
    page = browser.get(f"/things/{thing.pk}/screen/").content.decode()
    assert "front pad" in page
    assert "felt caps, one store" not in page, "after an opening the lot does not count"
    answer = browser.post(f"/things/{thing.pk}/screen/", house.NO_TO_ALL | {"3": ""})
    assert answer.status_code == 400
    assert answer.content.decode().count("checked") == 9, "what was answered is kept"
    browser.post(f"/things/{thing.pk}/screen/", house.NO_TO_ALL)
    assert standing_of(thing.pk).state == "full"


def test_the_refusal_leads_to_the_ten_questions(by: Actor, volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    thing, _rust = stock.rusty(by)
    tell_opening(by, thing.pk, why="lining")
    page = as_person(volunteer).get(f"/things/{thing.pk}/may/").content.decode()
    assert f'href="/things/{thing.pk}/screen/"' in page


def test_programs_hear_how_it_stands(by: Actor, volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    thing, browser = house.helmet(), as_person(volunteer)
    made = browser.post("/api/lots/", {"id": str(uuid7()), "name": "caps", "answers": FELT}, content_type="application/json").json()
    assert browser.get(f"/api/things/{thing.pk}/screen/").json()["state"] == "missing"
    sent = {"id": str(uuid7()), "lot": made["id"], "looked": "same"}
    for _twice in range(2):
        assert browser.post(f"/api/things/{thing.pk}/screen/confirm/", sent, content_type="application/json").json()["state"] == "confirmed"
    assert Screen.objects.count() == 1
    told = browser.post(f"/api/things/{thing.pk}/opened/", {"id": str(uuid7()), "why": "apart"}, content_type="application/json").json()
    assert (told["state"], told["opened"]["why"]) == ("outdated", "apart")
    wrong = browser.post(f"/api/things/{thing.pk}/opened/", {"id": str(uuid7()), "why": "differs"}, content_type="application/json")
    assert wrong.status_code == 400


def test_a_reader_neither_answers_nor_opens(by: Actor, reader: Person) -> None:
    thing, of_lot = house.helmet(), lot(by)
    for deed in (
        lambda who: answer_ten(who, thing.pk, answers=house.NO_TO_ALL),
        lambda who: confirm_from_lot(who, thing.pk, lot_id=of_lot.pk, looked="same"),
        lambda who: tell_opening(who, thing.pk, why="lining"),
    ):
        with pytest.raises(DomainError):
            deed(Actor.of(reader))
    assert standing_of(thing.pk).state == "missing"


def test_the_page_of_lots_asks_no_more_for_many_and_counts_each_thing_once(by: Actor, volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    browser, first = as_person(volunteer), lot(by)
    for thing in (house.helmet(), house.helmet("1974.12.4")):
        for _twice in range(2):
            confirm_from_lot(by, thing.pk, lot_id=first.pk, looked="same")
    with CaptureQueriesContext(connection) as of_one:
        page = browser.get("/lots/").content.decode()
    assert "2 things confirmed" in page
    lot(by, name="cork caps")
    with CaptureQueriesContext(connection) as of_two:
        assert "0 things confirmed" in browser.get("/lots/").content.decode()
    assert len(of_two) == len(of_one)


def test_a_lot_names_its_things_and_whom_to_confirm_again(by: Actor, volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    first, again, whole, browser = lot(by), house.helmet("1974.12.3"), house.helmet("1974.12.4"), as_person(volunteer)
    for thing in (again, whole):
        confirm_from_lot(by, thing.pk, lot_id=first.pk, looked="same")
    assert f'href="/things/{again.pk}/">1974.12.3' in browser.get("/lots/").content.decode()
    answer_ten(by, whole.pk, answers=house.NO_TO_ALL)
    newer = lot(by, corrects=first.pk)
    page = browser.get("/lots/").content.decode()
    assert f'href="/things/{again.pk}/screen/">1974.12.3' in page
    assert "1974.12.4" not in page, "what was answered whole waits for nobody"
    confirm_from_lot(by, again.pk, lot_id=newer.pk, looked="same")
    page = browser.get("/lots/").content.decode()
    assert "1 thing confirmed" in page
    assert f"/things/{again.pk}/screen/" not in page


def test_the_page_of_a_thing_says_that_it_was_opened(by: Actor, volunteer: Person, as_person: Callable[[Person], Client]) -> None:
    thing = house.helmet()
    answer_ten(by, thing.pk, answers=house.NO_TO_ALL)
    said = "The ten questions are to be answered anew"
    assert said not in as_person(volunteer).get(f"/things/{thing.pk}/").content.decode()
    tell_opening(by, thing.pk, why="lining")
    assert said in as_person(volunteer).get(f"/things/{thing.pk}/").content.decode()
    answer_ten(by, thing.pk, answers=house.NO_TO_ALL)
    assert said not in as_person(volunteer).get(f"/things/{thing.pk}/").content.decode()


@pytest.mark.django_db(transaction=True)
def test_a_lot_answered_anew_by_two_at_once_is_answered_once(by: Actor) -> None:
    before, gate, told = lot(by), threading.Barrier(3), list[str]()

    def answer() -> None:
        gate.wait()
        try:
            told.append(lot(by, corrects=before.pk).name)
        except NotFound:
            told.append("answered meanwhile")
        finally:
            connection.close()

    people = [threading.Thread(target=answer) for _ in range(3)]
    for one in people:
        one.start()
    for one in people:
        one.join()
    assert sorted(told) == ["answered meanwhile", "answered meanwhile", "felt caps, one store"]
