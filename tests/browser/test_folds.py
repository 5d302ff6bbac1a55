"""Folds of a room's page: they say what is in them, stay open while the chart is moved, and print open."""

from datetime import UTC, datetime

import numpy as np
import pytest

from locations.climate import storing
from locations.climate.actions.loggers import make_logger, place_logger
from locations.climate.files.reading import Batch
from locations.places.models import Place
from museum import clock
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from tests.browser.conftest import Museum
from tests.browser.kit import PHONE, Browsers, ready


@pytest.fixture(scope="module")
def store(museum: Museum) -> Place:
    """Told of for a hundred days up to now."""
    last = int(clock.now().timestamp()) // 3600 * 3600
    at = last - 3600 * np.arange(100 * 24)[::-1]
    it = make_logger(PROGRAM, logger_id=uuid7(), name="T-F", interval=3600)
    place_logger(PROGRAM, it.pk, place_id=museum.store.pk, at=datetime.fromtimestamp(int(at[0]), UTC))
    rh = 60 + 9 * np.sin(at / 40_000)
    storing.add("climate_reading", it.number, 0, Batch(at, np.full(len(at), 12.0), rh, np.full(len(at), np.nan), np.zeros(len(at), dtype=np.int64)))
    return museum.store


def test_a_fold_stays_open_while_the_chart_is_moved_and_all_are_printed(browsers: Browsers, museum: Museum, store: Place) -> None:
    page = browsers.page(museum.ivo, PHONE)
    page.goto(f"/climate/rooms/{store.pk}/?span=month")
    ready(page)
    figures = page.locator("#figures")
    table = figures.get_by_role("table")
    assert not table.is_visible()
    figures.locator("summary").tap()
    table.wait_for()
    page.get_by_role("link", name="Earlier", exact=True).tap()
    page.wait_for_function("() => performance.getEntriesByName('chart-drawn').length > 0")
    assert table.is_visible()
    assert page.evaluate("document.documentElement.scrollHeight") < 4000, "two screens and a few lines, not fifteen"
    page.emulate_media(media="print")
    assert page.locator("#known dl").is_visible(), "what is folded on the screen stands on paper"
