"""What the pages of treatment need besides the marks of the house."""

from django import template

from collection.objects.queries import zone_names

register = template.Library()


@register.filter
def zone_words(code: str) -> str:
    """A zone by its general name, where there is one; its code stands beside it."""
    return zone_names().get(code, "")
