"""What the stylesheets and the templates say, read as text: for tests."""

import re
from pathlib import Path
from typing import Final

ROOT: Final = Path(__file__).parent.parent.parent
STATIC: Final = ROOT / "museum" / "web" / "static" / "web"
PARTS: Final = ("museum", "collection", "conservation", "locations")


def templates() -> list[Path]:
    """The templates of pages; papers have a style of their own."""
    return [path for part in PARTS for path in sorted((ROOT / part).glob("**/templates/**/*.html"))]


def used_classes(text: str) -> set[str]:
    """The classes a template names; those put together from values are left out."""
    found: set[str] = set()
    for value in re.findall(r'class="((?:[^"{]|\{%.*?%\}|\{\{.*?\}\})*)"', text):
        plain = re.sub(r"\{%.*?%\}", " ", re.sub(r"\S*\{\{.*?\}\}\S*", " ", value))
        found |= set(plain.split())
    return found


def defined_classes(*files: str) -> set[str]:
    """The classes that stylesheets have rules for."""
    text = "".join((STATIC / name).read_text(encoding="utf-8") for name in files)
    return set(re.findall(r"\.([a-zA-Z][\w-]*)(?=[^{}]*\{)", re.sub(r"/\*.*?\*/", "", text, flags=re.S)))


def colours(theme: str) -> dict[str, str]:
    """The colours of the light or the dark dress."""
    text = (STATIC / "tokens.css").read_text(encoding="utf-8")
    start = text.index(":root {") if theme == "light" else text.index(':root[data-theme="dark"]')
    block = text[start : text.index("}", start)]
    return dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", block))


def contrast(one: str, other: str) -> float:
    """The ratio of two colours, 1 to 21 (WCAG 2.2, relative luminance)."""
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    channels = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
