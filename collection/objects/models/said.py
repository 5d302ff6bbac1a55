"""Facts that are said of a thing: statements, materials, zones, whose it is, dangers."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from collection.objects.models.screens import LotScreen
from collection.objects.models.things import Component, Object
from collection.objects.models.words import Field, Material
from museum import clock
from museum.history.models import Act, Fact, FactLine
from museum.people.models import Person


class Statement(Fact):
    """Something said of a component (of the object = of its main one). Replaced, never edited."""

    class Certainty(models.TextChoices):
        SURE = "sure", _("sure")
        LIKELY = "likely", _("likely")
        TOLD = "told", _("told")
        DISPROVED = "disproved", _("disproved")

    component = models.ForeignKey(Component, models.PROTECT, related_name="statements")
    field = models.ForeignKey(Field, models.PROTECT, related_name="+")
    value = models.JSONField(null=True, help_text="checked by the field's class; null = said to be empty")
    words = models.TextField(blank=True, help_text="as found")
    language = models.TextField(default="", blank=True)
    author = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    source = models.TextField(blank=True)
    certainty = models.TextField(choices=Certainty.choices, default=Certainty.SURE)
    cell = models.TextField(blank=True, help_text="file, row and column it came from")

    class Meta:
        indexes = [models.Index(fields=["component", "field"], name="statement_by_component")]

    def __str__(self) -> str:
        return self.words


class Acceptance(FactLine):
    """Makes a statement the record's; `replaces` is the acceptance it takes the place of.

    Unique as the first value of a single field and unique in what it replaces: two edits of one value
    collide, and the second person sees both.
    """

    act = models.ForeignKey(Act, models.PROTECT, related_name="+")
    statement = models.OneToOneField(Statement, models.PROTECT, related_name="acceptance")
    component = models.ForeignKey(Component, models.PROTECT, related_name="acceptances")
    field = models.ForeignKey(Field, models.PROTECT, related_name="+")
    language = models.TextField(default="", blank=True)
    single = models.BooleanField(help_text="the field holds one value")
    replaces = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="replaced_by")
    accepted_by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    recorded_at = models.DateTimeField(default=clock.now)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["component", "field", "language"],
                condition=Q(single=True, replaces=None),
                name="first_value_once",
            )
        ]
        indexes = [models.Index(fields=["component", "field"], name="acceptance_by_component")]

    def __str__(self) -> str:
        return f"accepted {self.statement_id}"


class MadeOf(Fact):
    """A component, or one of its zones, is of a material. Without a zone it counts in every zone until placed."""

    class Original(models.TextChoices):
        ORIGINAL = "original", _("original")
        OLD = "old", _("old replacement")
        MODERN = "modern", _("modern")
        UNKNOWN = "unknown", _("not known")

    component = models.ForeignKey(Component, models.PROTECT, related_name="made_of")
    zone = models.TextField(blank=True)
    material = models.ForeignKey(Material, models.PROTECT, related_name="+")
    finish = models.TextField(blank=True)
    original = models.TextField(choices=Original.choices, default=Original.UNKNOWN)
    words = models.TextField(blank=True, help_text="as found")

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(zone__regex=r"^([A-Z]{2})?$"), name="made_of_zone_form")]
        indexes = [models.Index(fields=["component"], name="made_of_component")]

    def __str__(self) -> str:
        return f"{self.zone} {self.material_id}"


class ZoneNote(Fact):
    """Where an object departs from its kind: a zone it has or lacks, a shape drawn on its own photograph."""

    component = models.ForeignKey(Component, models.PROTECT, related_name="zone_notes")
    zone = models.TextField()
    present = models.BooleanField(default=True)
    name = models.TextField(blank=True)
    photograph = models.UUIDField(null=True, blank=True)
    shape = models.JSONField(null=True, blank=True, help_text="corners in parts (0 to 1) of the upright photograph's width and height")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(zone__regex=r"^[A-Z]{2}$"), name="zone_form"),
            models.CheckConstraint(condition=Q(shape__isnull=True) | Q(photograph__isnull=False), name="zone_drawn_on_a_photograph"),
        ]

    def __str__(self) -> str:
        return f"{self.zone} {'has' if self.present else 'lacks'}"


class Ownership(Fact):
    """The first axis: whose it is, from a day, by what evidence."""

    class Whose(models.TextChoices):
        OWN = "own", _("our own, accessioned")
        OWN_HANDLING = "own_handling", _("our own, for handling")
        OWN_PROP = "own_prop", _("our own, a prop")
        BORROWED = "borrowed", _("borrowed")
        DEPOSITED = "deposited", _("deposited, undecided")
        FOUND = "found", _("found, owner not known")
        GONE = "gone", _("no longer ours")

    object = models.ForeignKey(Object, models.PROTECT, related_name="ownerships")
    whose = models.TextField(choices=Whose.choices)
    evidence = models.TextField(blank=True)

    def __str__(self) -> str:
        return self.whose


class Hazard(Fact):
    """A danger to people: suspected, likely, or a hold. A fact of level 0 closes it, with the evidence."""

    object = models.ForeignKey(Object, models.PROTECT, related_name="hazards")
    code = models.TextField()
    level = models.PositiveSmallIntegerField()
    zone = models.TextField(blank=True)
    note = models.TextField(blank=True)
    evidence = models.TextField(blank=True, help_text="what closes or settles it")
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(level__lte=3), name="hazard_level_range"),
            models.CheckConstraint(condition=Q(level__gte=1) | ~Q(evidence=""), name="hazard_closed_with_evidence"),
        ]
        indexes = [models.Index(fields=["object", "code"], name="hazard_by_object")]

    def __str__(self) -> str:
        return f"{self.code} {self.level}"


class Screen(Fact):
    """The ten questions of the hazard screen as answered for one object."""

    object = models.ForeignKey(Object, models.PROTECT, related_name="screens")
    answers = models.JSONField(help_text="question number to yes, no or unsure")
    full = models.BooleanField(default=True, help_text="answered for this object; else confirmed from its lot or kind")
    lot = models.ForeignKey(LotScreen, models.PROTECT, null=True, blank=True, related_name="confirmed", help_text="whose answers were confirmed")
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(full=True, lot=None) | Q(full=False, lot__isnull=False), name="screen_full_or_of_a_lot")]

    def __str__(self) -> str:
        return f"screen of {self.object_id}"
