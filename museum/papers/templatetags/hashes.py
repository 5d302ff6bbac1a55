"""Hashes as people compare them."""

from django import template

register = template.Library()


@register.filter
def groups(code: str) -> list[str]:
    """Groups of four: easier to read aloud and to compare."""
    return [code[start : start + 4] for start in range(0, len(code), 4)]


def grouped(code: str) -> str:
    """The groups as one text."""
    return " ".join(groups(code))
