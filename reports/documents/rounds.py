"""The round list: what to look at, in walking order, with boxes to tick where there is no signal."""

from typing import Any
from uuid import UUID

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from collection.objects.models import Object
from collection.objects.queries import hazards_in_force
from conservation.checks.models import Round, Stop
from conservation.rules.tables import hazards
from locations.places.queries import Whereabouts, where_is
from museum.errors import NotFound
from museum.papers.models import OF_A_WALK
from museum.people.actor import Actor
from reports.registry import Gathered, document


@document("round_list", title=gettext_lazy("Round list"), version="1", permission="round.print", seen_by=OF_A_WALK)
def round_list(subject: UUID, actor: Actor) -> Gathered:
    """Of a round by its key: for those who walk it, and for those who make rounds."""
    found = Round.objects.select_related("made_by").filter(pk=subject).first()
    if found is None or not _may_see(found, actor):
        raise NotFound
    here = found.stops.filter(object__in=Object.objects.visible_to(actor))
    stops = [_stop(stop) for stop in here.order_by("position").select_related("object__card")]
    data = {
        "name": found.name, "due_by": found.due_by.isoformat(), "made_by": found.made_by.name,
        "walkers": sorted(found.walkers.values_list("name", flat=True)), "groups": _grouped(stops), "count": len(stops),
        "left": sum(not (stop["done"] or stop["left_out"]) for stop in stops),
    }  # fmt: skip
    title = _("Round list, %(name)s") % {"name": found.name}
    return Gathered(data, title, reverse("checks:round", args=[found.pk]), [("round", found.pk)])


def _may_see(found: Round, actor: Actor) -> bool:
    return actor.may("round.make") or found.walkers.filter(pk=actor.person).exists()


def _stop(stop: Stop) -> dict[str, Any]:
    thing = stop.object
    where = where_is(thing)
    levels = hazards_in_force([thing.pk]).get(thing.pk, {})
    known = hazards()
    return {
        "n": stop.position, "number": thing.card.number, "name": thing.card.name, "sort": stop.get_sort_display(),
        "room": _room(where), "spot": _spot(where), "done": bool(stop.done_by_id), "left_out": stop.left_out,
        "dangers": [_(known[code].name) if code in known else code for code in sorted(levels)],
        "level": max(levels.values(), default=0),
    }  # fmt: skip


def _room(where: Whereabouts) -> str:
    """The room, or how it is told when it stands in none."""
    names = [place.name for place in (where.building, where.room) if place is not None]
    return ", ".join(names) or _("no place is told")


def _spot(where: Whereabouts) -> str:
    """From the unit down to the box."""
    return " › ".join(place.name for place in reversed(where.path) if place.level not in ("building", "room"))


def _grouped(stops: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Room by room, in the order in which they are walked."""
    groups: list[dict[str, Any]] = []
    for stop in stops:
        if not groups or groups[-1]["room"] != stop["room"]:
            groups.append({"room": stop["room"], "stops": []})
        groups[-1]["stops"].append(stop)
    return groups
