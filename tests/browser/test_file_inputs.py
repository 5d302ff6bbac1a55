"""Where a file or a photograph is chosen, the input stands below its label and as wide as the fields beside it, on a phone and at a desk."""

from typing import Any

import pytest

from tests.browser.conftest import Museum
from tests.browser.kit import DESK, PHONE, Browsers
from tests.browser.whole import Whole, pages

CHOOSING = ("exchange:imports", "objects:photographs", "places:found", "climate:send", "checks:full", "treatments:work", "treatments:may", "stock:agent")
#: of each file input its label and itself, and a text input of the same form
MEASURE = """() => [...document.querySelectorAll('input[type=file]')].map((input) => {
  document.querySelectorAll('details').forEach((part) => { part.open = true; });
  const box = (one) => one && (({ left, top, right, bottom, width }) => ({ left, top, right, bottom, width }))(one.getBoundingClientRect());
  const other = [...(input.form?.querySelectorAll('input:not([type=hidden], [type=file], [type=radio], [type=checkbox]), textarea, select') ?? [])]
    .find((one) => one.offsetParent);
  return { id: input.id, label: box(input.labels[0]), input: box(input), other: box(other) };
})"""


@pytest.fixture(scope="module")
def whole(museum: Museum) -> Whole:
    return Whole(museum)


@pytest.mark.parametrize("device", [DESK, PHONE], ids=["desk", "phone"])
@pytest.mark.parametrize("name", [name for name in CHOOSING if name in pages()])
def test_the_input_stands_below_its_label(name: str, device: dict[str, Any], browsers: Browsers, whole: Whole) -> None:
    page = browsers.page(whole.keeper, device)
    page.goto(whole.path(pages()[name]))
    found = page.evaluate(MEASURE)
    assert found or name not in ("exchange:imports", "objects:photographs", "places:found", "climate:send", "checks:full")
    for one in found:
        assert one["label"]["bottom"] <= one["input"]["top"] + 1, (name, one)
        assert abs(one["label"]["left"] - one["input"]["left"]) <= 1, (name, one)
        if one["other"]:
            assert abs(one["other"]["width"] - one["input"]["width"]) <= 1, (name, one)
