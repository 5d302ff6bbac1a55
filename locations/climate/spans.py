"""Spans made from facts: where a logger stood, which check counts, who speaks for a place. Made anew at will."""

from collections.abc import Sequence
from datetime import datetime
from typing import TypeVar
from uuid import UUID

from django.db.backends.postgresql.psycopg_any import DateTimeTZRange
from django.db.models import QuerySet

from locations.climate.models import Calibration, CalibrationSpan, Coverage, CoverageSpan, Logger, LoggerStay, Placement, Wall
from locations.places.models import Place
from museum import clock
from museum.history.models import Fact

F = TypeVar("F", Placement, Calibration, Coverage, Wall)


def standing(facts: "QuerySet[F]") -> list[F]:
    """The facts that hold, in the order in which they happened."""
    return list(facts.filter(corrected_by=None, withdraws=False).order_by(*Fact.ORDER))


def instant_of(fact: Fact) -> datetime:
    """When it counts from: its instant, else the first of its day."""
    return fact.happened_at or clock.start_of(fact.happened_on)


def spans(facts: Sequence[F]) -> list[tuple[F, DateTimeTZRange]]:
    """Each from its instant to that of the next; one overtaken within the same instant has none."""
    starts: list[datetime] = [instant_of(fact) for fact in facts]
    ends: list[datetime | None] = [*starts[1:], None]
    return [(fact, DateTimeTZRange(start, end)) for fact, start, end in zip(facts, starts, ends, strict=False) if end is None or start < end]


def recut_logger(logger: UUID) -> None:
    """Stays and checks of a logger. The caller holds its lock."""
    LoggerStay.objects.filter(logger=logger).delete()
    LoggerStay.objects.bulk_create(
        LoggerStay(logger_id=logger, place_id=fact.place_id, during=during, placement=fact.pk)
        for fact, during in spans(standing(Placement.objects.filter(logger=logger)))
        if fact.place_id
    )
    CalibrationSpan.objects.filter(logger=logger).delete()
    CalibrationSpan.objects.bulk_create(
        CalibrationSpan(logger_id=logger, calibration=fact, during=during) for fact, during in spans(standing(Calibration.objects.filter(logger=logger)))
    )


def recut_place(place: UUID) -> None:
    """Who speaks for a place. The caller holds its lock."""
    CoverageSpan.objects.filter(place=place).delete()
    CoverageSpan.objects.bulk_create(
        CoverageSpan(place_id=place, logger_id=fact.logger_id, during=during, coverage=fact.pk)
        for fact, during in spans(standing(Coverage.objects.filter(place=place)))
        if fact.logger_id
    )


def rebuild() -> int:
    """Every span from the facts; answers of how many loggers."""
    loggers = list(Logger.objects.values_list("pk", flat=True))
    for logger in loggers:
        recut_logger(logger)
    for place in Place.objects.filter(pk__in=Coverage.objects.values("place")).values_list("pk", flat=True):
        recut_place(place)
    return len(loggers)
