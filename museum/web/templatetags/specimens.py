"""The styleguide's own tags: a component as it looks, and beneath it the markup to copy."""

from typing import Any

from django import template
from django.template.loader import get_template

register = template.Library()


@register.inclusion_tag("web/_specimen.html", takes_context=True)
def specimen(context: template.Context, name: str, words: str) -> dict[str, Any]:
    """The component of web/specimens/NAME.html under a heading that says what it is."""
    chosen = get_template(f"web/specimens/{name}.html")
    given = {key: context[key] for key in context.flatten() if isinstance(key, str)}
    source = chosen.template.source  # type: ignore[attr-defined]
    return {"name": name, "words": words, "shown": chosen.render(given), "source": source.strip()}
