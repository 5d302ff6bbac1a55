"""Pictures of the main pages to look at: `bin/test tests/browser/shots.py`, never part of bin/test. They go to var/shots."""

from pathlib import Path
from typing import Final

import pytest

from tests.browser.conftest import Museum
from tests.browser.kit import DESK, PHONE, Browsers
from tests.browser.whole import Whole, pages

FOLDER: Final = Path(__file__).resolve().parents[2] / "var" / "shots"
MAIN: Final = (
    "people:sign_in", "desk:today", "objects:things", "desk:thing", "objects:edit", "checks:full", "checks:finish", "checks:result", "checks:rounds",
    "checks:round", "places:places", "places:place", "places:move_thing", "papers:paper", "exchange:columns", "exchange:preview", "people:account",
)  # fmt: skip


@pytest.fixture(scope="module")
def whole(museum: Museum) -> Whole:
    return Whole(museum)


@pytest.mark.parametrize("name", MAIN)
def test_a_picture(name: str, browsers: Browsers, whole: Whole) -> None:
    FOLDER.mkdir(parents=True, exist_ok=True)
    for size, device in (("390", {**PHONE, "device_scale_factor": 1}), ("1280", DESK)):
        page = browsers.page(None if name == "people:sign_in" else whole.keeper, device)
        page.goto(whole.path(pages()[name]))
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme="dark" if scheme == "dark" else "light")
            page.screenshot(path=FOLDER / f"{name.replace(':', '-')}-{size}-{scheme}.png", full_page=True)
