"""Marks of the house: shape first, word always, colour last."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, Final

from django import template
from django.templatetags.static import static
from django.utils import formats
from django.utils.functional import Promise
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.text import capfirst
from django.utils.translation import gettext_lazy as _

from museum.web.figures import written

register = template.Library()

GRADES: Final[tuple[Promise, ...]] = (
    _("grade 0, nothing"), _("grade 1, minor"), _("grade 2, moderate"), _("grade 3, major"),
)  # fmt: skip
ACTIVITIES: Final[tuple[Promise, ...]] = (
    _("stable"), _("activity not known"), _("active, slow"), _("active, fast"),
)  # fmt: skip
URGENCIES: Final[tuple[Promise, ...]] = (
    _("no hurry"), _("within 12 months"), _("within 3 months"), _("isolate within 24 hours"),
)  # fmt: skip
HAZARDS: Final[tuple[Promise, ...]] = (
    _("no danger known"), _("danger suspected"), _("danger likely"), _("held: nobody works on it"),
)  # fmt: skip


@register.simple_tag
def icon(name: str) -> SafeString:
    """A symbol of the sprite; the word beside it says what it means."""
    return format_html('<svg class="i" aria-hidden="true"><use href="{}#i-{}"/></svg>', static("web/icons.svg"), name)


@register.filter
def of(mapping: Mapping[str, Any] | None, key: str) -> Any:
    """The value of a mapping under a key that is itself a value; none where there is none."""
    return mapping.get(key) if mapping else None


@register.filter
def share(percent: Decimal | str | None) -> str:
    """A share in percent as people write it: no zeros behind, the point or comma of the reader's language, whichever was typed; '' for none."""
    if percent in (None, ""):
        return ""
    return formats.number_format(format(Decimal(str(percent).replace(",", ".")).normalize(), "f"))


@register.filter
def figure(value: float | str | None, most: int | None = None) -> str:
    """A figure of the program's own with the sign between thousands and the point or comma of the reader's language, at most so many decimals."""
    return written(value, most)


@register.simple_tag
def area(percent: str) -> SafeString:
    """A picture of which exactly this share is black."""
    name = str(percent).replace(".", "_")
    return format_html('<svg viewBox="0 0 100 100" aria-hidden="true"><use href="{}#area-{}"/></svg>', static("web/areas.svg"), name)


@register.simple_tag
def grade(value: int | None) -> SafeString:
    """A condition grade, 0 to 3, as dome and word; none = not looked at yet."""
    return _chip("grade", GRADES, value, unknown=_("not checked yet"))


@register.simple_tag
def activity(value: int | str | None) -> SafeString:
    """Activity, 0 to 3, as line and word; none = not known."""
    return _chip("act", ACTIVITIES, 1 if value is None else int(value))


@register.simple_tag
def activity_icon(value: int | str) -> SafeString:
    """The line of an activity alone; the word stands beside it."""
    return icon(f"act-{value}")


@register.simple_tag
def urgency(value: int | None) -> SafeString:
    """Urgency, 0 to 3, as dial and word; none = not judged yet."""
    return _chip("urg", URGENCIES, value, unknown=_("urgency not judged yet"))


@register.simple_tag
def hazard(level: int, words: str = "") -> SafeString:
    """A danger to people, 0 to 3, as sign and word, with the danger's name where it is given."""
    return _chip("haz", HAZARDS, level, words=words)


def _chip(family: str, words_of: tuple[Promise, ...], value: int | None, *, words: str = "", unknown: Promise | None = None) -> SafeString:
    if value is None:
        return format_html('<span class="chip">{}</span>', capfirst(str(unknown)))
    said = f"{words_of[value]}: {words}" if words else str(words_of[value])
    return format_html('<span class="chip chip--{}">{}{}</span>', value, icon(f"{family}-{value}"), capfirst(said))
