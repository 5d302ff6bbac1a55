"""A photograph as a drawing: its zones can be touched, its findings are numbered, as on an outline.

The space is 400 on the longer side of the upright picture; a zone's corners are in parts of its width and height.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Final

from collection.objects.outlines import INK, PATTERNS, SHEET, Mark, rings
from collection.objects.shapes import Point, middle_of

LONGEST: Final = 400.0


@dataclass(frozen=True, slots=True)
class Shape:
    """One zone as drawn: the key by which checks name it, its code, how it is spoken of, its corners."""

    key: str
    code: str
    name: str
    points: Sequence[Point]


@dataclass(frozen=True, slots=True)
class Picture:
    """A photograph with its zones: where it is fetched from, the size of the upright original."""

    address: str
    width: int
    height: int
    shapes: Sequence[Shape] = field(default_factory=tuple)

    @property
    def frame(self) -> tuple[float, float]:
        """Width and height of the drawing."""
        scale = LONGEST / max(self.width, self.height)
        return round(self.width * scale, 1), round(self.height * scale, 1)

    def place(self, point: Point) -> Point:
        """A corner in the space of the drawing."""
        wide, high = self.frame
        return round(point[0] * wide, 1), round(point[1] * high, 1)

    def place_of(self, mark: Mark) -> Point | None:
        """Where a finding's number stands: its own point, else the middle of its zone; None where the zone is not drawn here."""
        if mark.x is not None and mark.y is not None:
            return mark.x, mark.y
        shape = next((shape for shape in self.shapes if shape.key == mark.zone), None)
        return self.place(middle_of(shape.points)) if shape else None


def render_photograph(
    picture: Picture,
    *,
    title: str,
    link: Callable[[str], str] | None = None,
    state: Mapping[str, str] | None = None,
    marks: Sequence[Mark] = (),
) -> str:
    """For a page: each zone a link by its key (none: only to be seen); `state` maps key to 'on' or 'seen'."""
    parts = [PATTERNS, _image(picture)]
    for shape in picture.shapes:
        kind = (state or {}).get(shape.key, "")
        group = _zone(picture, shape, f"zone is-{kind}" if kind else "zone")
        if link:
            group = f'<a href="{escape(link(shape.key))}" aria-label="{escape(shape.code)} {escape(shape.name)}" data-swap="">{group}</a>'
        parts.append(group)
    parts += _numbers(picture, marks)
    role = "group" if link else "img"
    return _svg(picture, f' class="hg ph" role="{role}" aria-label="{escape(title)}"', parts)


def render_photograph_paper(picture: Picture, *, marks: Sequence[Mark] = ()) -> str:
    """For print: no custom properties, no links; black and white lines, so that they stand out on any ground."""
    parts = [_image(picture)]
    for shape in picture.shapes:
        line = _line(picture, shape.points)
        parts.append(f'<path fill="none" stroke="{SHEET}" stroke-width="3.4" d="{line}"/><path fill="none" stroke="{INK}" stroke-width="1.2" d="{line}"/>')
    parts += _numbers(picture, marks)
    wide, high = picture.frame
    return _svg(picture, f' width="{wide:g}" height="{high:g}"', parts)


def _svg(picture: Picture, attributes: str, parts: Sequence[str]) -> str:
    wide, high = picture.frame
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:g} {high:g}"{attributes}>{"".join(parts)}</svg>'


def _image(picture: Picture) -> str:
    wide, high = picture.frame
    return f'<image href="{escape(picture.address)}" width="{wide:g}" height="{high:g}"/>'


def _zone(picture: Picture, shape: Shape, classes: str) -> str:
    line = _line(picture, shape.points)
    x, y = picture.place(middle_of(shape.points))
    paths = "".join(f'<path class="{kind}"{width} d="{line}"/>' for kind, width in (("hit", ' stroke-width="22"'), ("a", ""), ("rim", ""), ("edge", "")))
    word = f'<text class="w" x="{x:g}" y="{y + 6:g}" text-anchor="middle">{escape(shape.code)}</text>'
    return f'<g class="{classes}" data-zone="{escape(shape.code)}">{paths}{word}</g>'


def _line(picture: Picture, points: Sequence[Point]) -> str:
    return "M" + "L".join("{:g} {:g}".format(*picture.place(point)) for point in points) + "z"


def _numbers(picture: Picture, marks: Sequence[Mark]) -> list[str]:
    placed = ((mark.number, picture.place_of(mark)) for mark in marks)
    return list(rings(((number, point) for number, point in placed if point), wide=picture.frame[0]))
