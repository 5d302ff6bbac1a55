"""Every row of the table of environment checks, within its tolerance, through the public functions."""

import re
from typing import Any

import pytest

from locations.climate.science.loans import Loan
from tests.reference.environment import WORDS, compute
from tests.reference.tables import reference_table

TABLE: list[dict[str, str]] = reference_table("environment_checks.csv")


def numbers(expected: str) -> list[float]:
    """The numbers of a cell: separated by semicolons, named (`AA=50.2`), or a range (`42-46`)."""
    spread = re.fullmatch(r"(\d+)-(\d+)(?: days.*)?", expected)
    parts = spread.groups() if spread else (part.rsplit("=", 1)[-1] for part in expected.split(";"))
    return [float(part) for part in parts]


def allowed(tolerance: str, expected: float) -> tuple[float, float]:
    """The lowest and the highest value that passes."""
    word, _, rest = tolerance.partition(" ")
    if word == "factor":
        return expected / float(rest), expected * float(rest)
    figure = float(rest.split(" ")[0]) if word in ("abs", "rel") else 1e-9
    slack = figure * abs(expected) if word == "rel" else figure
    return expected - slack, expected + slack


def judge_words(row: dict[str, str], found: Any) -> None:
    """Rows whose expectation is a sentence about a loan."""
    assert isinstance(found, Loan)
    inside, daily = (float(figure) for figure in re.findall(r"(?:inside|range) (\d+(?:\.\d+)?)", row["expected"]))
    assert found.passed is row["expected"].startswith("pass")
    assert found.inside == pytest.approx(inside, abs=0.2)
    assert found.rh_swing is not None
    assert found.rh_swing.range == pytest.approx(daily, abs=1e-6)
    assert found.rh_swing.failed == (() if found.passed else ("range", "deviation"))


@pytest.mark.parametrize("row", [pytest.param(row, id=row["check_id"]) for row in TABLE])
def test_row(row: dict[str, str]) -> None:
    found = compute(row)
    if row["check_id"] in WORDS:
        assert found == WORDS[row["check_id"]]
    elif row["quantity"].startswith("loan range"):
        judge_words(row, found)
    elif row["tolerance"] == "must NOT be returned":
        assert found != pytest.approx(float(row["expected"]), rel=0.1)
    else:
        values = found if isinstance(found, tuple) else (found,)
        wanted = numbers(row["expected"])
        assert len(values) == len(wanted)
        for value, expected in zip(values, wanted, strict=True):
            low, high = allowed(row["tolerance"], expected)
            assert low <= value <= high, f"{value} is not {expected} ({row['tolerance']})"


def test_no_row_is_left_out() -> None:
    assert len(TABLE) == len({row["check_id"] for row in TABLE}) >= 283
