"""What the pages of treatment need besides the marks of the house."""

from django import template
from django.utils.translation import gettext

from collection.objects.queries import zone_names
from conservation.rules.treatment_book import treatment_rules_in_force

register = template.Library()


@register.filter
def zone_words(code: str) -> str:
    """A zone by its general name, where there is one; its code stands beside it."""
    return zone_names().get(code, "")


@register.filter
def step_words(code: str) -> str:
    """What a step of the tables is for, in its own few words."""
    step = treatment_rules_in_force().steps.get(code)
    return gettext(step.problem) if step and step.problem else ""
