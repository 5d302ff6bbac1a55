"""Questions about things that stand under temporary numbers until somebody knows what they are."""

from django.db.models import QuerySet

from collection.objects.models import Card, Number, Object
from museum.people.actor import Actor


def to_identify(actor: Actor) -> "QuerySet[Card]":
    """The cards of things that go by a temporary number, the oldest number first."""
    return Card.objects.filter(object__in=Object.objects.visible_to(actor), number__in=_numbers()).order_by("number_sort")


def waiting(actor: Actor) -> int:
    """How many there are, for those who can say what they are."""
    return to_identify(actor).count() if actor.may("catalogue.edit") else 0


def _numbers() -> "QuerySet[Number, str]":
    return Number.objects.filter(series=Number.Series.TEMPORARY, state=Number.State.CURRENT, component=None).values_list("text", flat=True)
