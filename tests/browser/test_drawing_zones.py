"""Drawing a zone on a photograph with a thumb, with keys, and what the walk makes of it."""

import os
from itertools import count
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from collection.objects.actions.photographs import add_photograph, make_smaller
from collection.objects.drawn import drawn_views
from collection.objects.models import Object
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from tests import stock
from tests.browser.conftest import Museum
from tests.browser.kit import DESK, Browsers, ready
from tests.browser.looking import barriers, too_small, too_wide
from tests.browser.test_walk import begun
from tests.objects.pictures import made, picture, sent

NUMBERS = count(1)


@pytest.fixture
def thing(museum: Museum) -> Object:
    found = museum.another(f"1974.60.{next(NUMBERS)}")
    photo = add_photograph(PROGRAM, uuid7(), sent(made(image=picture((1200, 1600)))), shows=[("object", found.pk)], view="V01")
    make_smaller(PROGRAM, photo.pk)
    return found


def keep(page: Page, name: str) -> None:
    """Pictures to look at, where a folder is named."""
    if folder := os.environ.get("LOOK_AT"):
        page.screenshot(path=Path(folder) / f"{name}.png", full_page=True)


def opened(page: Page, thing: Object, code: str) -> Page:
    page.goto(f"/things/{thing.pk}/zones/?zone={stock.zone(thing, code)}")
    return ready(page)


def touch(page: Page, x: float, y: float) -> None:
    """At this part of the picture."""
    drawing = page.locator("[data-draw] svg.hg")
    drawing.scroll_into_view_if_needed()
    box = drawing.bounding_box()
    assert box is not None
    drawing.tap(position={"x": box["width"] * x, "y": box["height"] * y})


def test_a_zone_is_drawn_with_a_thumb_and_the_walk_is_touched_there(browsers: Browsers, museum: Museum, thing: Object) -> None:
    page = opened(browsers.page(museum.nell), thing, "SH")
    for x, y in ((0.2, 0.2), (0.8, 0.2), (0.8, 0.7), (0.5, 0.9)):
        touch(page, x, y)
    page.get_by_role("button", name="Take back the last corner").tap()
    touch(page, 0.2, 0.7)
    keep(page, "draw-390")
    touch(page, 0.2, 0.2)
    expect(page.locator("[data-draw-said]")).to_contain_text("closed, with 4 corners")
    wrong = {"barriers": barriers(page), "small": too_small(page), "wide": too_wide(page)}
    assert {where: found for where, found in wrong.items() if found} == {}
    page.get_by_role("button", name="Store the zone").tap()
    expect(page.get_by_text("The check offers it on this photograph")).to_be_visible()
    (view,) = drawn_views(thing)
    assert [(round(x, 1), round(y, 1)) for x, y in view.zones[0].points] == [(0.2, 0.2), (0.8, 0.2), (0.8, 0.7), (0.2, 0.7)]
    keep(page, "drawn-390")
    walk = ready(begun(page, thing))
    walk.get_by_role("link", name="V01 front").tap()
    zone = walk.locator(".hg.ph a").first
    zone.tap()
    expect(walk.get_by_text("Its number stands where you touched.")).to_be_visible()
    keep(walk, "walk-390")
    assert float(walk.locator("form[data-finding] input[name=x]").input_value()) > 0
    walk.get_by_role("link", name="Leave the point out").tap()
    expect(walk.get_by_text("Its number stands where you touched.")).to_have_count(0)


def test_a_zone_is_drawn_with_keys_alone(browsers: Browsers, museum: Museum, thing: Object) -> None:
    page = opened(browsers.page(museum.nell, DESK), thing, "RB")
    page.locator("[data-draw] svg").focus()
    for keys in (["Enter"], ["Enter", *["Shift+ArrowRight"] * 6], ["Enter", *["Shift+ArrowDown"] * 4], ["Enter", "ArrowLeft", "Backspace"], ["End"]):
        for key in keys:
            page.keyboard.press(key)
    expect(page.locator("[data-draw-said]")).to_contain_text("closed, with 3 corners")
    keep(page, "draw-1280")
    page.get_by_role("button", name="Store the zone").click()
    expect(page.get_by_text("The check offers it on this photograph")).to_be_visible()
    (view,) = drawn_views(thing)
    assert view.zones[0].points == [(0.5, 0.5), (0.8, 0.5), (0.8, 0.7)]


def test_without_scripts_the_corners_are_written(browsers: Browsers, museum: Museum, thing: Object) -> None:
    page = browsers.page(museum.nell, java_script_enabled=False)
    page.goto(f"/things/{thing.pk}/zones/?zone={stock.zone(thing, 'RB')}")
    page.get_by_label("Corners, once round").fill("10 20; 50 20; 50 60")
    page.get_by_role("button", name="Store the zone").tap()
    expect(page.get_by_text("The check offers it on this photograph")).to_be_visible()
