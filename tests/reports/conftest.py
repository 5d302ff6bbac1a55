"""The day on which the papers of the climate are issued, and the room that they are of."""

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest

from locations.places.models import Place
from museum import clock
from tests import stock


@pytest.fixture
def now() -> Iterator[datetime]:
    moment = datetime(2026, 11, 1, 12, tzinfo=UTC)
    with clock.at(moment):
        yield moment


@pytest.fixture
def room(society: Any, now: datetime) -> Place:
    """A room whose logger told 60 days, from the day before FIRST on (in summer time that day begins at 23:00 UTC)."""
    return stock.shelf()[1]
