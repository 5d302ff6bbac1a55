"""The condition report of one check: the contents that EN 16095 expects (conservation framework for movable
heritage): identification, owner, place, date, examiner, reason, method and limits, description, condition
with place and images, earlier treatments, cause if known, risk, recommendations, signatures."""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any, Final
from uuid import UUID

from django.urls import reverse
from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from collection.objects.drawn import DrawnView, drawn_views
from collection.objects.models import Object, Photograph
from collection.objects.outlines import VIEWS, middle_of, zones_in
from collection.objects.queries import Zone, material_words, photographs_of, zones_of
from conservation.checks.drawing import outline_of
from conservation.checks.models import ConditionCheck, Observation
from conservation.checks.queries import checks_in_force, looks_of
from conservation.checks.standing import standing
from conservation.checks.vocabulary import SIDES, term_words
from locations.places.queries import where_is, words_of
from museum.errors import DomainError, NotFound
from museum.people.actor import Actor
from reports.documents import common, judged
from reports.registry import Gathered, document

#: the views of a whole object, in the order of the standard set; details follow under their findings
WHOLE_VIEWS: Final = tuple(f"V{n:02}" for n in range(1, 13))
#: more photographs of one finding than this belong in the file, not on the report
MOST_DETAILS: Final = 3


class NotChecked(DomainError):
    """No check, no report."""

    code = "not_checked"
    template = gettext_lazy("Nobody has checked this object yet. Check it first; then the report can be issued.")


@document("condition_report", title=gettext_lazy("Condition report"), version="1", permission="paper.issue")
def condition_report(subject: UUID, actor: Actor) -> Gathered:
    """Of a check by its key, or of an object's latest check that looked at zones."""
    thing, check = _subject(subject, actor)
    checks = _up_to(check)
    zones = zones_of(thing)
    rows = _rows(checks, check, zones)
    details = {row.finding_id: list(photographs_of("finding", row.finding_id)[:MOST_DETAILS]) for row in rows}
    findings = [_finding(n, row, check, zones, details) for n, row in enumerate(rows, start=1)]
    said = common.statements_of(thing)
    data = {
        "object": common.heading(thing) | {"kind": thing.kind.code},
        "description": common.texts_of(said, "description"), "measures": common.texts_of(said, "dimensions"),
        "parts": common.parts_of(thing), "check": _check(check), "place": _place(thing, check),
        "dangers": common.dangers(thing),
        "zones": _zones(check, zones), "findings": findings, "drawings": _drawings(thing, zones, rows, findings),
        "judgement": judged.judgement(check, zones), "earlier": common.texts_of(said, "earlier_treatment"),
        "advice": judged.advice(rows), "next": judged.next_looks(thing),
        "pictures": _pictures(thing, check, rows, details),
    }  # fmt: skip
    title = _("Condition report, %(number)s %(name)s, %(day)s") % {
        "number": thing.card.number, "name": thing.card.name, "day": formats.date_format(check.happened_on, "j F Y"),
    }  # fmt: skip
    return Gathered(data, title.replace("  ", " "), reverse("checks:result", args=[check.pk]), [("object", thing.pk)])


def _subject(subject: UUID, actor: Actor) -> tuple[Object, ConditionCheck]:
    rows = ConditionCheck.objects.select_related("author")
    check = rows.filter(pk=subject).first()
    if check is not None:
        return common.object_for(actor, check.object_id), check
    thing = common.object_for(actor, subject)
    whole = next((one for one in reversed(checks_in_force(thing.pk)) if one.sort != ConditionCheck.Sort.QUICK), None)
    if whole is None:
        raise NotChecked
    return thing, whole


def _up_to(check: ConditionCheck) -> list[ConditionCheck]:
    """The checks in force up to this one."""
    found: list[ConditionCheck] = []
    for row in checks_in_force(check.object_id):
        found.append(row)
        if row.pk == check.pk:
            return found
    raise NotFound


def _rows(checks: Sequence[ConditionCheck], check: ConditionCheck, zones: Sequence[Zone]) -> list[Observation]:
    """What this check saw, and what stands from earlier ones where it could not look; in the order of a walk."""
    here = next(row for row in checks if row.pk == check.pk)
    rows = {row.finding_id: row for seen in standing(looks_of(list(checks))).values() for row in (one.row for one in seen)}
    rows |= {row.finding_id: row for row in here.seen if row.change == Observation.Change.GONE}
    order = {zone.key: n for n, zone in enumerate(zones)}
    return sorted(rows.values(), key=lambda row: (order.get(_zone_key(row), len(order)), row.position, str(row.pk)))


def _zone_key(row: Observation) -> str:
    return f"{row.finding.component_id}/{row.finding.zone}"


def _finding(n: int, row: Observation, check: ConditionCheck, zones: Sequence[Zone], details: "Mapping[UUID, list[Photograph]]") -> dict[str, Any]:
    zone = next((one for one in zones if one.key == _zone_key(row)), None)
    finding, here = row.finding, row if row.change != Observation.Change.GONE else Observation()
    return {
        "n": n, "code": finding.zone, "zone": zone.name if zone else finding.zone, "part": zone.part if zone else "",
        "side": str(dict(SIDES).get(finding.side, "")) if finding.side else "", "hour": finding.hour,
        "view": finding.view, "x": finding.x, "y": finding.y,
        "term": term_words(row.term), "material": ", ".join(material_words([row.material])) if row.material else "",
        "percent": _number(here.percent), "severity": here.severity, "activity": here.activity,
        "size_mm": _number(here.size_mm), "side_code": finding.side, "change": row.get_change_display(),
        "news": row.change in ("new", "grown"), "gone": row.change == Observation.Change.GONE, "note": row.note,
        "last_seen": None if row.of_check_id == check.pk else row.of_check.happened_on.isoformat(),
        "pictures": [f"{n}-{k}" for k, _one in enumerate(details[finding.pk], start=1)], "key": str(finding.pk),
    }  # fmt: skip


def _number(value: Decimal | None) -> str | None:
    """Without zeros at the end: 2, not 2.00."""
    return None if value is None else f"{value.normalize():f}"


def _check(check: ConditionCheck) -> dict[str, Any]:
    return {
        "key": str(check.pk), "sort": check.get_sort_display(), "purpose": check.get_purpose_display(),
        "stage": check.stage, "on": check.happened_on.isoformat(),
        "at": check.happened_at.isoformat() if check.happened_at else None,
        "by": check.author.name, "limits": check.limits, "note": check.note, "no_treatment": check.no_treatment,
        "wet": check.wet, "unsecured_part": check.unsecured_part,
    }  # fmt: skip


def _place(thing: Object, check: ConditionCheck) -> str:
    """The building on the day: a report is read by many and travels, so it tells nobody more."""
    return words_of(where_is(thing, check.happened_at or check.recorded_at), exact=False)


def _zones(check: ConditionCheck, zones: Sequence[Zone]) -> dict[str, list[str]]:
    """Answer to the zones so answered; what nobody answered counts as not checked."""
    found: dict[str, list[str]] = {"nothing": [], "findings": [], "not_visible": [], "not_checked": []}
    for zone in zones:
        name = f"{zone.code} {zone.name}" + (f" ({zone.part})" if zone.part else "")
        found[check.looks.get(zone.key, "not_checked")].append(name)
    return found


#: so far apart stand the numbers of findings in one zone, in parts of the 400 of a drawing
STEP: Final = 30


def _drawings(thing: Object, zones: Sequence[Zone], rows: Sequence[Observation], findings: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """The views that show a finding, with its number; each finding in one view: on the photograph where it was pointed at, else on a drawing
    (of the whole only), else on the first photograph on which its zone is drawn."""
    chosen, ours = outline_of(thing), {zone.key for zone in zones}
    photographs = [view.only(ours) for view in drawn_views(thing)]
    named = {row["n"]: _named_photograph(photographs, row) for row in findings}
    on_outlines = [row for row in findings if not named[row["n"]]] if chosen else []
    words = dict(zip(VIEWS, (_("front"), _("back"), _("wearer’s left"), _("wearer’s right"), _("top"), _("inside")), strict=True))
    marked = {view: _marks(chosen, view, on_outlines) for view in VIEWS} if on_outlines else {}
    views: list[dict[str, Any]] = [{"view": view, "words": words[view], "marks": marks} for view, marks in marked.items() if marks]
    shown = {mark["n"] for view in views for mark in view["marks"]}
    rest = [(row, _zone_key(seen)) for row, seen in zip(findings, rows, strict=True) if row["n"] not in shown and not row["gone"]]
    return {"set": chosen, "views": views, "photographs": _on_photographs(photographs, named, rest)}


def _named_photograph(photographs: Sequence[DrawnView], row: Mapping[str, Any]) -> DrawnView | None:
    """The photograph in which the finding was pointed at."""
    return next((view for view in photographs if row["x"] is not None and view.is_named(row["view"])), None)


def _on_photographs(
    photographs: Sequence[DrawnView], named: Mapping[int, DrawnView | None], rest: Sequence[tuple[Mapping[str, Any], str]]
) -> list[dict[str, Any]]:
    """The photographs with the numbers and zones of what no drawing shows: at its point, else in the middle of its zone."""
    found = []
    for view in photographs:
        marks = []
        for row, key in rest:
            first = named[row["n"]] or next((one for one in photographs if any(zone.key == key for zone in one.zones)), None)
            if first is view:
                x, y = (row["x"], row["y"]) if named[row["n"]] else (None, None)
                marks.append({"n": row["n"], "zone": key, "x": x, "y": y})
        if marks:
            picture = view.photograph
            shapes = [{"key": zone.key, "code": zone.code, "points": [list(point) for point in zone.points]} for zone in view.zones]
            found.append(common.picture(picture, picture.view) | {"width": picture.width, "height": picture.height, "zones": shapes, "marks": marks})
    return found


#: the view that a finding's side is best seen in
_SIDE_VIEWS: Final = {"F": "front", "B": "back", "L": "left", "R": "right", "T": "top", "U": "inside"}


def _marks(chosen: str, view: str, findings: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """The findings that are there, numbered in this view: where they were pointed at, else side by side in the middle of their zone."""
    marks: list[dict[str, Any]] = []
    for row in findings:
        if row["part"] or row["gone"] or _view_of(chosen, row) != view:
            continue
        if row["view"] == view and row["x"] is not None:
            x, y = row["x"], row["y"]
        else:
            before = sum(mark["zone"] == row["code"] for mark in marks)
            middle = middle_of(chosen, view, row["code"]) or (0, 0)
            x, y = middle[0] + before * STEP, middle[1]
        marks.append({"n": row["n"], "zone": row["code"], "x": x, "y": y})
    return marks


def _view_of(chosen: str, row: Mapping[str, Any]) -> str | None:
    """The one view in which a finding is numbered; none where no drawing shows its zone, as of paint."""
    wanted = [row["view"], _SIDE_VIEWS.get(row["side_code"], ""), *VIEWS]
    return next((view for view in wanted if view in VIEWS and row["code"] in zones_in(chosen, view)), None)


def _pictures(thing: Object, check: ConditionCheck, rows: Sequence[Observation], details: "Mapping[UUID, list[Photograph]]") -> list[dict[str, Any]]:
    """The standard views, then the details under the numbers of their findings."""
    whole = _standard_views(thing, check)
    shown = [common.picture(one, one.view) for one in whole]
    for n, row in enumerate(rows, start=1):
        shown += [common.picture(one, f"{n}-{k}") for k, one in enumerate(details[row.finding_id], start=1)]
    return shown


def _standard_views(thing: Object, check: ConditionCheck) -> list[Photograph]:
    """Of each view the picture of this check, else the newest of the object up to that day."""
    best: dict[str, Photograph] = {}
    own = photographs_of("check", check.pk)
    older = photographs_of("object", thing.pk).filter(happened_on__lte=check.happened_on)
    for one in [*own.select_related("file", "taken_by"), *older.select_related("file", "taken_by")]:
        if one.view in WHOLE_VIEWS:
            best.setdefault(one.view, one)
    return [best[view] for view in WHOLE_VIEWS if view in best]
