"""What labels are printed on, and what fits a label. Free of the framework; lengths in millimetres, type in points.

The sheets are the common divisions of A4 (common practice, no source); measure yours, and print on plain paper first.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor
from textwrap import wrap
from typing import Final

MM_OF_POINT: Final = 0.3528
#: width of a sign in parts of the size of its type: numbers stand in a face of equal widths, words at this or less on average, bold ones at more
NUMBER_WIDTH: Final = 0.632
WORD_WIDTH: Final = 0.5
BOLD_WIDTH: Final = 0.53
#: where a long number is parted rather than elsewhere
PARTS_AT: Final = " ./-"
LEADING: Final = 1.15
#: the number is read by eye from an arm's length on the smallest label too
LEAST_NUMBER: Final = 9.0
CAUTION_SIZES: Final = (10.0, 9.0, 8.0, 7.0, 6.5)
NAME_SIZES: Final = (11.0, 9.0, 7.5, 6.5)


@dataclass(frozen=True, slots=True)
class Stock:
    """A sheet of A4 in columns and rows, or a roll (one label to a page, as a roll printer wants it)."""

    code: str
    columns: int
    rows: int
    width: float
    height: float
    left: float = 0.0
    top: float = 0.0
    gap_x: float = 0.0
    gap_y: float = 0.0
    #: white round what is printed on a label
    pad: float = 2.0
    #: edge of the code; 0 = too small for one that can be read
    qr: float = 10.0
    number: float = 24.0
    #: the code above the words, not beside them
    stacked: bool = False
    #: lines along which plain paper is cut
    cut: bool = False

    @property
    def is_roll(self) -> bool:
        return self.columns * self.rows == 1

    @property
    def page(self) -> tuple[float, float]:
        """Width and height of a page."""
        return (self.width, self.height) if self.is_roll else (210.0, 297.0)

    @property
    def middle(self) -> float:
        """Left edge of a code in the middle."""
        return (self.width - self.qr) / 2

    @property
    def text_left(self) -> float:
        """Where words begin; the code keeps four of its cells clear."""
        return self.pad if self.stacked or not self.qr else self.pad + self.qr + max(2.0, self.qr * 4 / 25)

    @property
    def text_top(self) -> float:
        return self.pad + self.qr + max(1.5, self.qr * 4 / 25) if self.stacked and self.qr else self.pad

    @property
    def room(self) -> tuple[float, float]:
        """Width and height for words."""
        return self.width - self.text_left - self.pad, self.height - self.text_top - self.pad


STOCKS: Final[dict[str, Stock]] = {
    stock.code: stock
    for stock in (
        Stock("plain", 2, 5, 90, 52, left=15, top=18.5, pad=4, qr=22, cut=True),
        Stock("2x4", 2, 4, 99.1, 67.7, left=4.7, top=13.1, gap_x=2.5, pad=5, qr=26, number=30),
        Stock("2x7", 2, 7, 99.1, 38.1, left=4.7, top=15.1, gap_x=2.5, pad=4, qr=20),
        Stock("3x7", 3, 7, 63.5, 38.1, left=7.2, top=15.1, gap_x=2.5, pad=3, qr=15),
        Stock("3x8", 3, 8, 70, 37, top=0.5, pad=5, qr=15),
        Stock("5x13", 5, 13, 38.1, 21.2, left=4.7, top=10.7, gap_x=2.5, pad=1.8, qr=10, number=12),
        Stock("roll62", 1, 1, 62, 40, pad=3, qr=18),
        Stock("roll29", 1, 1, 29, 62, pad=2, qr=16, number=16, stacked=True),
        Stock("roll12", 1, 1, 60, 12, pad=1, qr=10, number=16),
        Stock("roll9", 1, 1, 70, 9, pad=1, qr=0, number=16),
    )
}


@dataclass(frozen=True, slots=True)
class Words:
    """What a label says: its number, what it is, the caution, where it belongs."""

    number: str
    name: str
    caution: str = ""
    #: the caution in few words, where the whole does not fit
    caution_short: str = ""
    place: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of type."""

    kind: str
    text: str
    size: float


def cells(stock: Stock, start: int, count: int) -> list[tuple[int, float, float]]:
    """Page, left and top of each of `count` labels, from label `start` (1 = the first) of the first sheet on, row by row."""
    found = []
    for n in range(start - 1, start - 1 + count):
        page, cell = divmod(n, stock.columns * stock.rows)
        row, column = divmod(cell, stock.columns)
        found.append((page, stock.left + column * (stock.width + stock.gap_x), stock.top + row * (stock.height + stock.gap_y)))
    return found


def lines_of(stock: Stock, words: Words) -> list[Line]:
    """The lines of a label from above, as much as fits: the number always, then the caution whole or short, then name and place.

    The number is never cut: where it is long it is set smaller, down to LEAST_NUMBER, then on several lines.
    """
    wide, high = stock.room
    kept = _height(_set("caution", words.caution_short, wide, CAUTION_SIZES[-1]))
    lines = _number(words.number, wide, stock.number, high - kept)
    left = high - _height(lines)
    least = sum(NAME_SIZES[-1] * LEADING * MM_OF_POINT for text in (words.name, words.place) if text)
    caution = _caution(words, wide, left, least)
    left -= _height(caution)
    name = _fitted("name", words.name, wide, left - (least / 2 if words.place and words.name else 0), NAME_SIZES)
    left -= _height(name)
    return [*lines, *name, *_fitted("place", words.place, wide, left, NAME_SIZES[1:]), *caution]


def _number(text: str, wide: float, most: float, high: float) -> list[Line]:
    size = min(most, wide / MM_OF_POINT / (NUMBER_WIDTH * max(1, len(text))), high / MM_OF_POINT / LEADING)
    if size >= LEAST_NUMBER:
        return [Line("number", text, floor(size * 2) / 2)]
    signs, lines = max(1, floor(wide / MM_OF_POINT / NUMBER_WIDTH / LEAST_NUMBER)), []
    while text:
        parted = max((text.rfind(sign, 0, signs) + 1 for sign in PARTS_AT), default=0) if len(text) > signs else 0
        line, text = text[: parted or signs], text[parted or signs :]
        lines.append(Line("number", line, LEAST_NUMBER))
    return lines


def _caution(words: Words, wide: float, high: float, least: float) -> list[Line]:
    """Whole in the largest type that fits and leaves a line each to what else there is; else whole alone; else short.

    In the smallest type it stands even where nothing else does.
    """
    if not words.caution:
        return []
    for text, room in ((words.caution, high - least), (words.caution, high), (words.caution_short, high)):
        for size in CAUTION_SIZES:
            lines = _set("caution", text, wide, size)
            if _height(lines) <= room:
                return lines
    return _set("caution", words.caution_short, wide, CAUTION_SIZES[-1])


def _fitted(kind: str, text: str, wide: float, high: float, sizes: Sequence[float]) -> list[Line]:
    """Whole in the largest type that fits; in the smallest as many lines as fit, with dots at the end."""
    if not text:
        return []
    for size in sizes:
        lines = _set(kind, text, wide, size)
        if _height(lines) <= high:
            return lines
    kept = floor(high / (sizes[-1] * MM_OF_POINT * LEADING))
    lines = _set(kind, text, wide, sizes[-1])[: max(0, kept)]
    if not lines:
        return []
    last = lines[-1].text.rstrip(" ,;")[: _signs(kind, wide, sizes[-1]) - 1]
    return [*lines[:-1], Line(kind, f"{last}…", sizes[-1])]


def _set(kind: str, text: str, wide: float, size: float) -> list[Line]:
    return [Line(kind, line, size) for line in wrap(text, _signs(kind, wide, size))]


def _signs(kind: str, wide: float, size: float) -> int:
    return max(4, floor(wide / MM_OF_POINT / (BOLD_WIDTH if kind == "caution" else WORD_WIDTH) / size))


def _height(lines: Sequence[Line]) -> float:
    return ceil(sum(line.size * LEADING for line in lines) * MM_OF_POINT * 100) / 100
