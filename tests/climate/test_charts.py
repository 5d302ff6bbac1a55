"""Charts: nothing lost by thinning, holes told as holes, drawings that can be read aloud and stay small."""

from datetime import UTC, date, datetime
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from locations.climate.charts import room, thing
from locations.climate.charts.drawing import Said
from locations.climate.charts.thinning import holes, strokes, thinned
from locations.climate.charts.times import marks

HOUR = 3600
SAID = Said("one", "Air <of> the store", "It was damp & cold.")
WORDS = {"damp": "65 %: damp", "rh": "Humidity, %", "t": "Temperature, °C", "dew": "dew point %(t)s °C", "mould": "mould", "time": "Checks and moves"}
series = arrays.arrays(np.float64, st.integers(1, 400), elements=st.one_of(st.just(np.nan), st.floats(0, 100)))


def frame(at: np.ndarray) -> room.Frame:
    return room.Frame(int(at[0]), int(at[-1]), ZoneInfo("Europe/Berlin"), lambda moment, sort: f"{moment:%d %b}", WORDS)


def years(n: int, every: int = HOUR) -> room.Air:
    """So many years of air with a season, a daily swing, weather and one wild hour."""
    at = 1_500_000_000 // HOUR * HOUR + np.arange(n * 8760 * HOUR // every) * every
    rng = np.random.default_rng(4)
    rh, t = 58 + 9 * np.sin(at / 5e6) + rng.normal(0, 3, len(at)), 11 + 7 * np.sin(at / 5e6) + rng.normal(0, 1, len(at))
    rh[len(at) // 3] = 97.5
    return room.Air(at, t, rh, 1.5 * every)


@given(values=series, columns=st.integers(1, 60), data=st.data())
def test_thinning_keeps_every_extreme_and_its_bound(values: np.ndarray, columns: int, data: st.DataObject) -> None:
    steps = data.draw(arrays.arrays(np.int64, len(values), elements=st.integers(1, 10_000)))
    at = np.cumsum(steps)
    kept = thinned(at, values, columns)
    known = np.flatnonzero(~np.isnan(values))
    assert len(kept) <= max(2 * columns + 2, 0)
    assert np.all(np.diff(kept) > 0)
    if not len(known):
        assert not len(kept)
        return
    assert {known[0], known[-1]} <= set(kept)
    # each column of time, worked out one by one, keeps its lowest and its highest
    column = (at - at[known[0]]) * columns // (at[known[-1]] - at[known[0]] + 1)
    for one in set(column[known]):
        inside = values[known][column[known] == one]
        drawn = values[kept][column[kept] == one]
        assert (drawn.min(), drawn.max()) == (inside.min(), inside.max())


def test_the_pen_is_lifted_where_nobody_read() -> None:
    at = np.array([0, 1, 2, 9, 10, 30]) * HOUR
    values = np.array([50.0, 51, 52, 60, np.nan, 70])
    assert [part.tolist() for part in strokes(at, values, 100, 3 * HOUR)] == [[0, 1, 2], [3], [5]]
    assert holes(at, values, 0, 40 * HOUR, 3 * HOUR) == [(2 * HOUR, 9 * HOUR), (9 * HOUR, 30 * HOUR), (30 * HOUR, 40 * HOUR)]
    whole = np.arange(500) * HOUR
    assert holes(whole, np.sin(whole / 1e5), 0, 499 * HOUR, 3 * HOUR) == []
    assert holes(at, np.full(6, np.nan), 0, 40 * HOUR, 3 * HOUR) == [(0, 40 * HOUR)]


def test_a_hole_between_thinned_points_lifts_the_pen_too() -> None:
    at = np.concatenate((np.arange(1000), np.arange(1200, 2000))) * HOUR
    values = np.sin(at / 9000.0)
    parts = strokes(at, values, 20, 3 * HOUR)
    assert len(parts) == 2
    assert at[parts[0][-1]] < 1000 * HOUR <= 1200 * HOUR <= at[parts[1][0]]


@pytest.mark.parametrize("dials", [0, 52, 3650], ids=["no dial", "a dial now and then", "dials every day"])
@pytest.mark.parametrize("air", [years(10), years(1, 600)], ids=["ten years of hours", "a year of ten minutes"])
def test_a_chart_is_small_and_shows_the_wild_hour(air: room.Air, dials: int) -> None:
    """goals.md, speed 5: at most 2,000 points and 30 kB, hand readings and alarms among them, every extreme still there."""
    some = slice(0, len(air.at) if dials else 0, max(1, len(air.at) // max(1, dials)))
    alarms = [room.Alarmed(int(air.at[n]), int(air.at[n]) + 400_000, red=n % 2 == 0) for n in range(0, len(air.at), max(1, len(air.at) // 40))] if dials else []
    drawn = room.lines(SAID, air, frame(air.at), (45, 55), room.Dials(air.at[some], air.t[some], air.rh[some]), alarms)
    paths = list(ElementTree.fromstring(drawn).iter("path"))
    read = [element.get("d", "") for element in paths if element.get("data-read") is not None]
    by_hand = [element.get("d", "") for element in paths if element.get("data-hand") is not None]
    assert (len(read), len(by_hand)) == (2, 2 if dials else 0)
    assert sum(data.count("L") + data.count("M") for data in read + by_hand) <= 2000
    assert len(drawn.encode()) <= 30_000
    # 97.5 % in the drawing's own scale, 30 at 300 to 100 at 34
    heights = [float(pair.split(" ")[1].split("h")[0]) for pair in read[0].replace("M", "L").split("L") if pair]
    assert min(heights) == pytest.approx(300 - (97.5 - 30) * 266 / 70, abs=0.1)


def test_a_drawing_says_itself_and_needs_no_style() -> None:
    air, happened = years(1), [thing.Happened(date(2026, 1, 9), looked=True), thing.Happened(date(2026, 1, 20), looked=False)]
    drawn = [
        room.lines(SAID, air, frame(air.at), None), room.scatter(SAID, air.t, air.rh, WORDS),
        room.calendar(SAID, [room.Day(0, 3, 24, 0), room.Day(0, 4, 5, 0), room.Day(0, 5, 0, 24)], ["Mo", "Tu"], [(0, "Jan")]),
        thing.course(SAID, [thing.Month(date(2026, 1, 1), 300, 24, 0.2)], happened, WORDS),
        thing.budget(SAID, 40, 30, "a year"),
    ]  # fmt: skip
    for one in drawn:
        root = ElementTree.fromstring(one)
        assert (root.get("role"), root.get("aria-labelledby"), root.get("aria-describedby")) == ("img", "one-t", "one-d")
        assert [root.find(name).text for name in ("title", "desc")] == ["Air <of> the store", "It was damp & cold."]  # type: ignore[union-attr]
        assert not [element for element in root.iter() if element.get("style")]


def test_a_room_without_a_reading_is_one_hole() -> None:
    at = np.array([0, 86_400])
    drawn = room.lines(SAID, room.Air(at, np.full(2, np.nan), np.full(2, np.nan), HOUR), frame(at), None)
    assert drawn.count('class="gap"') == 2
    assert room.scatter(SAID, np.full(2, np.nan), np.full(2, np.nan), WORDS)


def test_marks_stand_at_midnight_of_the_wall_clock_through_summer_time() -> None:
    begin, end = (int(datetime(2026, month, 1, tzinfo=UTC).timestamp()) for month in (1, 12))
    for at, sort in marks(begin, end, ZoneInfo("Europe/Berlin")):
        moment = datetime.fromtimestamp(at, ZoneInfo("Europe/Berlin"))
        assert (sort, moment.day, moment.hour) == ("month", 1, 0)
    assert [sort for _, sort in marks(begin, begin + 86_400, ZoneInfo("UTC"))] == ["hour"] * 9


def test_a_square_for_every_temperature_and_humidity_there_was() -> None:
    """Counted by numpy's own histogram: as fine as half a degree where that can be told apart, else of a degree; every hour is in one."""
    for wild, (warm, damp) in ((0, (0.5, 2)), (4, (1, 4))):
        air, rng = years(10), np.random.default_rng(6)
        t, rh = air.t + rng.normal(0, wild, len(air.t)), np.clip(air.rh + rng.normal(0, 3 * wild, len(air.t)), 20, 99)
        drawn = room.scatter(SAID, t, rh, WORDS)
        counted, _, _ = np.histogram2d(t, rh, bins=[np.arange(-40, 60, warm), np.arange(0, 104, damp)])
        assert drawn.split('class="dots"')[0].rsplit('d="', 1)[1].count("M") == (counted > 0).sum()
        assert len(drawn) <= 30_000
