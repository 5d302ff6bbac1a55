"""The incident sheet: protection, isolation, what is at risk, what was done, for the door of the room and the file."""

from typing import Any
from uuid import UUID

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from collection.objects.models import Object
from conservation.checks.models import Incident
from conservation.checks.views.incidents import by_material, rounds_of
from locations.places.models import Place
from museum.errors import NotFound
from museum.people.actor import Actor
from reports.registry import Gathered, document

#: things named on the paper; the page names all
MOST_NAMED = 400


@document("incident_sheet", title=gettext_lazy("Incident sheet"), version="1", permission="round.print")
def incident_sheet(subject: UUID, actor: Actor) -> Gathered:
    """Of an incident by its key."""
    found = Incident.objects.select_related("place", "opened_by", "closed_by").filter(pk=subject).first()
    if found is None:
        raise NotFound
    rows = found.at_risk.filter(object__in=Object.objects.visible_to(actor)).select_related("object__card").order_by("position")
    data: dict[str, Any] = {
        "kind": found.kind, "heading": f"{found.get_kind_display().capitalize()}, {found.place.name}", "opened_on": found.opened_on.isoformat(),
        "opened_by": found.opened_by.name if found.opened_by else "", "note": found.note, "source": found.source,
        "size": str(found.square_metres or ""), "materials": by_material(found), "count": rows.count(),
        "things": [{"number": row.object.card.number, "name": row.object.card.name, "place": row.place_text} for row in rows[:MOST_NAMED]],
        "apart": [str(place) for place in Place.objects.filter(closed_on=None, use=Place.Use.QUARANTINE).order_by("path_key")],
        "rounds": [{"name": one.name, "due_by": one.due_by.isoformat(), "left": one.left, "stops": one.all_stops} for one in rounds_of(found)],
        "steps": [{"on": one.happened_on.isoformat(), "kind": one.get_kind_display(), "note": one.note} for one in found.steps.order_by("happened_on", "id")],
        "closed_on": found.closed_on.isoformat() if found.closed_on else "", "close_reason": found.close_reason,
        "highest_rh": str(found.highest_rh if found.highest_rh is not None else ""),
    }  # fmt: skip
    title = _("Incident sheet, %(place)s") % {"place": found.place.name}
    return Gathered(data, title, reverse("checks:incident", args=[found.pk]), [("place", found.place_id)])
