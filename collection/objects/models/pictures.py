"""Photographs, what they show, and the smaller pictures made of them."""

from django.db import models

from museum.history.models import Act, Fact, FactLine
from museum.papers.models import StoredFile
from museum.people.models import Person


class Photograph(Fact):
    """A picture: its original file, the standard view, who took it and when."""

    file = models.ForeignKey(StoredFile, models.PROTECT, related_name="photographs")
    view = models.TextField(blank=True, help_text="V01 to V14")
    taken_by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    caption = models.TextField(blank=True)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()

    def __str__(self) -> str:
        return f"{self.view} {self.pk}"


class Shows(FactLine):
    """What a photograph shows, by key: either side may arrive first."""

    act = models.ForeignKey(Act, models.PROTECT, related_name="+")
    photograph = models.UUIDField()
    kind = models.TextField(help_text="object, component, finding, check, place")
    subject = models.UUIDField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["photograph", "kind", "subject"], name="shows_once")]
        indexes = [models.Index(fields=["kind", "subject"], name="shows_by_subject")]

    def __str__(self) -> str:
        return f"{self.photograph} shows {self.kind} {self.subject}"


class Derivative(models.Model):
    """A smaller picture made from an original: without position data, upright. Rebuilt at will."""

    photograph = models.ForeignKey(Photograph, models.CASCADE, related_name="derivatives")
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    path = models.TextField(help_text="below the derivatives folder")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["photograph", "width"], name="derivative_once")]

    def __str__(self) -> str:
        return self.path
