"""A room's climate: two lines through time, the damp hours of each day, and temperature against humidity."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np

from locations.climate.charts.drawing import Said, Scale, box, figure, line, path, steps, svg, tag, text
from locations.climate.charts.thinning import holes, strokes, thinned
from locations.climate.charts.times import Say, marks
from locations.climate.science.lived import DAMP
from locations.climate.science.mould import critical_rh, mould_class
from locations.climate.science.psychrometrics import relative_humidity, vapour_pressure
from locations.climate.science.values import Floats, Ints

WIDTH: Final = 1120
LEFT, RIGHT = 56.0, 1064.0
#: columns of each of the two lines, fewer where hand readings are drawn too, and of these: all together under 2,000 points and 30 kB
COLUMNS, BESIDE_MARKS, MARK_COLUMNS = 490, 380, 40
#: a hole narrower than this is a break in the line without hatching
NARROWEST: Final = 4.0
CELL: Final = 19.5
#: squares of temperature against humidity that can be told apart
MOST_SQUARES: Final = 900
GAP_ENDS: Final = 3 * 3600
#: half the width of a mark of a hand reading, and from how many on it is the smaller one
MARK, SMALL_MARK, MANY_MARKS = 5.0, 3.0, 60
#: between the two lines
LANE_TOP, LANE_HEIGHT = 306.0, 11.0


@dataclass(frozen=True, slots=True)
class Air:
    """Readings in order: instants (s), t °C, rh %, NaN where there is none; `widest` s between two that are joined."""

    at: Ints
    t: Floats
    rh: Floats
    widest: float


@dataclass(frozen=True, slots=True)
class Dials:
    """Hand readings in order: instants (s), t °C, rh %, NaN where not read."""

    at: Ints
    t: Floats
    rh: Floats


@dataclass(frozen=True, slots=True)
class Alarmed:
    """An alarm's run, instants (s)."""

    begin: int
    end: int
    red: bool


NO_DIALS: Final = Dials(np.empty(0, dtype=np.int64), np.empty(0), np.empty(0))


@dataclass(frozen=True, slots=True)
class Frame:
    """The time shown, the clock on the wall, how an instant is said, the words on the drawing."""

    begin: int
    end: int
    zone: ZoneInfo
    say: Say
    words: dict[str, str]

    @property
    def x(self) -> Scale:
        return Scale(self.begin, self.end, LEFT, RIGHT)


@dataclass(frozen=True, slots=True)
class Panel:
    """One of the two lines: readings, those by hand, its scale and unit, the class of its line, the mark of a hand reading."""

    values: Floats
    by_hand: Floats
    scale: Scale
    unit: str
    kind: str
    shape: Callable[[float], str]


def lines(said: Said, air: Air, frame: Frame, band: tuple[float, float] | None, dials: Dials = NO_DIALS, alarms: Sequence[Alarmed] = ()) -> str:
    """Humidity above, temperature below, over one time; holes hatched, the line lifted there. Hand readings are marks that nothing joins; alarms
    lie between the two."""
    humid = Scale(*_reach(np.concatenate((air.rh, dials.rh)), 30, 80, 0, 103, 10), 300, 34)
    warm = Scale(*_reach(np.concatenate((air.t, dials.t)), 5, 20, -40, 60, 5), 452, 342)
    panels = (Panel(air.rh, dials.rh, humid, "%", "line", _ring), Panel(air.t, dials.t, warm, "°C", "line line--temp", _lozenge))
    inside = [_time_axis(frame, 28, 458), _grid(humid, 6), _grid(warm, 3), _band(said, humid, band)]
    inside += [_holes(said, air, one.values, frame, one.scale) for one in panels]
    columns = BESIDE_MARKS if len(dials.at) > MARK_COLUMNS else COLUMNS
    inside += [_line(air, one, frame, columns) for one in panels]
    inside += [_limit(humid, frame.words["damp"]), text(LEFT, 20, frame.words["rh"]), text(LEFT, 332, frame.words["t"]), *_lane(alarms, frame)]
    inside += [_marks(dials.at, one, frame) for one in panels]
    inside.append(tag("path", d="", class_="cursor", data_cursor=""))
    reading = {"data_from": frame.begin, "data_to": frame.end, "data_left": figure(LEFT), "data_right": figure(RIGHT)}
    return svg(said, WIDTH, 486, *inside, **reading)


def _lane(alarms: Sequence[Alarmed], frame: Frame) -> Iterator[str]:
    """Open boxes for amber alarms, filled ones above them for red."""
    for red, kind in ((False, "at"), (True, "damp-full")):
        clipped = [(frame.x(max(one.begin, frame.begin)), frame.x(min(one.end, frame.end))) for one in alarms if one.red == red]
        yield path("".join(box(x, LANE_TOP, max(end - x, 3.0), LANE_HEIGHT) for x, end in clipped), kind)


def _marks(at: Ints, panel: Panel, frame: Frame) -> str:
    """A mark a reading, of many the lowest and highest of each stretch; a capital M and its place begin each, which the page's script reads."""
    kept = thinned(at, panel.by_hand, MARK_COLUMNS)
    drawn = panel.shape(MARK if len(kept) < MANY_MARKS else SMALL_MARK)
    data = "".join(f"M{figure(frame.x(int(at[i])))} {figure(panel.scale(float(panel.by_hand[i])))}{drawn}" for i in kept)
    return path(data, "at", data_hand=frame.words.get("hand", ""), **_scaled(panel))


def _ring(r: float) -> str:
    return f"m-{figure(r)} 0a{figure(r)} {figure(r)} 0 1 0 {figure(2 * r)} 0a{figure(r)} {figure(r)} 0 1 0-{figure(2 * r)} 0z"


def _lozenge(r: float) -> str:
    r += 1
    return f"m0-{figure(r)}l{figure(r)} {figure(r)}l-{figure(r)} {figure(r)}l-{figure(r)}-{figure(r)}z"


def _scaled(panel: Panel) -> dict[str, object]:
    """How the page's script gets a value back from its place."""
    scale, unit = panel.scale, panel.unit
    ends = {"data_low": scale.low, "data_high": scale.high, "data_bottom": scale.begin, "data_top": scale.end}
    return {"data_unit": unit, **{name: figure(value) for name, value in ends.items()}}


def _reach(values: Floats, low: float, high: float, least: float, most: float, size: float) -> tuple[float, float]:
    """From where to where a scale goes: at least low to high, so that a calm day does not look like a storm."""
    known = values[~np.isnan(values)]
    if not len(known):
        return low, high
    return max(min(low, float(known.min()) // size * size), least), min(max(high, -(-float(known.max()) // size) * size), most)


def _time_axis(frame: Frame, top: float, bottom: float) -> str:
    shown = [(frame.x(at), frame.say(datetime.fromtimestamp(at, frame.zone), sort)) for at, sort in marks(frame.begin, frame.end, frame.zone)]
    ticks = path("".join(f"M{figure(x)} {figure(top)}V{figure(bottom)}" for x, _ in shown), "grid")
    room = max(1, -(-len(shown) // 14))
    return ticks + "".join(text(x + 4, bottom + 20, words) for n, (x, words) in enumerate(shown) if n % room == 0 and x < RIGHT - 40)


def _grid(scale: Scale, about: int) -> str:
    """Figures on both sides: on a phone only one end of the drawing is seen at a time."""
    values = steps(scale.low, scale.high, about)
    return path("".join(f"M{figure(LEFT)} {figure(scale(v))}H{figure(RIGHT)}" for v in values), "grid") + "".join(
        text(x, scale(v) + 5, figure(v), anchor=anchor, kind="num-t") for v in values for x, anchor in ((LEFT - 8, "end"), (RIGHT + 8, "start"))
    )


def _band(said: Said, scale: Scale, band: tuple[float, float] | None) -> str:
    if band is None:
        return ""
    low, high = (scale(value) for value in band)
    return path(box(LEFT, high, RIGHT - LEFT, low - high), "band", fill=f"url(#{said.key}-band)")


def _limit(scale: Scale, words: str) -> str:
    """The damp limit; what it is stands above the lines, where it hides none of them."""
    y = scale(DAMP)
    return path(f"M{figure(LEFT)} {figure(y)}H{figure(RIGHT)}", "limit") + text(RIGHT, 20, words, anchor="end")


def _holes(said: Said, air: Air, values: Floats, frame: Frame, scale: Scale) -> str:
    found = [(frame.x(begin), frame.x(end)) for begin, end in holes(air.at, values, frame.begin, frame.end, max(air.widest, GAP_ENDS))]
    data = "".join(box(x, scale.end, end - x, scale.begin - scale.end) for x, end in found if end - x >= NARROWEST)
    return path(data, "gap", fill=f"url(#{said.key}-gap)")


def _line(air: Air, panel: Panel, frame: Frame, columns: int) -> str:
    parts = strokes(air.at, panel.values, columns, max(air.widest, GAP_ENDS))
    data = "".join(line([(frame.x(int(air.at[i])), panel.scale(float(panel.values[i]))) for i in part]) for part in parts)
    return path(data, panel.kind, data_read="", **_scaled(panel))


@dataclass(frozen=True, slots=True)
class Day:
    """A day's hours above the damp limit and hours of which nothing is known; week from the left, weekday from 0."""

    week: int
    weekday: int
    damp: int
    unknown: int


def calendar(said: Said, days: Sequence[Day], weekdays: Sequence[str], months: Sequence[tuple[int, str]]) -> str:
    """A year of days, a week a column: the fuller a square the more damp hours, hatched where little is known."""
    cells = dots = damp = full = ""
    for day in days:
        x, y = LEFT + day.week * CELL, 30 + day.weekday * CELL
        cells += box(x, y, 16, 16)
        dots += box(x, y, 16, 16) if day.unknown >= 12 else ""
        height = 16 * day.damp / 24
        if day.damp >= 24:
            full += box(x, y, 16, 16)
        elif day.damp:
            damp += box(x, y + 16 - height, 16, height)
    inside = [path(cells, "cell"), path(dots, "gap", fill=f"url(#{said.key}-gap)"), path(damp, "damp"), path(full, "damp-full")]
    inside += [text(LEFT - 8, 43 + n * CELL, words, anchor="end") for n, words in enumerate(weekdays) if n % 2 == 0]
    inside += [text(LEFT + week * CELL, 20, words) for week, words in months]
    return svg(said, WIDTH, 172, *inside)


def scatter(said: Said, t: Floats, rh: Floats, words: dict[str, str]) -> str:
    """Temperature against humidity: a square for each half degree and two per cent, the larger the more hours; dew points and mould as lines.

    Of a long time the squares are those of a degree and four per cent.
    """
    known = ~(np.isnan(t) | np.isnan(rh))
    across = Scale(*_reach(t, 0, 25, -20, 50, 5), 56, 560)
    up = Scale(20, 100, 420, 30)
    inside = [_squares(t[known], np.clip(rh[known], 20, 100), across, up), *_dew_points(across, up, words["dew"]), *_mould(across, up, words["mould"])]
    frame = path(f"M56 30V420H560M56 {figure(up(DAMP))}H560", "grid")
    labels = [text(across(v), 440, figure(v), anchor="middle", kind="num-t") for v in steps(across.low, across.high, 6)]
    labels += [text(48, up(v) + 5, figure(v), anchor="end", kind="num-t") for v in (20, 40, 60, 80, 100)]
    return svg(said, 640, 470, frame, *inside, *labels, text(56, 20, words["rh"]), text(560, 462, words["t"], anchor="end"))


def _squares(t: Floats, rh: Floats, across: Scale, up: Scale) -> str:
    """Half degrees and two per cent; of a long time, whose hours fill more than can be told apart, twice that."""
    if not len(t):
        return ""
    cells, counts = _cells(t, rh, 1)
    size = 1 if len(counts) <= MOST_SQUARES else 2
    if size == 2:
        cells, counts = _cells(t, rh, size)
    data, most, widest = "", float(counts.max()), 9.0 * size
    for (column, row), count in zip(cells.tolist(), counts.tolist(), strict=True):
        side = max(1.2, widest * (count / most) ** 0.5)
        data += box(across((column + 0.5) * size / 2) - side / 2, up((row + 0.5) * size * 2) - side / 2, side, side)
    return path(data, "dots")


def _cells(t: Floats, rh: Floats, size: int) -> tuple[Ints, Ints]:
    """Cells of so many half degrees and twos of per cent, and how many hours lie in each."""
    keys = np.floor(t * 2 / size).astype(np.int64) * 1_000 + np.floor(rh / 2 / size).astype(np.int64)
    kinds, counts = np.unique(keys, return_counts=True)
    return np.column_stack((kinds // 1_000, kinds % 1_000)), counts


def _dew_points(across: Scale, up: Scale, words: str) -> list[str]:
    found = []
    for dew in (0, 5, 10, 15):
        air = np.arange(max(dew, across.low), across.high + 0.01, 0.5)
        rh = relative_humidity(np.full(len(air), vapour_pressure(float(dew), 100.0)), air)
        seen = rh >= up.low
        if seen.sum() > 1:
            found.append(path(line([(across(x), up(y)) for x, y in zip(air[seen], rh[seen], strict=True)]), "dew"))
            found.append(text(across(air[seen][-1]) + 5, up(rh[seen][-1]) + 5, words % {"t": dew}))
    return found


def _mould(across: Scale, up: Scale, words: str) -> list[str]:
    warmth = np.arange(max(1.0, across.low), across.high + 0.01, 0.5)
    edge = np.asarray(critical_rh(warmth, mould_class("VS")))
    drawn = path(line([(across(x), up(y)) for x, y in zip(warmth, edge, strict=True)]), "limit")
    return [drawn, text(across.end, 20, words, anchor="end")]
