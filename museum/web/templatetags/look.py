"""Marks of the house: shape first, word always, colour last."""

from typing import Final

from django import template
from django.templatetags.static import static
from django.utils.functional import Promise
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy as _

register = template.Library()

GRADES: Final[tuple[Promise, ...]] = (_("nothing"), _("minor"), _("moderate"), _("major"))
ACTIVITIES: Final[tuple[Promise, ...]] = (_("stable"), _("not known"), _("active, slow"), _("active, fast"))
URGENCIES: Final[tuple[Promise, ...]] = (_("no hurry"), _("within 12 months"), _("within 3 months"), _("now"))
HAZARDS: Final[tuple[Promise, ...]] = (_("no danger known"), _("suspected danger"), _("likely danger"), _("held: danger"))


@register.simple_tag
def icon(name: str) -> SafeString:
    """A symbol of the sprite; the word beside it says what it means."""
    return format_html('<svg class="i" aria-hidden="true"><use href="{}#i-{}"/></svg>', static("web/icons.svg"), name)


@register.simple_tag
def area(percent: str) -> SafeString:
    """A picture of which exactly this share is black."""
    name = str(percent).replace(".", "_")
    return format_html('<svg viewBox="0 0 100 100" aria-hidden="true"><use href="{}#area-{}"/></svg>', static("web/areas.svg"), name)


@register.simple_tag
def grade(value: int | None) -> SafeString:
    """A condition grade, 0 to 3, as dome and word; none = not looked at yet."""
    if value is None:
        return format_html('<span class="chip">{}</span>', _("not checked yet"))
    return format_html('<span class="chip chip--grade">{} {} {}, {}</span>', icon(f"grade-{value}"), _("grade"), value, GRADES[value])


@register.simple_tag
def activity(value: int) -> SafeString:
    """Activity, 0 to 3, as line and word."""
    return format_html('<span class="chip">{} {}</span>', icon(f"act-{int(value)}"), ACTIVITIES[int(value)])


@register.simple_tag
def activity_icon(value: int) -> SafeString:
    """The line of an activity alone; the word stands beside it."""
    return icon(f"act-{int(value)}")


@register.simple_tag
def urgency(value: int | None) -> SafeString:
    """Urgency, 0 to 3, as dial and word."""
    level = value or 0
    return format_html('<span class="chip chip--{}">{} {}</span>', level, icon(f"urg-{level}"), URGENCIES[level])


@register.simple_tag
def hazard(level: int, words: str = "") -> SafeString:
    """A danger to people, 0 to 3, as sign and word."""
    return format_html('<span class="chip chip--{}">{} {}{}</span>', level, icon(f"haz-{level}"), HAZARDS[level], f": {words}" if words else "")
