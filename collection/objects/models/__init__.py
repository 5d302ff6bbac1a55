"""The catalogue: objects, their numbers, components and zones, and whatever is said of them."""

from collection.objects.models.cards import Card, CardQuerySet
from collection.objects.models.pictures import Derivative, Photograph, Shows
from collection.objects.models.said import Acceptance, Hazard, MadeOf, Ownership, Screen, Statement, ZoneNote
from collection.objects.models.screens import LotScreen, Opening
from collection.objects.models.things import Booking, Component, Counter, Number, Object, ObjectQuerySet
from collection.objects.models.words import Field, Kind, Material

__all__ = [
    "Acceptance",
    "Booking",
    "Card",
    "CardQuerySet",
    "Component",
    "Counter",
    "Derivative",
    "Field",
    "Hazard",
    "Kind",
    "LotScreen",
    "MadeOf",
    "Material",
    "Number",
    "Object",
    "ObjectQuerySet",
    "Opening",
    "Ownership",
    "Photograph",
    "Screen",
    "Shows",
    "Statement",
    "ZoneNote",
]
