"""What stands on paper besides words: a drawing with a spoken title."""

from typing import Final

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

#: styles of the page do not reach into a drawing
FACE: Final = 'font-family="Hyperlegible, Hyperlegible Ext, DejaVu Sans, sans-serif"'


def titled(svg: str, title: str) -> SafeString:
    """A drawing of ours that says what it shows to those who listen."""
    head, body = svg.split(">", 1)
    # The drawing is the program's own; the title is escaped here.
    return mark_safe(f"{head} {FACE}><title>{escape(title)}</title>{body}")
