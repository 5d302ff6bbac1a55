"""Who may see which photograph, and what it shows."""

from uuid import UUID

from collection.objects.models import Object, Photograph, Shows
from museum.errors import NotFound
from museum.people.actor import Actor


def photograph_for(actor: Actor, photograph_id: UUID) -> Photograph:
    """The photograph, if this person may see a thing that it shows. Raises NotFound.

    Who cares for the collection sees all, also those of findings whose object is not told yet; a reader sees what
    shows an object that is shown to them. What was taken back is for those who may edit.
    """
    photograph = Photograph.objects.select_related("file", "taken_by").filter(pk=photograph_id, withdraws=False).first()
    if photograph is None or not _may_see(actor, photograph):
        raise NotFound
    return photograph


def objects_shown(photograph: Photograph) -> list[UUID]:
    """The objects on it, the main one first."""
    rows = Shows.objects.filter(photograph=photograph.pk, kind="object").order_by("id")
    return list(rows.values_list("subject", flat=True))


def _may_see(actor: Actor, photograph: Photograph) -> bool:
    if not actor.may("catalogue.edit") and Photograph.objects.filter(corrects=photograph, withdraws=True).exists():
        return False
    if actor.may("catalogue.see_all"):
        return True
    return Object.objects.visible_to(actor).filter(pk__in=objects_shown(photograph)).exists()
