"""Reads a sheet by a form in which nothing is open: readings in order of their instants, and what became of every line."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np

from locations.climate.files import headings
from locations.climate.files.cells import Column, Table, figures
from locations.climate.files.clocks import on_the_wall, winter
from locations.climate.files.flags import Flag, noticed
from locations.climate.files.forms import QUANTITIES, Form, Unreadable
from locations.climate.files.sheets import Sheet
from locations.climate.files.times import DAY, WIDEST, Written, written
from locations.climate.science.figures import PLAIN, celsius
from locations.climate.science.values import Flags, Floats, Ints

#: 1 January 1990: no logger is older
EARLIEST: Final = 631_152_000
#: 1 January 2000: where the clocks of many devices begin that nobody set after a new battery (common practice, no source)
UNSET: Final = 946_684_800
#: lines named of each sort
NAMED: Final = 20
#: lines before a last one without an end that it is compared with
NEAR: Final = 50
#: °C or % by which neither column may go on in the other, where they lie so far apart
CROSSED, APART = 3.0, 15.0
#: so many times that stand there twice with other values are no slip, where they are most
LEAST: Final = 12
#: what some loggers write for no reading
NO_VALUE: Final = (999.9, -999.9, 9999.0, -9999.0)


@dataclass(slots=True)
class Batch:
    """Readings: instants (s, UTC), t °C, rh %, lux; NaN where there is none."""

    at: Ints
    t: Floats
    rh: Floats
    lux: Floats
    flags: Ints

    def __len__(self) -> int:
        return len(self.at)

    def some(self, which: Ints | Flags) -> "Batch":
        """Some of them."""
        return Batch(self.at[which], self.t[which], self.rh[which], self.lux[which], self.flags[which])


@dataclass(slots=True)
class Found:
    """What a file holds: readings, each instant once; `rivals` are other values of the same instants; `counts` accounts for every line."""

    readings: Batch
    rivals: Batch
    interval: int
    counts: dict[str, int] = field(default_factory=dict)
    #: up to some lines of each sort that gave no reading, from 1
    lines: dict[str, list[int]] = field(default_factory=dict)


class _Account:
    """What became of the lines that gave no reading."""

    def __init__(self) -> None:
        self.counts: dict[str, int] = {}
        self.lines: dict[str, list[int]] = {}

    def leave(self, code: str, lines: Ints) -> None:
        if len(lines):
            self.counts[code] = self.counts.get(code, 0) + len(lines)
            self.lines[code] = [*self.lines.get(code, []), *(lines[:NAMED] + 1).tolist()][:NAMED]


@dataclass(slots=True)
class _Rows:
    """Lines with what their time cells say and their figures."""

    lines: Ints
    written: Written
    columns: dict[str, Column]

    def some(self, which: Ints | Flags | slice) -> "_Rows":
        written = Written(*(getattr(self.written, name)[which] for name in Written.__slots__))
        columns = {name: Column(column.values[which], column.decimals[which]) for name, column in self.columns.items()}
        return _Rows(self.lines[which], written, columns)


def read(sheet: Sheet, form: Form, *, zone: ZoneInfo, now: int, placed: Sequence[int] = ()) -> Found:
    """The readings of a file. Raises Unreadable with line and cell where something is neither a reading nor known to be none."""
    if form.open:
        raise Unreadable("not_answered", what=", ".join(form.open))
    table, account = Table(sheet), _Account()
    rows = _rows(table, form, account)
    if not len(rows.lines):
        raise Unreadable("no_readings")
    wall = rows.written.days * DAY + rows.written.seconds
    if (np.diff(wall) < 0).sum() * 2 > len(wall):
        rows, wall = rows.some(slice(None, None, -1)), wall[::-1]
    _demand_whole_day(rows, wall)
    interval = interval_of(wall)
    _demand_each_in_its_column(rows, wall, interval)
    at, good = _instants(table, rows, wall, form, zone, interval, account)
    _demand_possible(table, rows, at, form, now)
    rows, at = rows.some(good), at[good]
    found = _in_order(_batch(rows, at, form), rows.lines, account)
    found.interval = interval
    found.readings.flags |= noticed(found.readings.at, found.readings.t, found.readings.rh, interval, np.array(sorted(placed), dtype=np.int64))
    found.counts = {"lines": len(table), "readings": len(found.readings), **account.counts}
    found.lines = account.lines
    return found


def _rows(table: Table, form: Form, account: _Account) -> _Rows:
    """The lines that have a time and figures. Raises Unreadable."""
    lines = np.arange(form.first, len(table))
    lines = lines[~table.blank[lines]]
    if table.cut and len(lines) and not _ends_whole(table, int(lines[-1]), form):
        account.leave("cut", lines[-1:])
        lines = lines[:-1]
    _demand_few_cells(table, lines, table.usual(form.first))
    needed = max(*form.times, *(column for name in QUANTITIES if (column := form.column(name)) is not None))
    whole = table.counts[lines] > needed
    short, lines = lines[~whole], lines[whole]
    _demand_no_reading(table, short, form, "too_few_cells", account)
    told = _written(table, lines, form)
    _demand_no_reading(table, lines[~told.good], form, "not_a_time", account)
    lines = lines[told.good]
    told = Written(*(getattr(told, name)[told.good] for name in Written.__slots__))
    columns = {name: figures(table, lines, column, form.decimal or ".") for name in QUANTITIES if (column := form.column(name)) is not None}
    return _Rows(lines, told, columns)


def _demand_few_cells(table: Table, lines: Ints, usual: int) -> None:
    """A cell too many, with something in it, may be a decimal sign taken for the end of a cell."""
    for line in lines[table.counts[lines] > usual].tolist():
        extra = [text for text in table.line(line)[usual:] if text.strip()]
        if extra:
            raise Unreadable("too_many_cells", line=line + 1, cell=extra[0])


def _demand_no_reading(table: Table, lines: Ints, form: Form, code: str, account: _Account) -> None:
    """Lines without a time may be remarks; with a figure where figures stand they are readings nobody can place."""
    for line in lines.tolist():
        cells = table.line(line)
        _demand_same_headings(cells, line, form)
        if headings.SUMS.match(" ".join(cells[column] for column in form.times if column < len(cells))):
            account.leave("no_reading", np.array([line]))
            continue
        if any(_figure(cells[column]) for name in QUANTITIES if (column := form.column(name)) is not None and column < len(cells)):
            raise Unreadable(code, line=line + 1, cell=" ".join(cells[column] for column in form.times if column < len(cells)))
        account.leave("no_reading", np.array([line]))


def _demand_same_headings(cells: Sequence[str], line: int, form: Form) -> None:
    """A heading that stands there again, as after a restart, has the columns and the unit of the first."""
    if sum(bool(headings.quantity(text) or headings.TIME.search(text)) for text in cells) < 2:
        return
    for name in QUANTITIES:
        column = form.column(name)
        said = headings.quantity(cells[column]) if column is not None and column < len(cells) else ""
        other_unit = name == "t" and said == "t" and headings.unit(cells[column or 0]) not in ("", form.unit)
        if (said and said != name) or other_unit:
            raise Unreadable("other_columns", line=line + 1, cell=cells[column or 0])


def _demand_each_in_its_column(rows: _Rows, wall: Ints, interval: int) -> None:
    """Two columns that change places from one reading to the next were exchanged there."""
    if not {"t", "rh"} <= rows.columns.keys():
        return
    t, rh = rows.columns["t"].values, rows.columns["rh"].values
    near = np.abs(np.diff(wall)) <= 3 * interval
    crossed = (np.abs(t[1:] - rh[:-1]) <= CROSSED) & (np.abs(rh[1:] - t[:-1]) <= CROSSED) & (np.abs(t - rh)[1:] >= APART)
    if (swapped := np.flatnonzero(near & crossed)).size:
        line = int(rows.lines[swapped[0] + 1])
        raise Unreadable("exchanged_within", line=line + 1, cell=f"{t[swapped[0] + 1]:g}")


def _figure(text: str) -> bool:
    return any("0" <= sign <= "9" for sign in text) and text.strip() not in {"999.9", "-999.9"}


def _written(table: Table, lines: Ints, form: Form) -> Written:
    """What the time cells of each line say, a day in one and the hour in another taken together."""
    parts = []
    for column in form.times:
        begin, end = table.span(lines, column)
        width = int(min((end - begin).max(initial=1), WIDEST))
        parts.append(written(table.matrix(begin, end, width), end - begin, form.order))
    if len(parts) == 1:
        one = parts[0]
        one.good[~one.dated] = False
        return one
    day, hour = parts
    good = day.good & hour.good & day.dated & hour.clocked & ~day.clocked & ~hour.dated
    return Written(day.days, hour.seconds, hour.ahead, hour.told, good, day.dated, hour.clocked)


def _ends_whole(table: Table, line: int, form: Form) -> bool:
    """Whether a last line without an end is whole: its figures have as many decimals as all near it, at least one."""
    near = [table.line(n) for n in range(max(form.first, line - NEAR), line + 1)]
    for name in QUANTITIES:
        if (column := form.column(name)) is None:
            continue
        decimals = {_decimals(cells[column] if column < len(cells) else "", form.decimal or ".") for cells in near}
        if len(decimals) != 1 or decimals & {-1, 0}:
            return False
    return True


def _decimals(text: str, decimal: str) -> int:
    """Digits behind the sign; -1 of what is no plain figure."""
    plain = text.strip()
    return len(plain.partition(decimal)[2]) if PLAIN.fullmatch(plain) else -1


def interval_of(wall: Ints) -> int:
    """Seconds from one reading to the next, as most are."""
    steps = np.abs(np.diff(wall))
    steps = steps[steps > 0]
    return int(np.median(steps)) if len(steps) else 3600


def _demand_whole_day(rows: _Rows, wall: Ints) -> None:
    """Two days and more without an hour past twelve, and time running back: a clock of twelve hours without its half of the day."""
    hours = rows.written.seconds // 3600
    if len(wall) >= 48 and np.ptp(wall) >= 2 * DAY and hours.min() >= 1 and hours.max() == 12 and (np.diff(wall) < 0).sum() >= 2:
        raise Unreadable("twelve_hours", line=int(rows.lines[0]) + 1)


def _instants(table: Table, rows: _Rows, wall: Ints, form: Form, zone: ZoneInfo, interval: int, account: _Account) -> tuple[Ints, Flags]:
    """Instants, and which of them are certain. An offset in the cell goes before what is said of the clock."""
    told, good = rows.written.told, np.ones(len(wall), dtype=bool)
    if told.all():
        return wall - rows.written.ahead, good
    if told.any() or form.clock == "told":
        raise Unreadable("no_offset", line=int(rows.lines[np.flatnonzero(~told)[0]]) + 1)
    if form.clock != "follows":
        return wall - {"standard": winter(zone, wall), "offset": form.offset * 60}.get(form.clock or "", 0), good
    found = on_the_wall(wall, zone, interval)
    account.leave("skipped_hour", rows.lines[found.skipped])
    account.leave("undecided_hour", rows.lines[found.undecided])
    return found.at, ~(found.skipped | found.undecided)


def _demand_possible(table: Table, rows: _Rows, at: Ints, form: Form, now: int) -> None:
    wrong = np.flatnonzero((at < EARLIEST) | (at > now + DAY))
    if len(wrong):
        line = int(rows.lines[wrong[0]])
        raise Unreadable("not_in_time", line=line + 1, cell=" ".join(table.text(line, column) for column in form.times))
    first = int(np.argmin(at)) if len(at) else 0
    if len(at) and UNSET - DAY // 2 <= at[first] < UNSET + DAY:
        line = int(rows.lines[first])
        raise Unreadable("clock_unset", line=line + 1, cell=" ".join(table.text(line, column) for column in form.times))


def _batch(rows: _Rows, at: Ints, form: Form) -> Batch:
    values = {name: column.values for name, column in rows.columns.items()}
    for column in values.values():
        column[np.isin(column, NO_VALUE)] = np.nan
    if form.share and "rh" in values:
        values["rh"] = np.round(values["rh"] * 100, 3)
    if form.unit == "F" and "t" in values:
        values["t"] = np.round(celsius(values["t"]), 3)
    none = np.full(len(at), np.nan)
    return Batch(at, values.get("t", none), values.get("rh", none), values.get("lux", none), np.zeros(len(at), dtype=np.int64))


def _in_order(batch: Batch, lines: Ints, account: _Account) -> Found:
    """Each instant once; the same again is dropped, another value of it becomes a rival."""
    empty = np.isnan(batch.t) & np.isnan(batch.rh) & np.isnan(batch.lux)
    account.leave("no_value", lines[empty])
    batch, lines = batch.some(~empty), lines[~empty]
    if len(batch) and (np.diff(batch.at) < 0).any():
        order = np.argsort(batch.at, kind="stable")
        batch, lines = batch.some(order), lines[order]
    again = np.concatenate(([False], np.diff(batch.at) == 0)) if len(batch) else np.zeros(0, dtype=bool)
    if not again.any():
        return Found(batch, batch.some(again), 0)
    return _apart(batch, lines, again, account)


def _apart(batch: Batch, lines: Ints, again: Flags, account: _Account) -> Found:
    """Readings, and of those told again the ones that say something else than any before them."""
    first = np.maximum.accumulate(np.where(again, 0, np.arange(len(batch))))
    other = np.zeros(len(batch), dtype=bool)
    seen: set[tuple[float, ...]] = set()
    for i in np.flatnonzero(again).tolist():
        if _alike(batch, i, int(first[i])):
            continue
        key = (int(batch.at[i]), *(-1e9 if np.isnan(part[i]) else float(part[i]) for part in (batch.t, batch.rh, batch.lux)))
        other[i] = key not in seen
        seen.add(key)
    account.leave("twice", lines[again & ~other])
    account.leave("rivals", lines[other])
    if other.sum() >= LEAST and other.sum() * 2 > (~again).sum():
        raise Unreadable("two_a_time", line=int(lines[other][0]) + 1)
    batch.flags[other] |= Flag.RIVALLED
    batch.flags[first[other]] |= Flag.RIVALLED
    return Found(batch.some(~again), batch.some(other), 0)


def _alike(batch: Batch, i: int, j: int) -> bool:
    return all(part[i] == part[j] or (np.isnan(part[i]) and np.isnan(part[j])) for part in (batch.t, batch.rh, batch.lux))
