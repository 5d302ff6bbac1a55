"""Outline drawings: a set for each kind of headgear, six views each, whose zones can be touched. Free of the framework.

A set is a JSON file beside this module, per view in a space of 400 x 400:

    sil     the silhouette beneath everything
    zones   in painting order, one row a shape: code, side (the wearer's, L, R or none), at (a point well inside what is
            seen of it), room (how far that is from its edge; 0 where the shape is covered), paths (class, width, d)
    lines   what is drawn over the zones

Classes: a = area, a dk = area in shade, hit = invisible rim that makes a small shape easy to touch, s = seam,
k = ink, l f h d = lines from firm to faint. `PT` (paint as a layer) has no shape: offer it in the list.
The drawings are the project's own, under its licence.
"""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from html import escape
from pathlib import Path
from typing import Any, Final

SETS_FOLDER: Final = Path(__file__).parent / "sets"
VIEWS: Final = ("front", "back", "left", "right", "top", "inside")
INK, SHEET, SHADE, WORDS, OXIDE = "#17212a", "#fdfdfa", "#e3e5de", "#4a5862", "#8e2c1a"
#: paper has no custom properties: what the classes of the page's style mean there
PAPER: Final[Mapping[str, str]] = {
    "sil": f'fill="{INK}" stroke="{INK}" stroke-width="5.4"',
    "a": f'fill="{SHEET}" fill-rule="evenodd" stroke="{INK}" stroke-width="1.7"',
    "a dk": f'fill="{SHADE}" fill-rule="evenodd" stroke="{INK}" stroke-width="1.7"',
    "k": f'fill="{INK}" stroke="{INK}" stroke-width=".6"',
    "s": f'fill="none" stroke="{INK}" stroke-width="1.05" stroke-dasharray="3.4 2.6"',
}
PAPER_LINE: Final = f'fill="none" stroke="{INK}" stroke-width="1"'
#: the fills of zones at hand and of zones answered; their colours come from the page's style
PATTERNS: Final = (
    '<defs><pattern id="zone-on" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<rect class="zone-ground-on" width="7" height="7"/><rect class="zone-stripe" width="1.3" height="7"/></pattern>'
    '<pattern id="zone-seen" width="8" height="8" patternUnits="userSpaceOnUse">'
    '<rect class="zone-ground-seen" width="8" height="8"/><circle class="zone-dot" cx="4" cy="4" r="1.3"/></pattern>'
    "</defs>"
)
RING: Final = 13
#: numbers nearer to each other than this would cover one another
APART: Final = 2 * RING + 2


@dataclass(frozen=True, slots=True)
class Mark:
    """A numbered finding: at a point of the view, or inside its zone (on the wearer's side, where one is named)."""

    number: int
    zone: str
    x: float | None = None
    y: float | None = None
    side: str = ""


@cache
def sets() -> Sequence[str]:
    """The codes of the sets there are."""
    return sorted(path.stem for path in SETS_FOLDER.glob("*.json"))


@cache
def _load(set_code: str) -> Mapping[str, Any]:
    if set_code not in sets():
        raise KeyError(set_code)
    loaded: Mapping[str, Any] = json.loads((SETS_FOLDER / f"{set_code}.json").read_text(encoding="utf-8"))
    return loaded


def zones_in(set_code: str, view: str) -> Sequence[str]:
    """The zone codes that a view shows, each once. Raises KeyError for an unknown set or view."""
    return list(dict.fromkeys(zone["code"] for zone in _load(set_code)[view]["zones"]))


def middle_of(set_code: str, view: str, zone: str, side: str = "") -> tuple[float, float] | None:
    """Where a number of this zone stands in a view; None where the view does not show it.

    Of several shapes the roomiest, of those in the light if there are any that show: a number in the shade would say
    the underside.
    """
    rows = [row for row in _load(set_code)[view]["zones"] if row["code"] == zone]
    rows = [row for row in rows if row["side"] == side] or rows
    if not rows:
        return None
    x, y = max(rows, key=lambda row: (_lit(row) and float(row["room"]) > 0, float(row["room"])))["at"]
    return x, y


def _lit(row: Mapping[str, Any]) -> bool:
    return any(path[0] == "a" for path in row["paths"])


def render_svg(
    set_code: str,
    view: str,
    *,
    title: str,
    names: Mapping[str, str],
    link: Callable[[str, str], str] | None = None,
    state: Mapping[str, str] | None = None,
    marks: Sequence[Mark] = (),
    words: Sequence[str] = (),
    sides: Mapping[str, str] | None = None,
) -> str:
    """The drawing as SVG markup for a page. Raises KeyError for an unknown set or view.

    `names` are the local zone names; `link(code, side)` makes each named zone a link (none: not to be touched);
    `state` maps zone code to 'on' or 'seen'; `words` stand under the drawing (wearer's left and right); `sides` says
    'L' and 'R' in words, which tell the links of a pair apart. One touchable drawing to a page: its patterns have ids.
    """
    drawing = _load(set_code)[view]
    parts = [PATTERNS if link else "", _path("sil", "", drawing["sil"])]
    met: set[tuple[str, str]] = set()
    for zone in drawing["zones"]:
        key = zone["code"], zone["side"]
        group = _zone(zone, state or {})
        if link and zone["code"] in names:
            name = _spoken(*key, names, sides or {})
            # Of several shapes of one zone the keyboard stops at the first only.
            rest = ' tabindex="-1"' if key in met else ""
            group = f'<a href="{escape(link(*key))}" aria-label="{escape(name)}"{rest} data-swap="">{group}</a>'
        met.add(key)
        parts.append(group)
    parts += [_path(*line) for line in drawing["lines"]]
    parts += _marks(set_code, view, marks)
    parts += _words(words)
    role = "group" if link else "img"
    return _svg(f' class="hg" role="{role}" aria-label="{escape(title)}"', parts)


def render_paper(set_code: str, view: str, *, marks: Sequence[Mark] = (), words: Sequence[str] = ()) -> str:
    """The drawing for print: no custom properties, no links. Raises KeyError for an unknown set or view."""
    drawing = _load(set_code)[view]
    paths = [drawing_path for zone in drawing["zones"] for drawing_path in zone["paths"] if drawing_path[0] != "hit"]
    parts = [_paper_path(classes, d) for classes, _width, d in (["sil", "", drawing["sil"]], *paths, *drawing["lines"])]
    parts += _marks(set_code, view, marks)
    parts += _words(words)
    return _svg("", parts)


def _svg(attributes: str, parts: Sequence[str]) -> str:
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 400 400"{attributes}>{"".join(parts)}</svg>'


def _zone(zone: Mapping[str, Any], state: Mapping[str, str]) -> str:
    code, side = zone["code"], zone["side"]
    classes = f"zone is-{state[code]}" if code in state else "zone"
    body = "".join(_path(*path) for path in zone["paths"])
    return f'<g class="{classes}" data-zone="{code}" data-side="{side}">{body}</g>'


def _spoken(code: str, side: str, names: Mapping[str, str], sides: Mapping[str, str]) -> str:
    said = f"{code} {names[code]}"
    return f"{said}, {sides[side]}" if side in sides else said


def _path(classes: str, width: str, d: str) -> str:
    stroke = f' stroke-width="{width}"' if width else ""
    return f'<path class="{classes}"{stroke} d="{d}"/>'


def _paper_path(classes: str, d: str) -> str:
    return f'<path {PAPER.get(classes, PAPER_LINE)} d="{d}"/>'


def _marks(set_code: str, view: str, marks: Sequence[Mark]) -> Iterator[str]:
    """A ring with its number for each finding that the view shows."""
    points = ((mark.number, _point_of(mark) or middle_of(set_code, view, mark.zone, mark.side)) for mark in marks)
    return rings((number, point) for number, point in points if point)


def _point_of(mark: Mark) -> tuple[float, float] | None:
    return (mark.x, mark.y) if mark.x is not None and mark.y is not None else None


def rings(numbered: Iterable[tuple[int, tuple[float, float]]], *, wide: float = 400) -> Iterator[str]:
    """A ring with its number at each point, none upon another, in a drawing so wide."""
    taken: list[tuple[float, float]] = []
    for number, point in numbered:
        x, y = _free(point, taken, wide)
        taken.append((x, y))
        yield (
            f'<circle class="mark-ring" cx="{x:g}" cy="{y:g}" r="{RING}" fill="#fff" stroke="{OXIDE}"'
            ' stroke-width="2.5"/>'
            f'<text class="mark-num" x="{x:g}" y="{y + 6:g}" text-anchor="middle" font-size="17" font-weight="700"'
            f' fill="{OXIDE}">{number}</text>'
        )


def _free(point: tuple[float, float], taken: Sequence[tuple[float, float]], wide: float) -> tuple[float, float]:
    """The point, moved to the right, then to the next line, until no number stands there."""
    x, y = point
    while any(abs(x - other[0]) < APART and abs(y - other[1]) < APART for other in taken):
        x += APART
        if x > wide - RING:
            x, y = point[0] % APART + RING, y + APART
    return x, y


def _words(words: Sequence[str]) -> list[str]:
    """Up to three words under the drawing: left, middle, right."""
    places = ((6, "start"), (200, "middle"), (394, "end"))
    return [
        f'<text x="{x}" y="393" text-anchor="{anchor}" font-size="17" fill="{WORDS}">{escape(word)}</text>'
        for word, (x, anchor) in zip(words, places, strict=False)
        if word
    ]
