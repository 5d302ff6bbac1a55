"""How codes of rules are shown."""

from django import template
from django.utils.html import format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext

from conservation.rules.book import Table
from conservation.rules.labels import about, value_words

register = template.Library()


@register.filter
def said(value: str) -> str:
    """A value that a column chooses, in the reader's words."""
    return gettext(value_words(value)) if value else "–"


@register.filter
def is_for(table: Table) -> str:
    """What a table is for, in a sentence."""
    return gettext(about(table.name))


@register.filter
def spaced(code: str) -> SafeString:
    """A code that may break after its lines, so that it fits a phone."""
    parts = code.split("_")
    return format_html_join("", "{}<wbr>", [(f"{part}_" if n < len(parts) - 1 else part,) for n, part in enumerate(parts)])
