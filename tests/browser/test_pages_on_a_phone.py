"""Every page of the program on a phone: no barrier by light or dark, nothing sideways, nothing too small to touch."""

import pytest

from tests.browser.conftest import Museum
from tests.browser.kit import Browsers
from tests.browser.looking import barriers, too_small, too_wide
from tests.browser.whole import Whole, pages


@pytest.fixture(scope="module")
def whole(museum: Museum) -> Whole:
    return Whole(museum)


@pytest.mark.parametrize("name", pages())
def test_a_page(name: str, browsers: Browsers, whole: Whole) -> None:
    page = browsers.page(None if name == "people:sign_in" else whole.keeper)
    answer = page.goto(whole.path(pages()[name]))
    assert answer is not None
    assert answer.ok
    assert answer.headers["content-type"].startswith("text/html")
    wrong = {"light": barriers(page), "small": too_small(page), "wide": too_wide(page)}
    page.emulate_media(color_scheme="dark")
    wrong["dark"] = barriers(page, contrast_only=True)
    page.set_viewport_size({"width": 320, "height": 640})
    wrong["narrow"] = too_wide(page)
    assert {where: found for where, found in wrong.items() if found} == {}
