"""What the pages of treatment need besides the marks of the house."""

from collections.abc import Mapping, Sequence

from django import template
from django.utils.translation import gettext

from conservation.rules.guidance import Guided
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments.models import Approval, Proposal, Work
from conservation.treatments.wording import told_in

register = template.Library()


@register.filter
def zone_words(row: Proposal | Approval | Work, names: Mapping[str, str]) -> str:
    """Where it is, by the names that the page asked for at once (`zones_in`); the bare code where nothing is known."""
    return names.get(row.zone_key) or row.zone


@register.filter
def step_words(code: str) -> str:
    """What a step of the tables is for, in its own few words."""
    step = treatment_rules_in_force().steps.get(code)
    return gettext(step.problem) if step and step.problem else ""


@register.filter
def told(text: str | Sequence[str]) -> str | list[str]:
    """A text of the tables, or several, in the reader's language. Not by the tag 'translate', which looks for no text with a sign of percent."""
    return told_in(text) if isinstance(text, str) else [told_in(one) for one in text]


@register.filter
def besides(guided: Guided, cautions: str) -> Sequence[str]:
    """What protects at a step and is not said by its cautions."""
    return guided.besides(cautions)
