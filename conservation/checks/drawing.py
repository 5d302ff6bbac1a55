"""The drawings of an object as its walk shows them: outline drawings, and its own photographs on which zones are drawn."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote
from uuid import UUID

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from collection.objects.drawn import DrawnView, drawn_views
from collection.objects.models import Object
from collection.objects.outlines import VIEWS, Mark, render_svg, sets
from collection.objects.outlines.photographs import Shape, render_photograph
from collection.objects.queries import Zone
from collection.objects.templatetags.things import seen_on
from collection.objects.views.drawing import picture_of
from conservation.checks.walking import Walk

#: a point in a drawing, 0 to 400 each
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class View:
    """One way to look at an object in its walk; `photograph` where it is no drawing."""

    code: str
    words: str
    photograph: UUID | None = None


def outline_of(thing: Object) -> str:
    """The drawing set of an object: its own, else its kind's; '' where its zones are drawn on its photograph."""
    chosen = thing.outline_set or thing.kind.outline_set
    return chosen if chosen in sets() else ""


def view_words(view: str) -> tuple[str, str, str]:
    """What stands under a view: left and right are the wearer's."""
    left, right = _("wearer’s left"), _("wearer’s right")
    return {
        "front": (right, _("FRONT"), left), "back": (left, _("BACK"), right), "left": (_("front"), left.upper(), _("back")),
        "right": (_("back"), right.upper(), _("front")), "top": ("", _("TOP, front above"), ""), "inside": ("", _("INSIDE, front above"), ""),
    }[view]  # fmt: skip


class Drawings:
    """The views of one object's walk, outline drawings first, and each as markup with touchable zones."""

    def __init__(self, thing: Object, walk: Walk) -> None:
        self.outline = outline_of(thing)
        self.walk = walk
        ours = {row.key for row in walk.rows}
        self.photographs = [view.only(ours) for view in drawn_views(thing, walk.notes)]

    @property
    def views(self) -> list[View]:
        """All there are, in order."""
        drawn = [View(name, _(name)) for name in VIEWS] if self.outline else []
        return [*drawn, *(View(one.code, seen_on(one.photograph) or _("photograph"), one.photograph.pk) for one in self.photographs)]

    def named(self, view: str | None) -> str:
        """The view that is meant, by its present name; the first where none such is."""
        if self.outline and view in VIEWS:
            return str(view)
        meant = next((one.code for one in self.photographs if view and one.is_named(view)), None)
        return meant or next((one.code for one in self.views), "")

    def svg(self, view: str, point: Point | None) -> SafeString:
        """The zone at hand striped, answered ones dotted, findings numbered, the one being entered at its point; '' where there is no drawing."""
        photograph = next((one for one in self.photographs if one.code == view), None)
        if photograph is not None:
            return self._photograph(photograph, point)
        return self._outline(view, point) if self.outline else SafeString("")

    def _outline(self, view: str, point: Point | None) -> SafeString:
        main = {row.zone.code: row for row in self.walk.rows if not row.zone.part}
        state = {code: "seen" for code, row in main.items() if row.answer}
        if not self.walk.at.zone.part:
            state[self.walk.at.zone.code] = "on"
        svg = render_svg(
            self.outline, view, title=_("Drawing, %(view)s; each zone is a link") % {"view": view}, names={code: row.zone.name for code, row in main.items()},
            link=lambda code, _side: _link(main[code].key, view), state=state, words=view_words(view),
            marks=self._marks(view, point, lambda key: next((code for code, row in main.items() if row.key == key), None)),
            sides={"L": _("wearer’s left"), "R": _("wearer’s right")},
        )  # fmt: skip
        # Every word in it was escaped by render_svg.
        return mark_safe(svg)

    def _photograph(self, shown: DrawnView, point: Point | None) -> SafeString:
        rows = {row.key: row for row in self.walk.rows}
        state = {key: "seen" for key, row in rows.items() if row.answer} | {self.walk.at.key: "on"}
        zones = [Shape(zone.key, zone.code, _spoken(rows[zone.key].zone), zone.points) for zone in shown.zones]
        here = {zone.key for zone in zones}
        svg = render_photograph(
            picture_of(shown.photograph, zones), title=_("Photograph, %(view)s; each zone is a link") % {"view": seen_on(shown.photograph)},
            link=lambda key: _link(key, shown.code), state=state, marks=self._marks(shown.code, point, lambda key: key if key in here else None),
        )  # fmt: skip
        # Every word in it was escaped by render_photograph.
        return mark_safe(svg)

    def _marks(self, view: str, point: Point | None, zone_of: Callable[[str], str | None]) -> Sequence[Mark]:
        """What this draft saw, numbered in the order of the walk; last, at its point, what is being entered."""
        seen = [(row.key, one) for row in self.walk.rows for one in row.seen]
        marks = [Mark(n, zone, *(point_in(one, view) or (None, None))) for n, (key, one) in enumerate(seen, start=1) if (zone := zone_of(key))]
        return [*marks, Mark(len(seen) + 1, "", *point)] if point else marks


def point_in(fields: Mapping[str, Any], view: str) -> Point | None:
    """Where a finding was pointed at, if that was in this view."""
    if fields.get("view") != view:
        return None
    try:
        x, y = float(fields["x"]), float(fields["y"])
    except (KeyError, TypeError, ValueError):
        return None
    return (x, y) if 0 <= x <= 400 and 0 <= y <= 400 else None


def _spoken(zone: Zone) -> str:
    return f"{zone.name}, {zone.part}" if zone.part else zone.name


def _link(key: str, view: str) -> str:
    return f"?zone={quote(key)}&view={quote(view)}#hand"
