"""What a thing lived through, month by month, beneath its checks and moves; and how much of a year's light it has used."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from locations.climate.charts.drawing import Said, Scale, box, figure, line, path, svg, text

LEFT, RIGHT, WIDTH = 56.0, 1108.0, 1120
HIGHEST_INDEX: Final = 6.0


@dataclass(frozen=True, slots=True)
class Month:
    """Its first day, hours above the damp limit, hours unknown, mould index at its end."""

    first: date
    damp: int
    unknown: int
    mould: float


@dataclass(frozen=True, slots=True)
class Happened:
    """`looked`: somebody checked it, else it was moved."""

    on: date
    looked: bool


def course(said: Said, months: Sequence[Month], happened: Sequence[Happened], words: dict[str, str]) -> str:
    """Squares for checks and lozenges for moves, beneath them the damp hours of each month as bars, unknown hours hatched, the mould index as a line."""
    first, n = months[0].first, len(months)
    x, hours, index = Scale(0, n, LEFT, RIGHT), Scale(0, 744, 280, 90), Scale(0, HIGHEST_INDEX, 390, 310)
    wide = (RIGHT - LEFT) / n
    damp = "".join(box(x(i) + 0.15 * wide, hours(m.damp), 0.7 * wide, 280 - hours(m.damp)) for i, m in enumerate(months) if m.damp)
    gap = "".join(box(x(i), 90, wide, hours(744 - m.unknown) - 90) for i, m in enumerate(months) if m.unknown)
    mould = line([(x(i + 1), index(m.mould)) for i, m in enumerate(months)])
    grid = path(f"M56 90H1108M56 185H1108M56 280H1108M56 310H1108M56 {figure(index(3))}H1108M56 390H1108", "grid")
    labels = [
        text(48, y + 5, words_, anchor="end", kind="num-t") for y, words_ in ((90, "744"), (185, "372"), (280, "0"), (310, "6"), (index(3), "3"), (390, "0"))
    ]
    inside = [grid, path(gap, "gap", fill=f"url(#{said.key}-gap)"), path(damp, "damp"), path(mould, "line"), *labels, *_months(months, x)]
    inside += [_marks(happened, first, x), text(56, 22, words["time"]), text(56, 82, words["damp"]), text(56, 304, words["mould"])]
    return svg(said, WIDTH, 424, *inside)


def _months(months: Sequence[Month], x: Scale) -> list[str]:
    every = max(1, -(-len(months) // 12))
    return [text(x(i) + 2, 412, f"{month.first:%m/%Y}", kind="num-t") for i, month in enumerate(months) if i % every == 0]


def _marks(happened: Sequence[Happened], first: date, x: Scale) -> str:
    looked = moved = ""
    for one in happened:
        at = (one.on.year - first.year) * 12 + one.on.month - first.month + (one.on.day - 1) / 31
        if x.low <= at <= x.high:
            place = x(at)
            looked += box(place - 7, 36, 14, 14) if one.looked else ""
            moved += "" if one.looked else f"M{figure(place)} 35l8 8l-8 8l-8-8z"
    return path(looked, "at") + path(moved, "damp")


def budget(said: Said, used: float, unknown: float, words: str) -> str:
    """A bar of a year's light: the filled part is used, at least; hatched behind it what nobody measured of the year. Shares in %."""
    x = Scale(0, max(125.0, used), 10, 620)
    bar = path(box(10, 30, x(used) - 10, 30), "damp" if used <= 100 else "damp-full")
    hidden = path(box(x(used), 30, min(x(unknown + used), 620.0) - x(used), 30) if unknown >= 1 and x(used) < 619 else "", "gap", fill=f"url(#{said.key}-gap)")
    return svg(
        said,
        640,
        90,
        hidden,
        bar,
        path(box(10, 30, 610, 30), "frame-line"),
        path(f"M{figure(x(100))} 20V68", "limit"),
        text(x(100), 84, words, anchor="middle"),
    )
