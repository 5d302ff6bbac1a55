"""Words of the catalogue: kinds, materials, fields."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from museum.history.models import Word


class Kind(Word):
    """A kind of headgear. It proposes the outline set and says which zones a thing of it has."""

    outline_set = models.TextField(help_text="which drawings; 'other' = neutral, '' = zones drawn on the photograph")
    zones = models.JSONField(default=dict, help_text="zone code to local name by language")

    def __str__(self) -> str:
        return self.code


class Material(Word):
    """A material as the rules know it."""

    def __str__(self) -> str:
        return self.code


class Field(Word):
    """A field of the catalogue record: what may be said of a component."""

    class Sort(models.TextChoices):
        WORDS = "words", _("words")
        TERM = "term", _("object name")
        DATE = "date", _("date")
        MEASURE = "measure", _("measure")
        MARK = "mark", _("mark")
        PARTY = "party", _("maker or holder")
        CHOICE = "choice", _("choice")

    sort = models.TextField(choices=Sort.choices)
    repeatable = models.BooleanField(default=False)
    personal = models.BooleanField(default=False, help_text="about a person: seen by those who may see contacts")
    public = models.BooleanField(default=True)
    choices = models.JSONField(default=list)
    position = models.PositiveSmallIntegerField(default=0)

    def __str__(self) -> str:
        return self.code
