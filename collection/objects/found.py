"""Questions about things that stand under temporary numbers until somebody knows what they are."""

from django.db.models import QuerySet

from collection.objects.models import Card, Number, Object
from museum.people.actor import Actor


def to_identify(actor: Actor) -> "QuerySet[Card]":
    """The cards of things that go by a temporary number, the oldest number first."""
    # By the things first: these are few, and the numbers on the cards have no index.
    some = Card.objects.filter(object__in=_numbers().values("object"), number__in=_numbers().values("text"))
    return some.filter(object__in=Object.objects.visible_to(actor)).order_by("number_sort")


def waiting(actor: Actor) -> "QuerySet[Card]":
    """Those that wait for this person: for whoever can say what they are."""
    return to_identify(actor) if actor.may("catalogue.edit") else Card.objects.none()


def _numbers() -> "QuerySet[Number]":
    return Number.objects.filter(series=Number.Series.TEMPORARY, state=Number.State.CURRENT, component=None)
