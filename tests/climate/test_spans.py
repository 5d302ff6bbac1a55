"""Spans made anew from the facts are the spans that the actions left: stays of loggers, checks, who speaks for a place."""

from datetime import timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command

from locations.climate.actions.loggers import calibrate, correct_placement, cover, make_logger, place_logger
from locations.climate.models import CalibrationSpan, CoverageSpan, Exposure, LoggerStay
from museum.ids import uuid7
from museum.people.actor import PROGRAM
from tests import stock
from tests.climate.test_exposure import START, logger_at, put, tell

pytestmark = pytest.mark.django_db


def spans() -> list[Any]:
    return [
        list(LoggerStay.objects.order_by("logger__number", "during").values_list("logger", "place", "during", "placement")),
        list(CalibrationSpan.objects.order_by("logger__number", "during").values_list("logger", "calibration", "during")),
        list(CoverageSpan.objects.order_by("place", "during").values_list("place", "logger", "during", "coverage")),
    ]


def rebuilt() -> str:
    out = StringIO()
    call_command("rebuild", stdout=out)
    return out.getvalue()


def test_rebuilding_gives_equal_rows_and_heals_lost_ones(society: Any) -> None:
    hall, store, board = stock.shelf()
    one, other = logger_at(store, "T-1"), make_logger(PROGRAM, logger_id=uuid7(), name="T-2")
    for day, place in ((0, hall), (3, None), (5, store)):
        place_logger(PROGRAM, other.pk, place_id=place.pk if place else None, at=START + timedelta(days=day))
    wrong = place_logger(PROGRAM, one.pk, place_id=hall.pk, at=START + timedelta(days=2))
    correct_placement(PROGRAM, wrong.pk, reason="the other one was meant")
    for day in (1, 4):
        calibrate(PROGRAM, one.pk, points=[(35.0 + day, 33.1), (76.0, 75.5)], at=START + timedelta(days=day))
    for day, logger in ((1, other), (2, None), (6, one)):
        cover(PROGRAM, board.pk, logger_id=logger.pk if logger else None, at=START + timedelta(days=day))
    put(stock.helmet(), board, START)
    tell(one, [70.0] * 200)
    kept = spans()
    assert [len(rows) for rows in kept] == [3, 2, 2]
    assert "2 loggers with their spans" in rebuilt()
    lived = list(Exposure.objects.order_by("component", "material", "month").values_list("component", "material", "month", "damp", "known"))
    assert spans() == kept
    for model in (LoggerStay, CalibrationSpan, CoverageSpan):
        model.objects.all().delete()
    rebuilt()
    assert spans() == kept
    assert list(Exposure.objects.order_by("component", "material", "month").values_list("component", "material", "month", "damp", "known")) == lived
