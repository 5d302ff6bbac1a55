"""Acts, the append-only history of what they changed, and the bases of facts and records."""

from datetime import UTC
from typing import Any, ClassVar
from uuid import UUID

from django.db import models

from museum import clock
from museum.ids import uuid7


class AppendOnly(models.Model):
    """A row that is added and never changed; `prepare` puts the trigger and the grants on its table."""

    class Meta:
        abstract = True


class Act(AppendOnly):
    """One call of an action: who did what, with which content, and what was answered.

    The row is written last in its transaction; what it wrote names it through a deferred foreign key.
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    action = models.TextField()
    person = models.UUIDField(null=True, help_text="by key; none when the program itself acted")
    sender = models.UUIDField(null=True, help_text="who sent it, where that is not its author")
    role = models.TextField(blank=True)
    device = models.TextField(blank=True)
    digest = models.CharField(max_length=64)
    answer = models.JSONField(null=True)
    recorded_at = models.DateTimeField(default=clock.now)

    class Meta:
        indexes = [models.Index(fields=["person", "recorded_at"], name="act_by_person")]

    def __str__(self) -> str:
        return f"{self.action} {self.id}"


class Change(AppendOnly):
    """One history entry: one thing changed by an act. `n` runs without a gap."""

    n = models.BigIntegerField(primary_key=True)
    act = models.ForeignKey(Act, models.PROTECT, related_name="changes")
    at = models.DateTimeField()
    who = models.UUIDField(null=True)
    role = models.TextField(blank=True)
    what = models.TextField()
    subject = models.TextField(help_text="sort and key of the thing changed, as in 'object:0197...'")
    before = models.JSONField(null=True)
    after = models.JSONField(null=True)
    reason = models.TextField(blank=True)
    hash = models.CharField(max_length=64)

    class Meta:
        indexes = [models.Index(fields=["subject", "n"], name="change_by_subject"), models.Index(fields=["at", "n"], name="change_by_time")]

    def __str__(self) -> str:
        return f"{self.n} {self.what} {self.subject}"

    def entry(self) -> dict[str, Any]:
        """What the hash covers. Personal texts stand in it as salted digests only."""
        return {
            "act": str(self.act_id),
            "after": self.after,
            "at": self.at.astimezone(UTC).isoformat(),
            "before": self.before,
            "n": self.n,
            "reason": self.reason,
            "role": self.role,
            "subject": self.subject,
            "what": self.what,
            "who": str(self.who) if self.who else None,
        }


class About(AppendOnly):
    """Links an entry to each object, place or person whose time-line shows it."""

    change = models.ForeignKey(Change, models.PROTECT, related_name="about")
    kind = models.TextField()
    key = models.UUIDField()

    class Meta:
        indexes = [models.Index(fields=["kind", "key", "-change"], name="about_timeline")]

    def __str__(self) -> str:
        return f"{self.change_id} about {self.kind} {self.key}"


class PersonalText(models.Model):
    """The readable side of a personal text in the history; it may be erased, its digest stays."""

    change = models.ForeignKey(Change, models.PROTECT, related_name="personal_texts")
    salt = models.CharField(max_length=32)
    digest = models.CharField(max_length=64, db_index=True)
    text = models.TextField()

    def __str__(self) -> str:
        return f"personal text of {self.change_id}"


class FactLine(AppendOnly):
    """A line of a fact: it names its fact and is corrected with it."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)

    class Meta:
        abstract = True


class Fact(AppendOnly):
    """Something that happened, was seen or was said; a correction is a new fact that names the old.

    `happened_on` is a day of the society's zone: where less is known it is the last possible day,
    `happened_earliest` the first, and `happened_words` what was said.
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    act = models.ForeignKey(Act, models.PROTECT, related_name="+")
    happened_on = models.DateField(default=clock.today)
    happened_at = models.DateTimeField(null=True, blank=True)
    happened_earliest = models.DateField(null=True, blank=True)
    happened_words = models.TextField(blank=True)
    recorded_at = models.DateTimeField(default=clock.now)
    corrects = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="corrected_by", help_text="the fact this replaces")
    withdraws = models.BooleanField(default=False, help_text="the corrected fact is taken back and nothing replaces it")

    class Meta:
        abstract = True

    #: order of facts of one day: bare days first among instants, then by recording, last by key
    ORDER: ClassVar[tuple[Any, ...]] = (
        "happened_on",
        models.F("happened_at").asc(nulls_first=True),
        "recorded_at",
        "id",
    )


class Record(models.Model):
    """Something that is changed, by actions only; `version` tells an edit what it was made from."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        abstract = True


class Word(models.Model):
    """A term of a list: a lasting code, texts by language; the society's own version stands beside the shipped one."""

    id = models.SmallAutoField(primary_key=True)
    code = models.TextField(unique=True)
    texts = models.JSONField(default=dict, help_text="language to text")
    shipped = models.JSONField(default=dict, help_text="what the program ships, to compare with")
    version = models.PositiveSmallIntegerField(default=1)
    retired = models.BooleanField(default=False)

    class Meta:
        abstract = True


def subject_of(thing: "models.Model | tuple[str, UUID]") -> str:
    """How the history names a thing: its model's name and key."""
    if isinstance(thing, models.Model):
        return f"{thing._meta.model_name}:{thing.pk}"
    return f"{thing[0]}:{thing[1]}"
