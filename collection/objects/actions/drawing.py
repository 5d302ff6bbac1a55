"""Zones drawn on an object's own photograph: drawn, drawn anew, taken back."""

from typing import Any, Final
from uuid import UUID

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from collection.objects import shapes
from collection.objects.actions.common import component_of
from collection.objects.drawn import shape_on
from collection.objects.models import Component, Photograph, ZoneNote
from collection.objects.queries import photographs_of
from collection.objects.shapes import Fault, Point
from collection.objects.shipped import shipped_data
from museum.errors import DomainError, Invalid, NotFound
from museum.history.models import Act as ActRow
from museum.people.action import Act, action
from museum.people.models import Person

FAULTS: Final[dict[Fault, Promise]] = {
    Fault.UNREADABLE: _("The corners cannot be read. Write a pair for each: percent from the left, a space, percent from the top, then a semicolon."),
    Fault.FEW: _("A zone has at least three corners, not all at one point. Set one more, then store it again."),
    Fault.MANY: _("A zone has at most %(most)s corners here. Leave out those that the shape does not need."),
    Fault.OUTSIDE: _("A corner lies outside the photograph. Every corner is from 0 to 100 percent from the left and from the top."),
    Fault.CROSSING: _("The line crosses or touches itself, so nobody can tell what is inside. Take back the last corners and go round the zone once."),
    Fault.FLAT: _("The shape is so narrow that nobody could touch it. Draw it larger, or on a photograph that shows it larger."),
}


class DrawnMeanwhile(DomainError):
    """Two people drew one zone on one photograph; the second is told."""

    code = "drawn_meanwhile"
    template = _(
        "%(who)s drew or took back this zone on this photograph while you were drawing. Yours is not stored yet and is kept below beside theirs: "
        "store it again to put it in the place of theirs, or leave it."
    )


@action("objects.draw_zone", may="catalogue.edit")
def draw_zone(
    act: Act,
    component_id: UUID,
    *,
    zone: str,
    photograph: UUID,
    shape: Any,
    name: str = "",
    replaces: UUID | None = None,
) -> ZoneNote:
    """Draws a zone on a photograph of the object; where it is drawn there already, in the place of that.

    `shape` is a list of corners in parts of the upright picture (see `shapes`), `name` what the zone is called here if not as usual,
    `replaces` the shape that the person saw. The object has the zone from then on. Raises NotFound, Invalid, DrawnMeanwhile.
    """
    component = component_of(act, component_id)
    if zone not in shipped_data()["zones"]:
        raise Invalid(_("There is no zone '%(zone)s'."), field="zone", zone=zone)
    picture = _standing(component, photograph)
    points = _checked(shape)
    old = shape_on(picture, component_id, zone)
    if (old.pk if old else None) != replaces:
        if old is not None and (old.shape, old.name) == ([list(point) for point in points], name.strip()):
            return old
        raise _meanwhile(component_id, zone, old, replaces)
    note = ZoneNote.objects.create(
        act_id=act.id, component=component, zone=zone, present=True, name=name.strip(), photograph=picture.pk, shape=points, corrects=old,
        recorded_at=act.now,
    )  # fmt: skip
    act.wrote("zone.drawn", note, before=_told(old) if old else None, after=_told(note), about=[("object", component.object_id)])
    return note


@action("objects.erase_zone", may="catalogue.edit")
def erase_zone(act: Act, note_id: UUID, *, reason: str = "") -> ZoneNote:
    """Takes a drawn zone back: it is on that photograph no more. Raises NotFound, DrawnMeanwhile."""
    old = ZoneNote.objects.filter(pk=note_id, shape__isnull=False).first()
    if old is None:
        raise NotFound
    component = component_of(act, old.component_id)
    if ZoneNote.objects.filter(corrects=old).exists():
        raise _meanwhile(component.pk, old.zone, None, old.pk)
    gone = ZoneNote.objects.create(
        act_id=act.id, component=component, zone=old.zone, photograph=old.photograph, corrects=old, withdraws=True, recorded_at=act.now,
    )  # fmt: skip
    act.wrote("zone.erased", gone, before=_told(old), reason=reason.strip(), about=[("object", component.object_id)])
    return gone


def _standing(component: Component, photograph_id: UUID) -> Photograph:
    """The photograph as it stands now: said better since, it is the same picture. Raises NotFound, Invalid."""
    sent = Photograph.objects.filter(pk=photograph_id).first()
    if sent is None:
        raise NotFound
    standing = photographs_of("object", component.object_id).filter(file=sent.file_id).first()
    if standing is None:
        raise Invalid(_("This photograph does not show this thing, or was taken back. Choose another one."), field="photograph")
    return standing


def _checked(shape: Any) -> list[Point]:
    """The corners, tidied. Raises Invalid."""
    points = shapes.points_of(shape)
    if points is None:
        raise Invalid(FAULTS[Fault.UNREADABLE], field="shape")
    tidied = shapes.tidied(points)
    if (fault := shapes.fault_of(tidied)) is not None:
        raise Invalid(FAULTS[fault], field="shape", fault=fault.value, most=shapes.MOST)
    return tidied


def _meanwhile(component_id: UUID, zone: str, now: ZoneNote | None, seen: UUID | None) -> DrawnMeanwhile:
    """Who was first: the author of the shape that stands, else of the one that took away what was seen."""
    last = now or ZoneNote.objects.filter(corrects=seen).first()
    who = ActRow.objects.filter(pk=last.act_id).values_list("person", flat=True).first() if last else None
    name = Person.objects.filter(pk=who).values_list("name", flat=True).first() if who else None
    standing = str(now.pk) if now else ""
    return DrawnMeanwhile(who=name or "?", standing=standing, zone=zone, component=str(component_id), theirs=now.shape if now else None)


def _told(note: ZoneNote) -> dict[str, Any]:
    return {"zone": note.zone, "name": note.name, "photograph": str(note.photograph), "corners": shapes.words_of(note.shape or ())}
