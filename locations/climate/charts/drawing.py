"""Parts of an SVG drawing: elements with classes and geometry, never a style; titles, descriptions, hatching."""

from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

Point = tuple[float, float]


def tag(name: str, *inside: str, **attributes: object) -> str:
    """An element; `class_` and `for_` lose their underline, others turn theirs into a dash."""
    said = "".join(f' {key.rstrip("_").replace("_", "-")}="{escape(str(value))}"' for key, value in attributes.items() if value is not None)
    return f"<{name}{said}>{''.join(inside)}</{name}>" if inside else f"<{name}{said}/>"


def text(x: float, y: float, words: str, *, anchor: str | None = None, kind: str | None = None) -> str:
    """Words at a point."""
    return tag("text", escape(words), x=figure(x), y=figure(y), text_anchor=anchor, class_=kind)


def figure(value: float) -> str:
    """A number as short as a tenth of a unit allows."""
    return f"{value:.1f}".removesuffix(".0")


def line(points: Iterable[Point]) -> str:
    """A stroke through points; a lone point is a dot of the pen."""
    said = [f"{figure(x)} {figure(y)}" for x, y in points]
    return f"M{'L'.join(said)}" if len(said) > 1 else f"M{said[0]}h.1"


def box(x: float, y: float, width: float, height: float) -> str:
    """A rectangle as part of a path, so that hundreds are one element."""
    return f"M{figure(x)} {figure(y)}h{figure(width)}v{figure(height)}h-{figure(width)}z"


def path(data: str, kind: str, **more: object) -> str:
    """A path, or nothing where there is none to draw."""
    return tag("path", d=data, class_=kind, **more) if data else ""


@dataclass(frozen=True, slots=True)
class Scale:
    """From values `low`..`high` to places `begin`..`end` of the drawing."""

    low: float
    high: float
    begin: float
    end: float

    def __call__(self, value: float) -> float:
        return self.begin + (value - self.low) * (self.end - self.begin) / (self.high - self.low)


@dataclass(frozen=True, slots=True)
class Said:
    """What a drawing says of itself to those who do not see it. `key` is unlike any other on the page."""

    key: str
    title: str
    text: str
    kind: str = "chart"


def hatch(key: str, kind: str, crossed: bool) -> str:
    """Hatching: crossed for what is not known, one way for a band."""
    data = "M0 0L8 8M8 0L0 8" if crossed else "M0 8L8 0"
    return tag("pattern", path(data, kind), id=key, width=8, height=8, patternUnits="userSpaceOnUse")


def svg(said: Said, width: float, height: float, *inside: str, **more: object) -> str:
    """The whole drawing, with its title, its description and the two hatchings."""
    head = tag("title", escape(said.title), id=f"{said.key}-t") + tag("desc", escape(said.text), id=f"{said.key}-d")
    patterns = tag("defs", hatch(f"{said.key}-gap", "hatch", crossed=True), hatch(f"{said.key}-band", "hatch-band", crossed=False))
    return tag(
        "svg", head, patterns, *inside, class_=said.kind, viewBox=f"0 0 {figure(width)} {figure(height)}", role="img",
        aria_labelledby=f"{said.key}-t", aria_describedby=f"{said.key}-d", **more,
    )  # fmt: skip


def steps(low: float, high: float, about: int) -> list[float]:
    """Round values from low to high, about so many."""
    rough = max((high - low) / about, 1e-9)
    size = next((one for one in (0.5, 1, 2, 5, 10, 20, 50, 100) if one >= rough), 200)
    first = -(-low // size) * size
    return [first + n * size for n in range(int((high - first) / size + 1e-9) + 1)]
