"""Imports: one file brought in as one batch, and each of its rows with what became of it."""

from typing import Any

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from collection.exchange.columns import Way
from collection.objects.models import Object, Statement
from museum import clock
from museum.history.models import Act, FactLine, Record
from museum.papers.models import StoredFile
from museum.people.models import Person


class ImportSession(Record):
    """One file on its way into the catalogue: how it was read, what its columns mean, how far it is."""

    class State(models.TextChoices):
        MAPPING = "mapping", _("columns to be named")
        PREVIEW = "preview", _("to be looked through")
        RUNNING = "running", _("at work")
        DONE = "done", _("brought in")
        UNDONE = "undone", _("taken back")

    class Numbers(models.TextChoices):
        GRAMMAR = "grammar", _("They follow our form, as in 1974.12.3")
        AS_WRITTEN = "as_written", _("They are of another scheme and are kept as written")

    file = models.ForeignKey(StoredFile, models.PROTECT, related_name="+")
    name = models.TextField(help_text="of the file, as it was sent")
    owner = models.ForeignKey(Person, models.PROTECT, related_name="+")
    sheet = models.TextField(blank=True)
    sheets = models.JSONField(default=list)
    encoding = models.TextField(blank=True, help_text="character set the text was read in")
    delimiter = models.TextField(blank=True)
    heading = models.PositiveIntegerField(default=0, help_text="row of the headings; 0 = none")
    headings = models.JSONField(default=list)
    mapping = models.JSONField(default=dict, help_text="column from 0 to target")
    numbers_follow = models.TextField(choices=Numbers.choices, blank=True, help_text="asked once for the file")
    default_kind = models.TextField(default="other", help_text="code of the kind where the name says none")
    name_from_title = models.BooleanField(default=True, help_text="where the name is empty the title stands for it")
    state = models.TextField(choices=State.choices, default=State.MAPPING)
    job = models.UUIDField(null=True, help_text="the work in the background that was asked for last")
    made_at = models.DateTimeField(default=clock.now)

    def __str__(self) -> str:
        return self.name

    @property
    def way(self) -> Way:
        """How its rows are to be read."""
        columns = {int(column): str(target) for column, target in self.mapping.items()}
        return Way(
            self.headings,
            self.heading,
            columns,
            self.numbers_follow,
            self.default_kind,
            self.name_from_title,
            self.name,
        )


class ImportRow(Record):
    """One row of the file, its cells as they were, and what became of it."""

    class Outcome(models.TextChoices):
        NEW = "new", _("new")
        QUESTION = "question", _("question")
        SKIPPED = "skipped", _("skipped")
        TAKEN = "taken", _("taken")
        KNOWN = "known", _("known")

    session = models.ForeignKey(ImportSession, models.PROTECT, related_name="rows")
    n = models.PositiveIntegerField(help_text="as in the file, from 1")
    part = models.PositiveSmallIntegerField(default=0, help_text="2 and on: made of the row since it holds several things")
    cells = models.JSONField()
    marks = models.JSONField(default=dict, help_text="column to what its cell was: date, figure, formula")
    key = models.UUIDField(help_text="made of the cells: the same row of any file has the same")
    outcome = models.TextField(choices=Outcome.choices, default=Outcome.NEW)
    reason = models.TextField(blank=True, help_text="code of what decided the outcome")
    findings = models.JSONField(default=list, help_text="code, column, whether it asks, data")
    answers = models.JSONField(default=dict)
    object = models.ForeignKey(Object, models.PROTECT, null=True, related_name="import_rows")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["session", "n", "part"], name="import_row_once"),
            models.UniqueConstraint(fields=["object"], condition=Q(outcome="taken"), name="import_made_once"),
        ]
        indexes = [
            models.Index(fields=["session", "outcome", "n"], name="import_row_by_outcome"),
            models.Index(fields=["key"], name="import_row_key", condition=Q(outcome="taken")),
        ]

    def __str__(self) -> str:
        return f"row {self.n}"

    @property
    def called(self) -> str:
        """How people name it: by its row in the file; what was made of it besides follows a stroke."""
        return f"{self.n}/{self.part}" if self.part else str(self.n)

    @property
    def settled(self) -> bool:
        """Whether it made an object, be it taken back by now."""
        return self.outcome == self.Outcome.TAKEN or self.reason == "taken_back"

    def told(self) -> dict[str, Any]:
        """What the history says of it."""
        return {"file": self.session.name, "sha256": self.session.file.sha256, "row": self.called}


class Erasure(FactLine):
    """The personal words of a statement are erased for ever. Adding this fact is what erases them: the database itself puts day and
    reason in their place, since the program may change no fact."""

    act = models.ForeignKey(Act, models.PROTECT, related_name="+")
    statement = models.OneToOneField(Statement, models.PROTECT, related_name="erasure")
    erased_on = models.DateField()
    reason = models.TextField()
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(reason=""), name="erased_with_a_reason")]

    def __str__(self) -> str:
        return f"erased on {self.erased_on}"
