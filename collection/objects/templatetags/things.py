"""What the pages of things need besides the marks of the house."""

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from collection.objects.dangers import DANGERS
from museum.ids import uuid7

register = template.Library()


@register.simple_tag
def act_key() -> SafeString:
    """The key of the act that a form asks for: sent twice, it is carried out once."""
    return format_html('<input type="hidden" name="act" value="{}">', uuid7())


@register.filter
def danger(code: str) -> str:
    """A danger by its name."""
    return str(DANGERS.get(code, code))


@register.filter
def get(mapping: dict[str, object], name: str) -> object:
    """A member of a mapping; nothing where there is none."""
    return (mapping or {}).get(name, "")
