"""One everyday helmet on a phone, by one trained person: surveyed, dusted, loose rust off a painted chip, wiped, recorded, due again."""

import pytest
from playwright.sync_api import Locator, Page, expect

from collection.objects.models import Object
from conservation.checks.models import Call
from conservation.treatments.actions.standing import give_standing
from conservation.treatments.models import WorkStep
from museum.people import actions as people
from museum.people.actor import Actor
from museum.people.models import Person
from museum.people.permissions import Role
from tests import stock as house
from tests.browser.conftest import Museum
from tests.browser.kit import Browsers, Hand, ready
from tests.browser.test_care import opened, photo, say
from tests.conftest import cast
from tests.treatments import stock

#: seconds that one touch, one choice, one photograph take with gloves on (ours); three minutes hold sixty of them
EACH, MOST = 3, 180


@pytest.fixture
def trained(museum: Museum) -> Person:
    """Marit was shown the steps and has standing leave for them."""
    conservator = cast("Rhea", Role.VOLUNTEER)
    people.give_qualification(Actor.of(museum.ivo), conservator.pk, "conservator", evidence="a diploma, seen")
    stock.shown(museum.marit, conservator, "TR14", "TR10")
    for step, material in (("TR14", "steel"), ("TR10", "paint")):
        give_standing(Actor.of(museum.ivo), museum.marit.pk, step=step, material=material)
    return museum.marit


def surveyed(hand: Hand, thing: Object) -> None:
    """Two findings at the rim, all the rest as last time."""
    page = hand.page
    page.goto(f"/things/{thing.pk}/")
    hand.tap(page.get_by_role("link", name="Full check", exact=True))
    ready(page)
    page.goto(f"/things/{thing.pk}/check/?zone={house.zone(thing, 'RB')}")
    hand.taps += 1  # the rim is touched in the drawing
    ready(page)
    say(hand, "RUST_SPOT", "3", "1", last=False)
    expect(page.locator(".walk-hand .entries li")).to_have_count(1)
    say(hand, "DUST", "33", "0")
    hand.tap(page.get_by_role("button", name="I looked at all the rest: as last time"))
    hand.tap(page.get_by_role("link", name="All zones answered"))
    hand.tap(page.get_by_role("button", name="Store this check"))
    expect(page.get_by_role("heading", name="What it comes to")).to_be_visible()


def folds_opened(hand: Hand, form: Locator) -> Locator:
    """The form, each fold above it that was shut counted as a touch."""
    hand.taps += form.evaluate(
        "form => { let shut = 0; for (let up = form.closest('details'); up; up = up.parentElement.closest('details')) shut += !up.open; return shut; }"
    )
    return opened(hand.page, form)


def done(hand: Hand, page: Page) -> None:
    """The spot where one is asked for, every caution, Done."""
    spot = page.locator("form:has(input[name=do][value=spot]) button[name=unchanged][value=yes]")
    if spot.count():
        hand.tap(spot)
        expect(page.locator("body")).to_contain_text("Test spot written down")
        ready(page)
    step = page.locator("form:has(input[name=do][value=step])")
    for box in step.locator("input[name=acknowledged]").all():
        box.check(force=True)
        hand.taps += 1
    hand.tap(step.locator("button").last)
    expect(page.locator("body")).to_contain_text("Written down")


def go_on(hand: Hand, page: Page, step: str, layer: str) -> None:
    """Another step of the same session; where the step is not offered for the layer at hand, the layer comes first."""
    for name, value in (("surface", layer), ("step", step)):
        form = folds_opened(hand, page.locator("form:has(select[name=step])"))
        choice = form.locator(f"select[name={name}]")
        if choice.input_value() != value:
            choice.select_option(value)
            hand.taps += 2
        if name == "step" or not form.locator(f"select[name=step] option[value={step}]").count():
            hand.tap(form.locator("button").last)
            page.wait_for_url(f"**{name}={value}**")
            ready(page)


def test_one_everyday_helmet_takes_under_three_minutes(browsers: Browsers, museum: Museum, trained: Person) -> None:
    thing = museum.another("1974.12.77", materials=["steel", "paint"])
    stock.record(Actor.of(museum.bo), thing)
    page = browsers.page(trained)
    hand = Hand(page)
    surveyed(hand, thing)
    survey = hand.taps
    hand.tap(page.locator(f"a[href='/things/{thing.pk}/may/']").first)
    begin = folds_opened(hand, page.locator("form[action$='/work/']:has(input[name=step][value=TR03])").first)
    photo(page, begin, 0)
    hand.taps += 1
    hand.tap(begin.locator("button").last)
    page.wait_for_url("**/work/**")
    done(hand, page)
    for step, layer in (("TR14", "steel"), ("TR10", "paint")):
        go_on(hand, page, step, layer)
        done(hand, page)
    end = folds_opened(hand, page.locator("form:has(input[name=do][value=end])"))
    photo(page, end, 1)
    hand.taps += 1
    hand.tap(end.locator("button").last)
    expect(page.locator("main")).to_contain_text("Ended")
    assert list(WorkStep.objects.filter(work__object=thing, result="done").order_by("recorded_at").values_list("step", flat=True)) == ["TR03", "TR14", "TR10"]
    assert Call.objects.filter(object=thing, why="follow_up").exists(), "due again"
    print(f"{hand.taps} touches, {survey} of them for the survey: {hand.taps * EACH} seconds")
    assert hand.taps * EACH < MOST, f"{hand.taps} touches"
