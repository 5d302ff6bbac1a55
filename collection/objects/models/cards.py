"""The card of an object: what lists and search show, derived from the rest."""

from django.contrib.postgres.indexes import GinIndex, OpClass
from django.contrib.postgres.search import SearchVectorField
from django.db import models
from django.db.models.functions import Upper

from collection.objects.models.things import Object
from museum.people.actor import Actor


class CardQuerySet(models.QuerySet["Card"]):
    """The same rule as that of objects, told by the card alone."""

    def visible_to(self, actor: Actor) -> "CardQuerySet":
        """The cards of the objects that this person may see."""
        here = self.filter(withdrawn=False)
        if actor.may("catalogue.see_all"):
            return here
        if actor.invited:
            return here.filter(object__in=actor.invited)
        return here.filter(public=True) if actor.may("catalogue.see") else self.none()


class Card(models.Model):
    """What lists and search show of an object: a pure function of the facts, rebuilt at will."""

    object = models.OneToOneField(Object, models.CASCADE, primary_key=True, related_name="card")
    number = models.TextField(blank=True)
    number_sort = models.TextField(blank=True)
    name = models.TextField(blank=True)
    name_sort = models.TextField(blank=True)
    broader_name = models.TextField(blank=True)
    description = models.TextField(blank=True)
    date_text = models.TextField(blank=True)
    date_earliest = models.DateField(null=True)
    date_latest = models.DateField(null=True)
    materials = models.JSONField(default=list, help_text="codes, of all components and zones")
    kind = models.TextField(blank=True)
    whose = models.TextField(blank=True)
    public = models.BooleanField(default=False)
    withdrawn = models.BooleanField(default=False)
    photograph = models.UUIDField(null=True)
    photographs = models.PositiveIntegerField(default=0)
    hazard_level = models.PositiveSmallIntegerField(default=0)
    hazard_codes = models.JSONField(default=list)
    high_significance = models.BooleanField(default=False)
    # written by higher apps through the card action
    place = models.UUIDField(null=True, help_text="where the main component stands")
    place_text = models.TextField(blank=True)
    building_text = models.TextField(blank=True)
    grade = models.PositiveSmallIntegerField(null=True)
    activity = models.PositiveSmallIntegerField(null=True)
    urgency = models.PositiveSmallIntegerField(null=True)
    checked_on = models.DateField(null=True)
    full_due = models.DateField(null=True)
    quick_due = models.DateField(null=True)
    named = SearchVectorField(null=True, help_text="numbers and name alone")
    search = SearchVectorField(null=True, help_text="all words, by weight")
    words = models.TextField(blank=True, help_text="numbers and names, in which misspelt words are looked for")

    objects = CardQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index("number_sort", "object", name="card_by_number"),
            models.Index("name_sort", "object", name="card_by_name"),
            models.Index("kind", "number_sort", "object", name="card_by_kind"),
            models.Index("whose", "number_sort", "object", name="card_by_whose"),
            models.Index("grade", "number_sort", "object", name="card_by_grade"),
            models.Index("urgency", "number_sort", "object", name="card_by_urgency"),
            models.Index(fields=["place"], name="card_by_place"),
            # Every search reads what an index has not taken in yet from end to end: 4 MB of it, as is usual, cost one to eight seconds.
            GinIndex(fields=["named"], name="card_named", gin_pending_list_limit=128),
            GinIndex(fields=["search"], name="card_search", gin_pending_list_limit=128),
            GinIndex(fields=["words"], name="card_words", opclasses=["gin_trgm_ops"], gin_pending_list_limit=128),
            # In capitals, as a search without regard to them compares.
            GinIndex(OpClass(Upper("place_text"), "gin_trgm_ops"), name="card_place_words"),
            GinIndex(OpClass(Upper("building_text"), "gin_trgm_ops"), name="card_building_words"),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.name}"
