"""The outline drawing of an object as its walk shows it."""

from urllib.parse import quote

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from collection.objects.models import Object
from collection.objects.outlines import Mark, render_svg, sets
from conservation.checks.walking import Walk


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


def drawing_of(thing: Object, walk: Walk, view: str) -> SafeString:
    """One view with touchable zones, the one at hand striped, answered ones dotted; '' where there is no drawing."""
    chosen = outline_of(thing)
    if not chosen:
        return SafeString("")
    main = {row.zone.code: row for row in walk.rows if not row.zone.part}
    state = {code: "seen" for code, row in main.items() if row.answer}
    if not walk.at.zone.part:
        state[walk.at.zone.code] = "on"
    marks = [Mark(n, row.zone.code) for n, row in enumerate((row for row in walk.rows for _one in row.seen if not row.zone.part), start=1)]
    svg = render_svg(
        chosen, view, title=_("Drawing, %(view)s; each zone is a link") % {"view": view}, names={code: row.zone.name for code, row in main.items()},
        link=lambda code, _side: f"?zone={quote(main[code].key)}&view={view}#hand", state=state, marks=marks, words=view_words(view),
        sides={"L": _("wearer’s left"), "R": _("wearer’s right")},
    )  # fmt: skip
    # Every word in it was escaped by render_svg.
    return mark_safe(svg)
