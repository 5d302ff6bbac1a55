"""The full check on a phone with one thumb, every touch counted."""

import re

from playwright.sync_api import Page, Route, expect

from collection.objects.models import Object
from conservation.checks.models import ConditionCheck
from tests import stock
from tests.browser.conftest import Museum
from tests.browser.kit import Browsers, Hand, ready
from tests.objects.pictures import made

#: one finding may take this many touches
MOST = 12


def begun(page: Page, thing: Object) -> Page:
    """In the walk, the ten questions answered."""
    page.goto(f"/things/{thing.pk}/check/")
    screen = page.get_by_role("heading", name="ten questions")
    if screen.count():
        for number in range(1, 11):
            page.locator(f'input[name="{number}"][value="no"]').check(force=True)
        page.get_by_role("button", name="Go on to the walk").tap()
    return page


def find(hand: Hand, percent: str) -> None:
    """One finding said whole: what, how much, how deep, whether it goes on."""
    form = hand.page.locator("form[data-finding]")
    hand.tap(form.locator(".choice:has(input[name=term])").first)
    hand.tap(form.locator(f'.area:has(input[value="{percent}"])'))
    hand.tap(form.locator(".choice:has(input[name=severity][value='2'])"))
    hand.tap(form.locator(".choice:has(input[name=activity][value='1'])"))
    hand.tap(form.get_by_role("button", name="on to the next zone"))


def nothing_in_the_rest(page: Page, answered: int) -> None:
    """'Nothing seen' at each zone that has no answer yet."""
    expect(page.locator("[data-progress]")).to_have_text(re.compile(f"^{answered}/"))
    zones = int(page.locator("[data-progress]").inner_text().split("/")[1])
    for count in range(answered + 1, zones + 1):
        page.get_by_role("button", name="Nothing seen").tap()
        expect(page.locator("[data-progress]")).to_have_text(f"{count}/{zones}")


def test_ten_findings_take_at_most_twelve_touches_each_and_are_told_why(browsers: Browsers, museum: Museum) -> None:
    thing = museum.another("1974.12.11")
    page = ready(begun(browsers.page(museum.marit), thing))
    hand = Hand(page)
    for found in range(10):
        before = hand.taps
        find(hand, "3")
        expect(page.locator("[data-progress]")).to_have_text(re.compile(rf"^{found + 1}/"))
        assert hand.taps - before <= MOST
    nothing_in_the_rest(page, 10)
    hand.tap(page.get_by_role("link", name="All zones answered"))
    hand.tap(page.get_by_role("button", name="Store this check"))
    expect(page.get_by_role("heading", name="What it comes to")).to_be_visible()
    state = page.locator("section[aria-labelledby=state]")
    expect(state).to_contain_text(re.compile("Grade [0-3]"))
    expect(state).to_contain_text(re.compile("urgency", re.IGNORECASE))
    assert state.locator("h3:text-is('Why') + ul li").count() >= 1
    expect(page.locator("section[aria-labelledby=due] li strong").first).to_have_text(re.compile(r"20\d\d"))
    check = ConditionCheck.objects.get(object=thing)
    assert check.observations.count() == 10
    assert hand.taps <= 10 * MOST + 2


def test_what_was_refused_stays_said_while_the_rest_is_kept(browsers: Browsers, museum: Museum) -> None:
    """What is typed is kept a moment later by itself; that it went through is no answer to what was refused."""
    thing = museum.another("1974.12.75")
    page = ready(begun(browsers.page(museum.marit), thing))
    expect(page.get_by_role("button", name="As last time")).to_have_count(0)
    form = page.locator("form[data-finding]")
    for one in ("term", "severity", "activity"):
        form.locator(f"input[name={one}]").first.check(force=True)
    form.get_by_label("or exactly, in percent").fill("150")
    form.get_by_role("button", name="on to the next zone").tap()
    notice = page.locator("[data-notice]")
    expect(notice).to_contain_text("at most 100 percent")
    page.wait_for_timeout(900)
    expect(notice).to_contain_text("at most 100 percent")
    expect(notice).to_be_visible()


def test_as_last_time_is_a_whole_check_in_twelve_touches(browsers: Browsers, museum: Museum) -> None:
    from conservation.checks.actions.record import record_check
    from museum.people.actor import Actor

    thing = museum.another("1974.12.12")
    entry = stock.full_check(thing, stock.seen(thing, "RB", "RUST_SPOT"), stock.seen(thing, "SH", "PAINT_FLAKE", material="paint"))
    record_check(Actor.of(museum.bo).keyed(entry.id), entry)
    page = browsers.page(museum.marit)
    page.goto(f"/things/{thing.pk}/")
    hand = Hand(page)
    hand.tap(page.get_by_role("link", name="Full check", exact=True))
    ready(page)
    hand.tap(page.get_by_role("button", name="I looked at all the rest: as last time"))
    hand.tap(page.get_by_role("link", name="All zones answered"))
    hand.tap(page.get_by_role("button", name="Store this check"))
    expect(page.get_by_role("heading", name="What it comes to")).to_be_visible()
    check = ConditionCheck.objects.get(object=thing, author=museum.marit)
    assert {row.change for row in check.observations.all()} == {"same"}
    assert hand.taps <= 12, f"{hand.taps} touches"


def test_the_whole_walk_without_scripts(browsers: Browsers, museum: Museum) -> None:
    thing = museum.another("1974.12.13")
    page = begun(browsers.page(museum.marit, java_script_enabled=False), thing)
    find(Hand(page), "3")
    nothing_in_the_rest(page, 1)
    page.get_by_role("link", name="All zones answered").tap()
    page.get_by_label("Note").fill("seen by daylight")
    page.get_by_role("button", name="Store this check").tap()
    expect(page.get_by_role("heading", name="What it comes to")).to_be_visible()
    expect(page.get_by_text("seen by daylight")).to_be_visible()
    assert ConditionCheck.objects.get(object=thing).observations.count() == 1


def test_a_touch_before_the_script_has_come_is_not_lost(browsers: Browsers, museum: Museum) -> None:
    thing = museum.another("1974.12.14")
    context = browsers.device(museum.marit)
    # The script is on its way for as long as the test runs.
    late: list[Route] = []
    context.route("**/*.js", lambda route: late.append(route))  # noqa: PLW0108 - Playwright puts a mark on the handler
    page = context.new_page()
    page.goto(f"/things/{thing.pk}/check/", wait_until="commit")
    for number in range(1, 11):
        page.locator(f'input[name="{number}"][value="no"]').check(force=True)
    page.get_by_role("button", name="Go on to the walk").tap(no_wait_after=True)
    zone = page.locator("svg a.zone, svg .zone a, svg a").nth(2)
    zone.dispatch_event("click")
    page.get_by_role("button", name="Nothing seen").tap(no_wait_after=True)
    expect(page.locator("[data-progress]")).to_have_text(re.compile("^1/"))
    assert late
    for route in late:
        route.abort()


def test_a_photograph_of_a_finding_is_seen_on_the_result_and_on_the_thing(browsers: Browsers, museum: Museum) -> None:
    thing = museum.another("1974.12.15")
    page = ready(begun(browsers.page(museum.marit), thing))
    page.locator("#photo").set_input_files({"name": "rim.jpg", "mimeType": "image/jpeg", "buffer": made()})
    expect(page.locator("[data-photo-said]")).to_have_text("Photographs kept: 1.")
    find(Hand(page), "3")
    nothing_in_the_rest(page, 1)
    page.get_by_role("link", name="All zones answered").tap()
    page.get_by_role("button", name="Store this check").tap()
    expect(page.locator("section[aria-labelledby=seen] img")).to_have_count(1)
    page.get_by_role("link", name="To the thing").tap()
    picture = page.locator("main img").first
    expect(picture).to_be_visible()
    assert picture.evaluate("image => image.decode().then(() => image.naturalWidth)") > 0
