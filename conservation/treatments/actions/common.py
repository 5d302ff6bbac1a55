"""What the actions of treatment share: finding and locking what they are about."""

from collections.abc import Iterable
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from collection.objects.models import Object, Photograph, Shows
from conservation.rules.treatment_book import treatment_rules_in_force
from conservation.treatments.models import Approval, Proposal, Work
from museum.errors import Invalid, NotFound
from museum.history.record import lock
from museum.people.action import Act


def locked_object(act: Act, object_id: UUID) -> Object:
    """The object, locked, if this person may see it. Raises NotFound."""
    lock(f"object:{object_id}")
    thing = Object.objects.visible_to(act.actor).select_related("kind", "card").filter(pk=object_id).first()
    if thing is None:
        raise NotFound
    return thing


def locked_proposal(act: Act, proposal_id: UUID) -> Proposal:
    """A proposal on an object this person may see, both locked. Raises NotFound."""
    found = Proposal.objects.filter(pk=proposal_id).values_list("object_id", flat=True).first()
    if found is None:
        raise NotFound
    locked_object(act, found)
    return Proposal.objects.select_for_update().get(pk=proposal_id)


def locked_approval(act: Act, approval_id: UUID) -> Approval:
    """An approval, its object locked, whether or not this person may see that: a second person signs for what is listed."""
    row = Approval.objects.select_related("object").filter(pk=approval_id, corrected_by=None, withdraws=False).first()
    if row is None:
        raise NotFound
    lock(f"object:{row.object_id}")
    return row


def locked_work(act: Act, work_id: UUID) -> Work:
    """A session on an object this person may see, the object locked. Raises NotFound."""
    row = Work.objects.filter(pk=work_id, corrected_by=None, withdraws=False).first()
    if row is None:
        raise NotFound
    locked_object(act, row.object_id)
    return row


def pictures_of(object_id: UUID, keys: Iterable[UUID]) -> list[Photograph]:
    """These photographs, each of which shows this object and stands. Raises Invalid for any other."""
    wanted = list(dict.fromkeys(keys))
    shown = Shows.objects.filter(kind="object", subject=object_id, photograph__in=wanted).values("photograph")
    found = {row.pk: row for row in Photograph.objects.filter(pk__in=shown, corrected_by=None, withdraws=False)}
    if len(found) != len(wanted):
        raise Invalid(_("One of these photographs is not of this thing, or was taken back."), field="photographs")
    return [found[key] for key in wanted]


def known_step(code: str) -> None:
    """Raises Invalid for a step that is not in the tables in force."""
    if code not in treatment_rules_in_force().steps:
        raise Invalid(_("There is no step '%(step)s' in the tables."), field="step", step=code)
