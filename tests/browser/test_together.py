"""Two people at one thing at once: nothing of either is lost, both are told."""

import re

from playwright.sync_api import Page, expect

from collection.objects.models import Object
from conservation.checks.models import ConditionCheck
from tests.browser.conftest import Museum
from tests.browser.kit import DESK, Browsers, ready
from tests.browser.looking import barriers


def writing_on(page: Page, thing: Object, words: str) -> None:
    """The name of the thing being changed, not yet stored."""
    page.goto(f"/things/{thing.pk}/edit/#f-name")
    section = page.locator("#f-name")
    section.get_by_text("Change it", exact=True).click()
    section.get_by_role("textbox").first.fill(words)


def test_two_write_one_field_and_the_second_sees_both(browsers: Browsers, museum: Museum) -> None:
    thing = museum.another("1974.12.31")
    nell, ivo = browsers.page(museum.nell, DESK), browsers.page(museum.ivo)
    writing_on(nell, thing, "helmet of the harbour watch")
    writing_on(ivo, thing, "helmet of the rescue party")
    nell.locator("#f-name").get_by_role("button", name="Store").click()
    expect(nell.locator("#f-name")).to_contain_text("helmet of the harbour watch")
    ivo.locator("#f-name").get_by_role("button", name="Store").tap()
    expect(ivo.get_by_role("heading", name="Both versions")).to_be_visible()
    assert barriers(ivo) == []
    for words in ("helmet of the harbour watch", "helmet of the rescue party"):
        expect(ivo.locator("main")).to_contain_text(words)
    expect(ivo.locator("main")).to_contain_text("Nell")
    ivo.get_by_role("button", name="Store mine, knowing theirs").tap()
    expect(ivo.locator("main")).to_contain_text("helmet of the rescue party")
    nell.goto(f"/things/{thing.pk}/said/")
    for words in ("helmet of the harbour watch", "helmet of the rescue party"):
        expect(nell.locator("main")).to_contain_text(words)


def test_two_check_one_helmet_at_once_and_both_are_told(browsers: Browsers, museum: Museum) -> None:
    thing = museum.another("1974.12.32")
    pages = [browsers.page(museum.marit), browsers.page(museum.bo)]
    for page in pages:
        page.goto(f"/things/{thing.pk}/check/")
        for number in range(1, 11):
            page.locator(f'input[name="{number}"][value="no"]').check(force=True)
        page.get_by_role("button", name="Go on to the walk").tap()
        ready(page)
    zones = pages[0].locator(".zones a").count()
    for count in range(1, zones + 1):
        for page in pages:
            page.get_by_role("button", name="Nothing seen").tap()
        for page in pages:
            expect(page.locator("[data-progress]")).to_have_text(re.compile(f"^{count}/"))
    for page in pages:
        page.get_by_role("link", name="All zones answered").tap()
        page.get_by_label("Note").fill(f"said on device {pages.index(page)}")
    for page in pages:
        page.get_by_role("button", name="Store this check").tap()
        expect(page.get_by_role("heading", name="What it comes to")).to_be_visible()
    assert ConditionCheck.objects.filter(object=thing).count() == 2
    expect(pages[1].get_by_text("Marit checked it too today")).to_be_visible()
    pages[0].reload()
    expect(pages[0].get_by_text("Bo checked it too today")).to_be_visible()
    pages[0].get_by_role("link", name="See the other").tap()
    expect(pages[0].get_by_text("said on device 1")).to_be_visible()
