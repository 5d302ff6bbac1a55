"""Cells of many lines at once: where each begins and ends, their letters as a matrix, their figures as numbers."""

import re
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from locations.climate.files.forms import Unreadable
from locations.climate.files.sheets import Sheet
from locations.climate.science.figures import read_figure
from locations.climate.science.values import Flags, Floats, Ints, NoValue

Letters = NDArray[np.uint8]
#: longer figures are read one by one
WIDEST: Final = 16
#: no cell is looked at farther
LONGEST: Final = 64
DIGIT_0, DIGIT_9, PLUS, MINUS, SPACE = (ord(sign) for sign in "09+- ")
GROUPS: Final = {".": re.compile(r"([+-]?\d{1,3}(?:,\d{3})+)(\.\d+)?"), ",": re.compile(r"([+-]?\d{1,3}(?:\.\d{3})+)(,\d+)?")}
#: a unit that stands behind the figure in the same cell
UNIT: Final = re.compile(r"(?<=[\d.,])\s*(°\s*C|℃|C|%\s*(?:RH|rF|r\.F\.|HR)?|lx|lux)$", re.IGNORECASE)


class Table:
    """The cells of a sheet by line and column."""

    def __init__(self, sheet: Sheet) -> None:
        self.letters: Letters = np.frombuffer(sheet.data, dtype=np.uint8)
        self.cut = sheet.cut
        self._ends: Ints = np.flatnonzero(self.letters == ord("\n"))
        self._begins: Ints = np.concatenate(([0], self._ends[:-1] + 1))
        self._between: Ints = np.flatnonzero(self.letters == ord(sheet.delimiter))
        self._firsts: Ints = np.searchsorted(self._between, self._begins)
        lasts = np.searchsorted(self._between, self._ends)
        #: cells of each line
        self.counts: Ints = lasts - self._firsts + 1

    def __len__(self) -> int:
        return len(self._ends)

    def usual(self, first: int) -> int:
        """How many cells most lines have, from the first reading on; a line with one cell is a remark."""
        several = self.counts[first:][self.counts[first:] > 1]
        return int(np.bincount(several).argmax()) if len(several) else 1

    @cached_property
    def blank(self) -> Flags:
        """Lines with nothing in them."""
        found: Flags = self._ends == self._begins
        return found

    def span(self, lines: Ints, column: int) -> tuple[Ints, Ints]:
        """Where the cells of a column begin and end; what a line does not have is empty."""
        first, count, end = self._firsts[lines], self.counts[lines], self._ends[lines]
        there = column < count
        between = self._between
        if column:
            at = np.minimum(first + column - 1, max(len(between) - 1, 0))
            begin = np.where(there, between[at] + 1 if len(between) else end, end)
        else:
            begin = self._begins[lines]
        if len(between):
            after = between[np.minimum(first + column, len(between) - 1)]
            end = np.where(column + 1 < count, after, end)
        return self._trimmed(begin, end)

    def _trimmed(self, begin: Ints, end: Ints) -> tuple[Ints, Ints]:
        begin, end = begin.copy(), end.copy()
        while (wide := (begin < end) & (self.letters[np.minimum(begin, len(self.letters) - 1)] == SPACE)).any():
            begin[wide] += 1
        while (wide := (begin < end) & (self.letters[end - 1] == SPACE)).any():
            end[wide] -= 1
        return begin, end

    def text(self, line: int, column: int) -> str:
        """One cell."""
        begin, end = self.span(np.array([line]), column)
        return self.letters[int(begin[0]) : int(end[0])].tobytes().decode("utf-8", "replace")

    def line(self, line: int) -> tuple[str, ...]:
        """All cells of one line."""
        return tuple(self.text(line, column) for column in range(int(self.counts[line])))

    def matrix(self, begin: Ints, end: Ints, width: int) -> Letters:
        """The letters of cells, from the left, zero behind their end; of longer cells the first ones."""
        found = np.lib.stride_tricks.sliding_window_view(self._padded, max(width, 1))[begin]
        lengths = end - begin
        if len(lengths) and int(lengths.min()) < width:
            found[np.arange(width) >= lengths[:, None]] = 0
        return found

    @cached_property
    def _padded(self) -> Letters:
        return np.concatenate((self.letters, np.zeros(LONGEST, dtype=np.uint8)))


@dataclass(frozen=True, slots=True)
class Column:
    """Figures of a column, NaN for no reading; `decimals` of each, -1 where it was read by itself."""

    values: Floats
    decimals: NDArray[np.int8]


def figures(table: Table, lines: Ints, column: int, decimal: str) -> Column:
    """The figures of a column. Raises Unreadable `not_a_figure` with line and cell."""
    begin, end = table.span(lines, column)
    width = int(min((end - begin).max(initial=0), WIDEST))
    letters = table.matrix(begin, end, width)
    values, decimals, good = _plain_figures(letters, end - begin, ord(decimal))
    known: dict[bytes, float] = {}
    for i in np.flatnonzero(~good).tolist():
        cell = table.letters[begin[i] : end[i]].tobytes()
        if cell not in known:
            known[cell] = _by_itself(cell.decode("utf-8", "replace"), decimal, int(lines[i]) + 1)
        values[i] = known[cell]
    return Column(values, decimals)


def _plain_figures(letters: Letters, lengths: Ints, decimal: int) -> tuple[Floats, NDArray[np.int8], Flags]:
    """Sign, digits, one decimal sign, digits: what nearly all are."""
    n, width = letters.shape
    mantissa = np.zeros(n, dtype=np.int64)
    decimals = np.full(n, -1, dtype=np.int8)
    digits = np.zeros(n, dtype=np.int8)
    good = (lengths > 0) & (lengths <= width)
    ended = np.zeros(n, dtype=bool)
    for k in range(width):
        sign = letters[:, k]
        digit = (sign >= DIGIT_0) & (sign <= DIGIT_9)
        mantissa = np.where(digit, mantissa * 10 + (sign - DIGIT_0), mantissa)
        digits += digit
        decimals += digit & (decimals >= 0)
        point = (sign == decimal) & (decimals < 0) & (digits > 0)
        decimals[point] = 0
        ended = sign == 0
        leading = ((sign == MINUS) | (sign == PLUS)) if k == 0 else np.zeros(n, dtype=bool)
        good &= digit | point | ended | leading
    good &= (digits > 0) & (decimals != 0)
    values = mantissa / np.power(10.0, np.maximum(decimals, 0))
    if width:
        values = np.where(letters[:, 0] == MINUS, -values, values)
    values[~good] = np.nan
    decimals = np.where(good, np.maximum(decimals, 0), -1).astype(np.int8)
    return values, decimals, good


def _by_itself(text: str, decimal: str, line: int) -> float:
    plain = UNIT.sub("", text.strip())
    if GROUPS[decimal].fullmatch(plain):
        plain = plain.replace("," if decimal == "." else ".", "")
    try:
        value = read_figure(plain, decimal)
    except NoValue:
        raise Unreadable("not_a_figure", line=line, cell=text) from None
    return float("nan") if value is None else value
