"""The main pages in German, whose words are longer: nothing runs out of the page, into its neighbour or into a sliver."""

from typing import Any

import pytest

from museum.people.models import Person
from tests.browser.conftest import Museum
from tests.browser.kit import DESK, PHONE, Browsers
from tests.browser.looking import too_wide
from tests.browser.whole import Whole, pages

MAIN = (
    "desk:today", "desk:thing", "checks:full", "checks:rounds", "checks:round", "places:place", "treatments:desk", "treatments:may", "climate:room",
    "exchange:imports", "exchange:erase",
)  # fmt: skip
#: words of the menu that are wider than their field, and facts of which less than half of the line is left for what is said
SQUEEZED = """() => [
  ...[...document.querySelectorAll('.mast-nav a')].filter((one) => one.scrollWidth > one.clientWidth + 1).map((one) => one.textContent.trim()),
  ...[...document.querySelectorAll('dl.facts > dd')].filter((one) => one.offsetParent && one.clientWidth < one.parentElement.clientWidth / 2)
    .map((one) => one.previousElementSibling?.textContent.trim()),
]"""


@pytest.fixture(scope="module")
def whole(museum: Museum) -> Whole:
    found = Whole(museum)
    Person.objects.filter(pk=found.keeper.pk).update(language="de")
    return found


@pytest.mark.parametrize("device", [DESK, PHONE], ids=["desk", "phone"])
@pytest.mark.parametrize("name", [name for name in MAIN if name in pages()])
def test_a_main_page_in_german(name: str, device: dict[str, Any], browsers: Browsers, whole: Whole) -> None:
    page = browsers.page(whole.keeper, device)
    page.goto(whole.path(pages()[name]))
    assert page.evaluate("document.documentElement.lang") == "de"
    assert (too_wide(page), page.evaluate(SQUEEZED)) == ([], [])
