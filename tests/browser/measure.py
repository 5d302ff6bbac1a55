"""Ten kinds of page on a slow phone, measured: `bin/test tests/browser/measure.py -s`, never part of bin/test.

Prints a line a page: kB and requests of the first visit and of the next, kB of scripts, and of three visits each the medians of LCP, INP and CLS.
Aims: LCP 1.25 s, INP 100 ms, CLS 0.02; 100 kB and 12 requests at first, 15 kB after, pictures apart. Seconds differ from machine to machine.
"""

from collections.abc import Callable
from typing import Final

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import Museum
from tests.browser.kit import Browsers
from tests.browser.speed import Visit, median, visit
from tests.browser.whole import Whole, pages

VISITS: Final = 3


def tap(selector: str) -> Callable[[Page], None]:
    return lambda page: page.locator(selector).first.tap()


def type_words(selector: str) -> Callable[[Page], None]:
    return lambda page: page.locator(selector).first.press_sequentially("fire", delay=80)


TOUCHES: Final = {
    "people:sign_in": type_words("input[type=email], input[name=email]"),
    "desk:today": tap("summary, main h1"),
    "objects:things": type_words("#q"),
    "desk:thing": tap("#view, main h1"),
    "objects:edit": tap("summary"),
    "checks:full": tap(".choice:has(input[name=severity])"),
    "checks:result": tap("summary"),
    "places:place": tap("summary, main h1"),
    "checks:rounds": tap("summary, main h1"),
    "papers:paper": tap("summary, main h1"),
}


@pytest.fixture(scope="module")
def whole(museum: Museum) -> Whole:
    return Whole(museum)


@pytest.mark.parametrize("name", TOUCHES)
def test_a_page_kind(name: str, browsers: Browsers, whole: Whole) -> None:
    person, path = None if name == "people:sign_in" else whole.keeper, whole.path(pages()[name])
    first: list[Visit] = []
    for _ in range(VISITS):
        device = browsers.device(person)
        first.append(visit(device, path, TOUCHES[name]))
        again = visit(device, path)
        device.close()
    said, scripts = first[0].without_pictures, first[0].of(".js")
    kilo, after = sum(said.values()) / 1000, sum(again.without_pictures.values()) / 1000
    weight = f"first {kilo:.0f}kB {len(said)} requests, scripts {scripts / 1000:.1f}kB, again {after:.0f}kB"
    felt = f"LCP {median(first, 'lcp'):.2f}s INP {median(first, 'inp') * 1000:.0f}ms CLS {median(first, 'cls'):.3f}, LCP again {again.lcp:.2f}s"
    print(f"\n{name} {weight}, {felt}")
