"""What the pages of things need besides the marks of the house."""

from collections.abc import Iterable

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from collection.objects.dangers import DANGERS
from collection.objects.models import Photograph
from collection.objects.photos import VIEWS
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
def dangers(codes: Iterable[str]) -> str:
    """Several by their names."""
    return "; ".join(danger(code) for code in codes)


@register.filter
def get(mapping: dict[str, object], name: str) -> object:
    """A member of a mapping; nothing where there is none."""
    return (mapping or {}).get(name, "")


@register.simple_tag
def photograph_views() -> list[tuple[str, str]]:
    """The standard views, code and name."""
    return [(code, str(name)) for code, name in VIEWS.items()]


@register.filter
def seen_on(photograph: Photograph) -> str:
    """What a photograph shows, in words: its view and what was written under it."""
    view = f"{photograph.view} {VIEWS[photograph.view]}" if photograph.view in VIEWS else ""
    return ", ".join(filter(None, [view, photograph.caption]))
