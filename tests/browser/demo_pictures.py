"""Draws the demo's pictures of findings and work anew: `bin/test tests/browser/demo_pictures.py`, never part of bin/test.

What is painted on which outline stands in fixtures/demo/pictures/care.json; the same seed paints the same spots.
"""

import json
from io import BytesIO
from pathlib import Path
from typing import Any, Final

import pytest
from PIL import Image
from playwright.sync_api import Page

from tests.browser.kit import Browsers

PICTURES: Final = Path(__file__).resolve().parents[2] / "fixtures" / "demo" / "pictures"
OUTLINES: Final = Path(__file__).resolve().parents[2] / "collection" / "objects" / "outlines" / "sets"
TOLD: Final[dict[str, Any]] = json.loads((PICTURES / "care.json").read_text(encoding="utf-8"))
SIZE: Final = {"width": 704, "height": 720}


@pytest.fixture
def easel(browsers: Browsers) -> Page:
    page = browsers.page(None, {"viewport": SIZE})
    page.set_content('<body style="margin:0"></body>')
    page.add_script_tag(path=Path(__file__).parent / "painting.js")
    return page


def test_each_state_is_painted_whole_and_near(easel: Page) -> None:
    for row in TOLD["pictures"]:
        drawing = json.loads((OUTLINES / f"{row['outline']}.json").read_text(encoding="utf-8"))["front"]
        for view, crop in (("V01", None), ("V13", row["near"])):
            asked = {
                "drawing": drawing,
                "number": row["number"],
                "view": view,
                "crop": crop,
                "unit": TOLD["unit"],
                "harm": row["harm"],
                **TOLD["looks"][row["looks"]],
            }
            easel.evaluate("asked => paint(asked)", asked)
            shot = Image.open(BytesIO(easel.screenshot(clip={"x": 0, "y": 0, **SIZE}))).convert("RGB")
            shot.save(PICTURES / "care" / f"{row['number']}-{row['state']}-{view}.jpg", "JPEG", quality=80, optimize=True)
