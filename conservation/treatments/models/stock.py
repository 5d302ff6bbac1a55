"""Batches of what stays on or against objects and of what packs them: tested how, opened, recalled, and where each was used."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from collection.objects.models import Object
from conservation.treatments.models.work import WorkStep
from museum.history.models import Fact, Record
from museum.papers.models import StoredFile
from museum.people.models import Person


class SafetySheet(Fact):
    """The safety sheet of a supply as it came; the last one counts, the others stay."""

    supply = models.TextField(help_text="code in the table of supplies")
    file = models.ForeignKey(StoredFile, models.PROTECT, related_name="+")
    of_day = models.DateField(null=True, blank=True, help_text="day printed on the sheet")
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        indexes = [models.Index(fields=["supply", "-recorded_at"], name="sheet_by_supply")]

    def __str__(self) -> str:
        return f"safety sheet of {self.supply}"


class Batch(Record):
    """One delivery of one supply, with the number on its pack."""

    supply = models.TextField(help_text="code in the table of supplies")
    number = models.TextField(help_text="as it stands on the pack, or our own where none does")
    maker = models.TextField(blank=True, help_text="private: maker and trade name")
    received_on = models.DateField()
    expires_on = models.DateField(null=True, blank=True, help_text="last day: the maker's, or the society's own")
    kept_at = models.TextField(blank=True)
    note = models.TextField(blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["supply", "number"], name="batch_once")]

    def __str__(self) -> str:
        return f"{self.supply} {self.number}"


class BatchTest(Fact):
    """A batch was tested: for what, how, and whether it passed. The last one of a sort counts."""

    class Sort(models.TextChoices):
        ACIDITY = "acidity", _("acidity")
        SULPHUR = "sulphur", _("sulphur")
        PAPER = "paper", _("trial on paper")
        OTHER = "other", _("another test")

    batch = models.ForeignKey(Batch, models.PROTECT, related_name="tests")
    sort = models.TextField(choices=Sort.choices)
    how = models.TextField(help_text="which test: indicator paper, silver strip, what was seen")
    passed = models.BooleanField()
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    class Meta:
        indexes = [models.Index(fields=["batch", "sort"], name="test_by_batch")]

    def __str__(self) -> str:
        return f"{self.sort} {'passed' if self.passed else 'failed'}"


class BatchMark(Fact):
    """A batch was opened, used up or recalled; a recall may be lifted, with the reason."""

    class Sort(models.TextChoices):
        OPENED = "opened", _("opened")
        USED_UP = "used_up", _("used up or thrown out")
        RECALLED = "recalled", _("recalled")
        LIFTED = "lifted", _("recall lifted")

    batch = models.ForeignKey(Batch, models.PROTECT, related_name="marks")
    sort = models.TextField(choices=Sort.choices)
    reason = models.TextField(blank=True)
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(sort__in=["recalled", "lifted"]) | ~Q(reason=""), name="recall_says_why")]

    def __str__(self) -> str:
        return f"{self.sort} {self.batch_id}"


class BatchUse(Fact):
    """A batch was used on an object: in a step of work, or to pack, pad or tag it."""

    batch = models.ForeignKey(Batch, models.PROTECT, related_name="uses")
    object = models.ForeignKey(Object, models.PROTECT, related_name="batch_uses")
    zone = models.TextField(blank=True, help_text="'component/zone', as checks write it; empty = its packing")
    work_step = models.ForeignKey(WorkStep, models.PROTECT, null=True, blank=True, related_name="batch_uses")
    amount = models.TextField(blank=True)
    warned = models.JSONField(default=list, help_text="codes of what was warned of and used all the same")
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    class Meta:
        indexes = [models.Index(fields=["batch", "-happened_on"], name="use_by_batch"), models.Index(fields=["object"], name="use_by_object")]

    def __str__(self) -> str:
        return f"{self.batch_id} on {self.object_id}"
