"""Five proposals wait; the curator decides them on a phone in two minutes: what is seen, the pictures, one touch, and the next one is there."""

from math import ceil

import pytest
from playwright.sync_api import Locator, Page, expect

from conservation.treatments.deeds import Meant
from conservation.treatments.models import Approval, Proposal
from museum.people.actor import Actor
from tests import stock as house
from tests.browser.conftest import Museum
from tests.browser.kit import PHONE, Browsers, Hand, ready
from tests.treatments import stock

#: seconds that one touch or one swipe takes, and one letter of a remark (ours), as for the everyday helmet
EACH, LETTER, MOST = 3, 0.3, 120
#: height of the bar at the foot of the screen
BAR = 56
REMARK = "Which brush? Say so, then again."


@pytest.fixture
def waiting(museum: Museum) -> list[Proposal]:
    """Four rims with loose rust and one brass shell with green wax, each with pictures; sent by the volunteer."""
    by, sent = Actor.of(museum.marit), []
    for n in range(5):
        brass = n == 4
        thing = museum.another(f"1991.3.{n + 1}", materials=["copper_alloy", "leather"] if brass else ["steel", "paint"])
        at = ("SH", "CU_SOAP", "copper_alloy", "TR18") if brass else ("RB", "RUST_SPOT", "steel", "TR14")
        seen = house.seen(thing, at[0], at[1], material=at[2])
        stock.record(by, thing, seen)
        for view in ("V01", "V05"):
            stock.picture(by, thing, view=view, shade=n)
        sent.append(stock.proposed(by, thing, seen, Meant(step=at[3], earlier="in the driest room since spring; it goes on"), surface=at[2], code=at[0]))
    return sent


def swiped_to(hand: Hand, what: Locator) -> Locator:
    """The thumb brings it onto the screen: each screenful on the way is a touch."""
    view = hand.page.viewport_size
    box = what.bounding_box()
    assert view is not None
    assert box is not None
    seen = view["height"] - BAR
    hand.taps += max(0, ceil((box["y"] + box["height"] - seen) / seen))
    what.scroll_into_view_if_needed()
    return what


def first(page: Page) -> Locator:
    """The proposal at the head of the list."""
    return page.locator("section[id^=p-]").first


def test_five_are_decided_in_two_minutes(browsers: Browsers, museum: Museum, waiting: list[Proposal]) -> None:
    page = browsers.page(museum.ivo)
    hand, letters = Hand(page), 0
    page.goto("/proposals/")
    ready(page)
    for n in range(5):
        section = first(page)
        key = str(section.get_attribute("id"))
        expect(section.locator("img").first).to_be_visible()
        if n == 2:
            hand.tap(swiped_to(hand, section.locator("summary")))
            section.locator("textarea").fill(REMARK)
            hand.taps, letters = hand.taps + 1, letters + len(REMARK)
            hand.tap(swiped_to(hand, section.locator("button[value=return]")))
        else:
            hand.tap(swiped_to(hand, section.locator("button[value=approve]")))
        expect(page.locator(f"#{key}")).to_have_count(0)
        ready(page)
        if n < 4:
            top = first(page).bounding_box()
            assert top is not None, "the next one comes at once"
            assert top["y"] < PHONE["viewport"]["height"] - BAR, "the next one is on the screen without a touch"
    states = sorted(Proposal.objects.filter(pk__in=[row.pk for row in waiting]).values_list("state", flat=True))
    assert states == ["approved"] * 4 + ["returned"]
    assert Approval.objects.filter(decision__proposal__in=waiting).count() == 4
    seconds = hand.taps * EACH + letters * LETTER
    print(f"five decided: {hand.taps} touches, {letters} letters: {seconds:.0f} seconds")
    assert seconds < MOST, f"{hand.taps} touches"
