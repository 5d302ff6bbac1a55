"""How codes of rules are shown."""

from django import template
from django.utils.html import format_html_join
from django.utils.safestring import SafeString

register = template.Library()


@register.filter
def spaced(code: str) -> SafeString:
    """A code that may break after its lines, so that it fits a phone."""
    parts = code.split("_")
    return format_html_join("", "{}<wbr>", [(f"{part}_" if n < len(parts) - 1 else part,) for n, part in enumerate(parts)])
