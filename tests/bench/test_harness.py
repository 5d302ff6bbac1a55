"""The harness itself: turns, medians, the line."""

import time

import pytest

from tests.bench import harness
from tests.bench.harness import Measure, Taken, aimed, chosen, measure, spell, take


@pytest.fixture(autouse=True)
def no_measures(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(harness, "MEASURES", {})


def test_ours_and_the_floor_take_turns_after_a_warm_up() -> None:
    calls: list[str] = []
    take(Measure("turns", 1.0, 4, lambda: (lambda: calls.append("o"), lambda: calls.append("f"))))
    assert "".join(calls) == "of" + "fo" + "of" + "fo" + "of"


def test_the_ratio_is_of_medians() -> None:
    slow = iter([0.0, 0.2, *[0.01] * 20])
    taken = take(Measure("sleep", 1.0, 5, lambda: (lambda: time.sleep(next(slow)), lambda: time.sleep(0.01))))
    assert taken.ours / taken.floor == pytest.approx(1, rel=0.3)


def test_slow_work_is_taken_fewer_times(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(harness, "SECONDS", 0.0)
    calls: list[int] = []
    take(Measure("slow", 1.0, 50, lambda: (lambda: calls.append(1), lambda: None)))
    assert len(calls) == 1 + harness.LEAST_RUNS


def test_an_aim_in_seconds_stands_where_the_floor_would() -> None:
    calls: list[int] = []
    aimed("rebuild", seconds=300, runs=3)(lambda: lambda: calls.append(1))
    taken = take(harness.MEASURES["rebuild"])
    assert (len(calls), taken.floor, taken.goal) == (3, 300, 1)


def test_the_line() -> None:
    assert str(Taken("object_page", 0.0141, 0.0098, 2.0)) == "object_page 14.1ms 9.8ms 1.44 2"
    assert [spell(s) for s in (2.5, 0.25, 0.000012)] == ["2.5s", "250ms", "12us"]


def test_measures_are_chosen_by_how_they_begin() -> None:
    for name in ("list_small", "list_large", "search"):
        measure(name, goal=1.0)(lambda: (lambda: None, lambda: None))
    assert [one.name for one in chosen(["list"])] == ["list_small", "list_large"]
    assert len(chosen([])) == 3
    with pytest.raises(LookupError, match="There are: list_large, list_small, search"):
        chosen(["check"])
    with pytest.raises(ValueError, match="taken"):
        measure("search", goal=1.0)
