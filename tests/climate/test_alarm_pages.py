"""To which page an alarm leads: that of the place where a chart of it is, else of the room it is in."""

import pytest

from locations.climate.alarm_lines import page_of
from tests import stock

pytestmark = pytest.mark.django_db


def test_a_shelf_without_loggers_leads_to_its_room_and_one_with_to_itself() -> None:
    house, store, board = stock.shelf()
    assert page_of(board, charted=True) == board.pk
    assert page_of(board, charted=False) == store.pk
    assert page_of(store, charted=False) == store.pk
    assert page_of(house, charted=False) is None
