"""What the pages of treatment share: the thing, its photographs of today, a form that is shown again with what was typed."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, QueryDict

from collection.objects.models import Object, Photograph
from collection.objects.queries import photographs_of
from conservation.treatments.models import Proposal
from museum.errors import DomainError, NotFound
from museum.papers.models import IssuedPaper
from museum.people.actor import Actor


@dataclass(frozen=True, slots=True)
class Again:
    """A form to be shown again: which one, what was typed in it, why it was not carried out (nothing where a line more is asked for)."""

    form: str
    typed: QueryDict
    refused: DomainError | None

    @property
    def context(self) -> dict[str, Any]:
        """For a template: `typed.<form>` is what was typed there, nothing for every other form."""
        return {"refused": self.refused, "again": self.form, "typed": {self.form: self.typed}}


def seen_object(actor: Actor, object_id: UUID) -> Object:
    """The object, if this person may see it. Raises NotFound."""
    thing = Object.objects.visible_to(actor).select_related("card", "kind").filter(pk=object_id).first()
    if thing is None:
        raise NotFound
    return thing


def seen_proposals(actor: Actor) -> "QuerySet[Proposal]":
    """The proposals for things that this person may see."""
    rows = Proposal.objects.filter(object__in=Object.objects.visible_to(actor))
    return rows.select_related("object__card", "object__kind", "proposed_by", "finding")


def paper_of(proposal: Proposal) -> IssuedPaper | None:
    """The newest paper of it, if one was issued."""
    rows = IssuedPaper.objects.filter(document="treatment_proposal", subject=proposal.pk, corrected_by=None, withdraws=False)
    return rows.select_related("file").order_by("recorded_at", "id").last()


def taken_since(object_id: UUID, instant: datetime) -> list[Photograph]:
    """The photographs of a thing that were kept since then."""
    return list(photographs_of("object", object_id).filter(recorded_at__gte=instant))


def refusal_in(request: HttpRequest, perform: Callable[[], Any], said: str = "") -> DomainError | None:
    """Carries an action out and tells so on the next page; what refused it, where it was refused. Raises NotFound."""
    try:
        perform()
    except NotFound:
        raise
    except DomainError as refused:
        return refused
    if said:
        messages.success(request, said)
    return None


def carried_out(request: HttpRequest, perform: Callable[[], Any], said: str) -> None:
    """The same for a button beside which nothing is typed: a refusal is told on the next page."""
    if (refused := refusal_in(request, perform, said)) is not None:
        messages.error(request, refused.sentence)
