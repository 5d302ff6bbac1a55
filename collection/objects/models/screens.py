"""The ten questions beside one thing: answered once for a lot, and what shuts an answer again."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from collection.objects.models.things import Object
from collection.objects.models.words import Kind
from museum.history.models import Fact
from museum.people.models import Person


class LotScreen(Fact):
    """The ten questions answered once for a lot or a kind; each thing of it is looked at and confirmed in one act.

    Answered anew it is another fact, and what was confirmed by the former answers is to be confirmed again.
    """

    name = models.TextField(help_text="what its things have in common, and where they came from")
    kind = models.ForeignKey(Kind, models.PROTECT, null=True, blank=True, related_name="+", help_text="the kind its things are of; none = of any")
    answers = models.JSONField(help_text="question number to yes, no or unsure")
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    def __str__(self) -> str:
        return self.name


class Opening(Fact):
    """Something of a thing lies open, came off or is known now that was not when the ten questions were answered.

    From then on only a full answer counts. Nothing is said here of harm: a person opens a thing for good reasons.
    """

    class Why(models.TextChoices):
        LINING = "lining", _("a lining or pad was lifted")
        OUT = "out", _("a liner or part was taken out")
        APART = "apart", _("it was taken apart: screws, rivets, seams")
        CAME_OFF = "came_off", _("a part came off")
        SHOWED = "showed", _("something new showed: powder, fibre, crystals, a smell")
        MATERIAL = "material", _("a material was told of which the answers said there was none")
        DIFFERS = "differs", _("it differs from its lot")
        UNSURE = "unsure", _("whoever looked was unsure whether it differs from its lot")

    object = models.ForeignKey(Object, models.PROTECT, related_name="openings")
    why = models.TextField(choices=Why.choices)
    note = models.TextField(blank=True, help_text="where, and what showed")
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    def __str__(self) -> str:
        return f"{self.why} {self.object_id}"
