"""What stands on paper besides words: a drawing with a spoken title."""

from typing import Final

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

#: styles of the page do not reach into a drawing
FACE: Final = 'font-family="Hyperlegible, Hyperlegible Ext, DejaVu Sans, sans-serif"'

#: lines of a chart on paper: black, told apart by their strokes and hatchings, so that a copier loses nothing
CHART: Final = (
    "text{fill:#000;font-size:20px} .grid,.line,.limit,.hatch,.hatch-band,.cell,.cursor{fill:none} .grid{stroke:#bbb;stroke-width:1}"
    " .line{stroke:#000;stroke-width:1.8;stroke-linejoin:round}"
    " .line--temp{stroke-dasharray:7 3;stroke-width:1.4} .limit{stroke:#000;stroke-width:2.2;stroke-dasharray:2 5;stroke-linecap:round}"
    " .hatch{stroke:#555;stroke-width:1} .hatch-band{stroke:#999;stroke-width:1} .band{stroke:#777;stroke-width:1.5} .gap{stroke:#555;stroke-width:1}"
    " .cell{stroke:#777;stroke-width:1} .damp{fill:#555} .damp-full{fill:#000;stroke:#000;stroke-width:2} .dots{fill:#000}"
    " .at{fill:#fff;stroke:#000;stroke-width:1.6}"
)


def titled(svg: str, title: str) -> SafeString:
    """A drawing of ours that says what it shows to those who listen."""
    head, body = svg.split(">", 1)
    # The drawing is the program's own; the title is escaped here.
    return mark_safe(f"{head} {FACE}><title>{escape(title)}</title>{body}")
