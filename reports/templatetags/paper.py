"""What the templates of documents need: days and instants from their JSON spelling, drawings, ticks."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django import template
from django.utils import formats, timezone
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from collection.objects.outlines import Mark, render_paper
from collection.objects.outlines.photographs import Picture, Shape, render_photograph_paper
from conservation.checks.drawing import view_words
from reports.drawn import CHART, FACE, titled

register = template.Library()


@register.filter
def day(value: str | None) -> str:
    """A day of the data in the language of the paper."""
    return formats.date_format(date.fromisoformat(value), "j F Y") if value else ""


@register.filter
def short(value: str | None) -> str:
    """The same for a narrow column."""
    return formats.date_format(date.fromisoformat(value), "j M Y") if value else ""


@register.filter
def month(value: str | None) -> str:
    """The month of a day, with its year."""
    return formats.date_format(date.fromisoformat(value), "F Y") if value else ""


@register.filter
def month_short(value: str | None) -> str:
    """The month of a day in three or four signs."""
    return formats.date_format(date.fromisoformat(value), "M") if value else ""


@register.filter
def month_year(value: str | None) -> str:
    """The same with the year."""
    return formats.date_format(date.fromisoformat(value), "M Y") if value else ""


@register.filter
def hours(minutes: int) -> str:
    """Minutes as hours, to a tenth; a dash for none."""
    return formats.number_format(round(minutes / 60, 1), 1) if minutes else "–"


@register.filter
def between(when: Mapping[str, str]) -> str:
    """The days between which a date lies, '1938 to 1942'; whole years as years; nothing where that says no more than its text."""
    first, last = when.get("earliest", ""), when.get("latest", "")
    if not first and not last:
        return ""
    if first.endswith("-01-01") and last.endswith("-12-31"):
        first, last = first[:4], last[:4]
        return "" if first == last else _("%(first)s to %(last)s") % {"first": first, "last": last}
    if not first:
        return _("until %(day)s") % {"day": day(last)}
    if not last:
        return _("from %(day)s") % {"day": day(first)}
    return day(first) if first == last else _("%(first)s to %(last)s") % {"first": day(first), "last": day(last)}


@register.filter
def instant(value: str | datetime | None) -> str:
    """An instant on the society's clock."""
    if not value:
        return ""
    at = datetime.fromisoformat(value) if isinstance(value, str) else value
    return formats.date_format(timezone.localtime(at), "j F Y, H:i")


@register.simple_tag
def outline(outline_set: str, view: dict[str, Any]) -> SafeString:
    """One view with its numbered findings."""
    marks = [Mark(mark["n"], mark["zone"], mark["x"], mark["y"]) for mark in view["marks"]]
    spoken = _("Outline drawing: %(view)s. The numbers are those of the findings.") % {"view": view["words"]}
    return titled(render_paper(outline_set, view["view"], marks=marks), spoken)


@register.simple_tag
def pictured(view: dict[str, Any]) -> SafeString:
    """A photograph with its zones and its numbered findings."""
    marks = [Mark(mark["n"], mark["zone"], mark["x"], mark["y"]) for mark in view["marks"]]
    zones = [Shape(zone["key"], zone["code"], "", zone["points"]) for zone in view["zones"]]
    picture = Picture(f"smaller:{view['sha256']}", view["width"], view["height"], zones)
    spoken = _("Photograph: %(view)s. The numbers are those of the findings.") % {"view": view["caption"] or view["view_words"] or view["ref"]}
    return titled(render_photograph_paper(picture, marks=marks), spoken)


@register.filter
def charted(svg: str) -> SafeString:
    """A chart of ours with the lines and hatchings of paper: styles of the page do not reach into a drawing."""
    head, body = svg.split(">", 1)
    # The drawing is the program's own, its words were escaped as it was drawn.
    return mark_safe(f"{head} {FACE}><style>{CHART}</style>{body}")


@register.filter
def beneath(view: dict[str, Any]) -> tuple[str, str, str]:
    """The words under a view: left and right are the wearer's."""
    return view_words(view["view"])
