"""Hashes as people compare them."""

from django import template

register = template.Library()


@register.filter
def grouped(code: str) -> str:
    """Groups of four: easier to read aloud and to compare."""
    return " ".join(code[start : start + 4] for start in range(0, len(code), 4))
