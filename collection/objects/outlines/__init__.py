"""Outline drawings: a set for each kind of headgear, six views each, whose zones can be touched. Free of the framework.

A set is a JSON file beside this module: per view a silhouette, zones (code, wearer's side, middle, paths) and
further lines, in a space of 400 x 400. The drawings are the project's own. `PT` (paint as a layer) has no shape:
offer it in the list.
"""

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from html import escape
from pathlib import Path
from typing import Any, Final

SETS_FOLDER: Final = Path(__file__).parent / "sets"
VIEWS: Final = ("front", "back", "left", "right", "top", "inside")
#: paper has no custom properties: what the classes of the page's style mean there
PAPER: Final[Mapping[str, str]] = {
    "sil": 'fill="#17212a" stroke="#17212a" stroke-width="5.4"',
    "a": 'fill="#fdfdfa" fill-rule="evenodd" stroke="#17212a" stroke-width="1.7"',
    "a dk": 'fill="#e3e5de" fill-rule="evenodd" stroke="#17212a" stroke-width="1.7"',
    "k": 'fill="#17212a" stroke="#17212a" stroke-width=".6"',
    "s": 'fill="none" stroke="#17212a" stroke-width="1.05" stroke-dasharray="3.4 2.6"',
}
PAPER_LINE: Final = 'fill="none" stroke="#17212a" stroke-width="1"'


@dataclass(frozen=True, slots=True)
class Mark:
    """A numbered finding: at a point of the view, or in the middle of its zone."""

    number: int
    zone: str
    x: float | None = None
    y: float | None = None


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


def middle_of(set_code: str, view: str, zone: str) -> tuple[float, float] | None:
    """Where a number of this zone stands in a view; None where the view does not show it."""
    found = next((row["at"] for row in _load(set_code)[view]["zones"] if row["code"] == zone), None)
    return (found[0], found[1]) if found else None


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
) -> str:
    """The drawing as SVG markup for a page. Raises KeyError for an unknown set or view.

    `names` are the local zone names; `link(code, side)` makes each zone a link (none: not to be touched);
    `state` maps zone code to 'on' or 'seen'; `words` stand under the drawing (wearer's left and right).
    """
    drawing = _load(set_code)[view]
    known = state or {}
    parts = [_path("sil", "", drawing["sil"])]
    for zone in drawing["zones"]:
        code, side = zone["code"], zone["side"]
        body = "".join(_path(*path) for path in zone["paths"])
        classes = f"zone is-{known[code]}" if code in known else "zone"
        name = escape(f"{code} {names.get(code, code)}")
        group = f'<g class="{classes}" data-zone="{code}" data-side="{side}">{body}</g>'
        parts.append(f'<a href="{escape(link(code, side))}" aria-label="{name}" data-swap>{group}</a>' if link and code in names else group)
    parts += [_path(*line) for line in drawing["lines"]]
    parts += [_mark(mark, drawing["zones"]) for mark in marks]
    parts += _words(words)
    role = "group" if link else "img"
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 400 400" class="hg" role="{role}" aria-label="{escape(title)}">{"".join(parts)}</svg>'


def render_paper(set_code: str, view: str, *, marks: Sequence[Mark] = (), words: Sequence[str] = ()) -> str:
    """The drawing for print: no custom properties, no links. Raises KeyError for an unknown set or view."""
    drawing = _load(set_code)[view]
    parts = [_paper_path("sil", drawing["sil"])]
    for zone in drawing["zones"]:
        parts += [_paper_path(classes, d) for classes, _width, d in zone["paths"] if classes != "hit"]
    parts += [_paper_path(classes, d) for classes, _width, d in drawing["lines"]]
    parts += [_mark(mark, drawing["zones"]) for mark in marks]
    parts += _words(words)
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 400 400">{"".join(parts)}</svg>'


def _path(classes: str, width: str, d: str) -> str:
    stroke = f' stroke-width="{width}"' if width else ""
    return f'<path class="{classes}"{stroke} d="{d}"/>'


def _paper_path(classes: str, d: str) -> str:
    return f'<path {PAPER.get(classes, PAPER_LINE)} d="{d}"/>'


def _mark(mark: Mark, zones: Sequence[Mapping[str, Any]]) -> str:
    """A ring with the number; nothing where the view does not show the zone."""
    middle = next((zone["at"] for zone in zones if zone["code"] == mark.zone), None)
    if mark.x is not None and mark.y is not None:
        middle = [mark.x, mark.y]
    if middle is None:
        return ""
    x, y = middle
    return (
        f'<circle class="ring" cx="{x}" cy="{y}" r="13" fill="#fff" stroke="#8e2c1a" stroke-width="2.5"/>'
        f'<text class="ring-n" x="{x}" y="{y + 6}" text-anchor="middle" font-size="17" font-weight="700" fill="#8e2c1a">{mark.number}</text>'
    )


def _words(words: Sequence[str]) -> list[str]:
    """Up to three words under the drawing: left, middle, right."""
    places = ((6, "start"), (200, "middle"), (394, "end"))
    return [
        f'<text x="{x}" y="393" text-anchor="{anchor}" font-size="17" fill="#4a5862">{escape(word)}</text>'
        for word, (x, anchor) in zip(words, places, strict=False)
        if word
    ]
