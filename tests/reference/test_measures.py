"""Sizes of two museums as they wrote them: the figures read, the slips noticed, nothing broken."""

import json
from decimal import Decimal
from typing import Any

import pytest

from collection.objects.measures import IN_G, IN_MM, Measure, read_measures
from tests.reference.tables import reference_table

#: rows read right of those with a truth: 190 of the Walters (figures, units, both systems, in order), 60 of Tate
REACHED = {"Walters": 190, "Tate": 60}


def _rows(status: str, source: str = "") -> list[dict[str, str]]:
    return [r for r in reference_table("real_dimensions.csv") if r["status"] == status and source in r["source"]]


def _right(row: dict[str, str]) -> bool:
    """Tate's own numbers are those of the first line, under names in another order: a set of figures."""
    read = read_measures(row["dimensions"])
    wanted: list[dict[str, Any]] = json.loads(row["parsed"])
    if "Tate" in row["source"]:
        have = [(measure.value, measure.unit) for measure in read.measures]
        return all((Decimal(str(one["value"])), one["unit"]) in have for one in wanted)
    figures = [(one["value"], one["unit"], one.get("metric"), one.get("metric_unit", "")) for one in wanted]
    return not read.unread and not read.contradictions and [_plain(one) for one in read.measures] == figures


def _plain(one: Measure) -> tuple[float, str, float | None, str]:
    return float(one.value), one.unit, None if one.other is None else float(one.other), one.other_unit


@pytest.mark.parametrize("source", REACHED)
def test_real_sizes(source: str) -> None:
    """The score reached does not fall."""
    rows = _rows("ok", source)
    right = sum(map(_right, rows))
    print(f"{source}: {right} of {len(rows)} read")
    assert right >= min(REACHED[source], len(rows))


def test_the_institutions_slips_are_noticed() -> None:
    """Of 16 texts whose inches and centimetres part, 14 are shown as such, one is kept whole ('48. 2'); in one ours
    differ no more than they are rounded (7.5 lb and 3.4 kg)."""
    answers = [read_measures(row["dimensions"]) for row in _rows("units_disagree")]
    shown = sum(bool(answer.contradictions or answer.unlike) for answer in answers)
    assert (shown, sum(bool(answer.unread) for answer in answers)) == (14, 1)


def test_other_counts_are_noticed() -> None:
    """Of ten texts with more or fewer figures in cm than in inches seven are shown as such; three have as many once a
    missing x or a missing semicolon between figures is read."""
    answers = [read_measures(row["dimensions"]) for row in _rows("counts_differ")]
    assert sum(bool(answer.unlike) for answer in answers) == 7
    assert not any(answer.unread for answer in answers)


@pytest.mark.parametrize("status", ["not_parsed", "no_source_numbers", "source_numbers_broken"])
def test_irregular_texts_break_nothing(status: str) -> None:
    """Each line with figures is read or kept whole; a figure without a unit is never given one."""
    for row in _rows(status):
        read = read_measures(row["dimensions"])
        assert all(measure.unit in IN_MM or measure.unit in IN_G for measure in read.measures)
        assert all(line in row["dimensions"] for line in read.unread)
        assert read.measures or read.unread or not any(c.isdigit() for c in row["dimensions"])
