"""One finding on one drawing: where it was pointed at, else in the middle of its zone."""

from typing import Any, Final
from uuid import UUID

from django.utils.translation import gettext as _

from collection.objects.drawn import DrawnView, drawn_views
from collection.objects.models import Component, Object
from collection.objects.outlines import VIEWS, middle_of, zones_in
from conservation.checks.drawing import outline_of
from conservation.checks.models import Finding
from reports.documents import common

#: the view that a side is best seen in
BEST: Final = {"F": "front", "B": "back", "L": "left", "R": "right", "T": "top", "U": "inside"}


def pointed(thing: Object, component_id: UUID, zone: str, finding: Finding | None) -> dict[str, Any]:
    """The set of drawings and at most one view of it, or one photograph, with a ring for the finding; neither where nothing shows the zone."""
    photographs, key = drawn_views(thing), f"{component_id}/{zone}"
    touched = next((one for one in photographs if finding is not None and finding.x is not None and one.is_named(finding.view)), None)
    if touched is None:
        chosen = outline_of(thing)
        drawn = _drawn(chosen, zone, finding) if chosen and Component.objects.filter(pk=component_id, sort="main").exists() else []
        if drawn:
            return {"set": chosen, "views": drawn, "photographs": []}
        touched = next((one for one in photographs if any(row.key == key for row in one.zones)), None)
    return {"set": "", "views": [], "photographs": [_photograph(touched, key, finding)] if touched else []}


def _drawn(chosen: str, zone: str, finding: Finding | None) -> list[dict[str, Any]]:
    wanted = [finding.view, BEST.get(finding.side, ""), *VIEWS] if finding else VIEWS
    view = next((one for one in wanted if one in VIEWS and zone in zones_in(chosen, one)), None)
    if view is None:
        return []
    words = dict(zip(VIEWS, (_("front"), _("back"), _("wearer’s left"), _("wearer’s right"), _("top"), _("inside")), strict=True))
    here = finding is not None and finding.view == view and finding.x is not None
    x, y = (finding.x, finding.y) if finding and here else middle_of(chosen, view, zone) or (200, 200)
    return [{"view": view, "words": words[view], "marks": [{"n": 1, "zone": zone, "x": x, "y": y}]}]


def _photograph(view: DrawnView, key: str, finding: Finding | None) -> dict[str, Any]:
    picture, here = view.photograph, finding is not None and finding.x is not None and view.is_named(finding.view)
    x, y = (finding.x, finding.y) if finding and here else (None, None)
    shapes = [{"key": zone.key, "code": zone.code, "points": [list(point) for point in zone.points]} for zone in view.zones]
    marks = [{"n": 1, "zone": key, "x": x, "y": y}]
    return common.picture(picture, picture.view) | {"width": picture.width, "height": picture.height, "zones": shapes, "marks": marks}
