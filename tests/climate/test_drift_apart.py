"""A logger alone in its room, held against outdoors and other rooms: how often an honest one is suspected, how soon a drift is noticed.

Counted on made houses (`air.room_in`, a balance of vapour that shares no formula with the method) and on rooms below a real year of weather. A sample;
`--whole` runs sixty houses and prints the figures that the method states of itself.
"""

import csv
from typing import Any

import numpy as np
import pytest

from locations.climate.science.drift_apart import Beside, find_apart, left_over
from locations.climate.science.psychrometrics import vapour_pressure
from locations.climate.science.values import NoValue
from tests.climate.air import Floats, logger, outdoors, room_in
from tests.reference.tables import reference_path

DAY, LEARNT, TWO_YEARS = 24, 364, 735
HOURS = DAY * (LEARNT + TWO_YEARS)
SAMPLE, WHOLE = 10, 60


class House:
    """What one logger shows through three years, and what it is held against."""

    def __init__(self, rng: np.random.Generator, outside: tuple[Floats, Floats], rooms: list[tuple[Floats, Floats]]) -> None:
        shown = [logger(rng, *air) for air in rooms]
        self.t, self.rh = shown[0]
        self.outdoors = vapour_pressure(*logger(rng, *outside))
        self.rooms = np.median([vapour_pressure(*one) for one in shown[1:]], axis=0)

    def suspected(self, drift: Floats | float = 0.0, *, rooms: bool = True) -> list[int]:
        """The days on which it is suspected; after each it is looked at and begins anew."""
        beside, found = Beside(self.outdoors, self.rooms if rooms else None), list[int]()
        while len(found) < 20:
            try:
                one = find_apart(self.t, np.clip(self.rh + drift, 0.1, 100), beside, [day + 1 for day in found])
            except NoValue:
                break
            if one is None:
                break
            found.append(one.day)
        return found


def houses(many: int, seed: int) -> list[House]:
    rng = np.random.default_rng(seed)
    t, e = outdoors(rng, HOURS, many)
    rooms = [room_in(rng, t, e) for _ in range(3)]
    return [House(rng, (t[:, i], e[:, i]), [(warm[:, i], damp[:, i]) for warm, damp in rooms]) for i in range(many)]


def ramp(begin: int) -> Floats:
    """2 %RH in half a year from a day of the watched time on, then no more."""
    return np.clip((np.arange(HOURS) / DAY - LEARNT - begin) * 2 / 182, 0, 2)


@pytest.fixture(scope="module")
def made(request: pytest.FixtureRequest) -> list[House]:
    return houses(WHOLE if request.config.getoption("--whole") else SAMPLE, 31)


@pytest.mark.parametrize("rooms", [True, False])
def test_an_honest_logger_is_suspected_at_most_once_in_two_years(made: list[House], rooms: bool) -> None:
    counts = [len(one.suspected(rooms=rooms)) for one in made]
    print(f"rooms {rooms}: {np.mean(counts):.2f} false alarms a logger in two years, of {len(made)}")
    assert np.mean(counts) <= 1


@pytest.mark.parametrize(("rooms", "most", "by_then"), [(True, 215, 0.4), (False, 240, 0.35)])
def test_two_per_cent_in_half_a_year(made: list[House], rooms: bool, most: int, by_then: float) -> None:
    """Goal: within 30 days of its beginning. Not reached, since it then is a third of a per cent; stated here as it is."""
    days = []
    for one in made:
        for begin in (60, 240):
            after = [day - LEARNT - begin for day in one.suspected(ramp(begin), rooms=rooms) if day >= LEARNT + begin]
            days.append(after[0] if after else np.inf)
    told = np.array(days)
    there, ever = np.mean(told <= 182), np.mean(told < np.inf)
    print(f"rooms {rooms}: noticed after {np.median(told):.0f} days in the median; {there:.0%} before 2 % are there, {ever:.0%} ever")
    assert np.median(told) <= most
    assert np.mean(told <= 182) >= by_then


def test_below_a_real_year_of_weather() -> None:
    """The real year (New York, 2013) thrice, each time some days later, over three rooms; honest, and with 4 %RH in half a year."""
    with reference_path("real_climate.csv").open(encoding="utf-8", newline="") as lines:
        real = np.array([(float(row["temperature_c"]), float(row["rh_percent"])) for row in csv.DictReader(lines)])
    year = np.resize(real, (8766, 2))
    t, rh = np.concatenate([np.roll(year, 24 * shift, axis=0) for shift in (0, 9, -7, 4)])[:HOURS].T
    rng = np.random.default_rng(32)
    t, e = t[:, None].repeat(4, axis=1), vapour_pressure(t, rh)[:, None].repeat(4, axis=1)
    rooms = [room_in(rng, t, e) for _ in range(3)]
    four = [House(rng, (t[:, i], e[:, i]), [(warm[:, i], damp[:, i]) for warm, damp in rooms]) for i in range(4)]
    assert np.mean([len(one.suspected()) for one in four]) <= 1
    after = [next((day - LEARNT - 60 for day in one.suspected(2 * ramp(60)) if day >= LEARNT + 60), np.inf) for one in four]
    assert np.median(after) <= 182


def test_a_check_that_set_it_right_is_no_drift(made: list[House]) -> None:
    """A step at a check is a constant of its own: what was learnt before it is kept, and eight weeks tell where it stands now."""
    one = made[0]
    beside, step = Beside(one.outdoors, one.rooms), np.where(np.arange(HOURS) < 400 * DAY, 0.0, 6.0)
    with_check = left_over(one.t, np.clip(one.rh + step, 0.1, 100), beside, [400])
    honest = left_over(one.t, one.rh, beside, [400])
    assert with_check[60:] == pytest.approx(honest[60:], abs=0.6, nan_ok=True)


def test_what_is_left_is_that_of_least_squares(made: list[House]) -> None:
    """After the year that is learnt from: against numpy's own least squares over the same days."""
    one = made[1]
    left = left_over(one.t, one.rh, Beside(one.outdoors))
    full = 611.2 * np.exp(17.62 * one.t / (243.12 + one.t))
    y, vapour, warm = (values.reshape(-1, DAY).mean(axis=1) for values in (one.rh, one.outdoors, full))
    columns = [np.ones(len(y)), 100 * vapour / warm]
    for days in (2, 6, 20):
        share, held = 1 - np.exp(-1 / days), [vapour[0]]
        for value in vapour[1:]:
            held.append(held[-1] + share * (value - held[-1]))
        columns.append(100 * np.array(held) / warm)
    x = np.column_stack(columns)
    slopes = np.linalg.lstsq(x[:LEARNT], y[:LEARNT], rcond=None)[0]
    plain = (y - x @ slopes)[LEARNT:].reshape(-1, 7).mean(axis=1)
    assert np.corrcoef(plain, left[LEARNT // 7 :])[0, 1] > 0.98
    assert np.abs(plain - left[LEARNT // 7 :]).mean() < 0.2


def test_nothing_is_said_of_too_little(made: list[House]) -> None:
    one = made[0]
    few = slice(0, DAY * 200)
    with pytest.raises(NoValue, match="too_short"):
        find_apart(one.t[few], one.rh[few], Beside(one.outdoors[few]))
    dead: Any = np.full(HOURS, np.nan)
    with pytest.raises(NoValue, match="too_short"):
        find_apart(one.t, one.rh, Beside(dead))
    with pytest.raises(NoValue, match="too_noisy"):
        find_apart(one.t, np.random.default_rng(1).permutation(one.rh.reshape(-1, DAY * 7)).ravel(), Beside(one.outdoors))
