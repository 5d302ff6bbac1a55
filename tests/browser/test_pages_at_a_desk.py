"""Every page of the program at a desk, by light and dark; the main ones in forced colours and with large letters too."""

import pytest

from tests.browser.conftest import Museum
from tests.browser.kit import DESK, Browsers
from tests.browser.looking import barriers, too_wide
from tests.browser.whole import Whole, pages

MAIN = ("desk:today", "objects:things", "desk:thing", "checks:full", "checks:result")


@pytest.fixture(scope="module")
def whole(museum: Museum) -> Whole:
    return Whole(museum)


@pytest.mark.parametrize("name", pages())
def test_a_page(name: str, browsers: Browsers, whole: Whole) -> None:
    page = browsers.page(None if name == "people:sign_in" else whole.keeper, DESK)
    page.goto(whole.path(pages()[name]))
    wrong = {"light": barriers(page), "wide": too_wide(page)}
    page.emulate_media(color_scheme="dark")
    wrong["dark"] = barriers(page, contrast_only=True)
    assert {where: found for where, found in wrong.items() if found} == {}


@pytest.mark.parametrize("name", MAIN)
def test_a_page_in_forced_colours_and_with_letters_twice_as_large(name: str, browsers: Browsers, whole: Whole) -> None:
    page = browsers.page(whole.keeper, DESK, forced_colors="active")
    page.goto(whole.path(pages()[name]))
    wrong = {"forced": barriers(page)}
    page.emulate_media(forced_colors="none")
    page.add_init_script("document.addEventListener('DOMContentLoaded', () => { document.documentElement.style.fontSize = '200%'; })")
    page.reload()
    wrong["large"] = barriers(page) + too_wide(page)
    assert {where: found for where, found in wrong.items() if found} == {}
