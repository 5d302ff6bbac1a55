"""Stored files, papers received and issued, signatures."""

import re
from typing import ClassVar, Final

from django.db import models
from django.db.models import Q

from museum import clock
from museum.history.models import Act, AppendOnly, Fact
from museum.ids import uuid7
from museum.people.actor import Actor
from museum.people.models import Person
from museum.people.permissions import PERMISSIONS

#: what `seen_by` says of a paper with the exact places of one walk
OF_A_WALK: Final = "place.see_exact_on_round"


class StoredFile(AppendOnly):
    """Bytes as they came, known by their SHA-256; they are on disk, synced, before this row is."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    act = models.ForeignKey(Act, models.PROTECT, related_name="+")
    sha256 = models.CharField(max_length=64, unique=True)
    size = models.BigIntegerField()
    media_type = models.TextField()
    name = models.TextField(help_text="as it was called where it came from")
    recorded_at = models.DateTimeField(default=clock.now)

    def __str__(self) -> str:
        return f"{self.name} ({self.sha256[:12]})"


class IssuedPaperQuerySet(models.QuerySet["IssuedPaper"]):
    """Who may see which papers, and how one is found again."""

    def visible_to(self, actor: Actor) -> "IssuedPaperQuerySet":
        """Each paper names the permission that its reader needs; one of a walk is for whoever had it made for it."""
        if not actor.may("paper.see"):
            return self.none()
        names = {name for name in PERMISSIONS if actor.may(name)}
        mine = Q(seen_by__in=names & {OF_A_WALK}, issued_by=actor.person)
        if "place.see_exact" not in names:
            names.discard(OF_A_WALK)
        return self.filter(Q(seen_by__in=names) | mine)

    def found_by(self, words: str) -> "IssuedPaperQuerySet":
        """By its number, or by at least eight digits of a hash as they are printed, in groups or not."""
        joined = "".join(words.split()).lower()
        if re.fullmatch(r"[0-9a-f]{8,64}", joined):
            return self.filter(Q(data_hash__startswith=joined) | Q(file__sha256__startswith=joined))
        if re.fullmatch(r"p?\d{4}\.\d+", joined):
            return self.filter(number=f"P{joined.removeprefix('p')}")
        return self.filter(title__icontains=" ".join(words.split()))


class IssuedPaper(Fact):
    """A document as it left the house: frozen, numbered, and found again by the code printed on it."""

    number = models.TextField(unique=True, help_text="as printed on it, P2026.17")
    document = models.TextField(help_text="name of a registered document")
    template_version = models.TextField()
    subject = models.UUIDField(null=True, help_text="what it is about, by key")
    address = models.TextField(blank=True, help_text="page of what it is about")
    title = models.TextField()
    seen_by = models.TextField(default="paper.see", help_text="the permission that its reader needs")
    file = models.ForeignKey(StoredFile, models.PROTECT, related_name="+")
    data = models.JSONField(help_text="what it was made from")
    data_hash = models.CharField(
        max_length=64,
        db_index=True,
        help_text="SHA-256 of the data as canonical JSON; printed on it",
    )
    issued_by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    issued_to = models.TextField(blank=True)
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, related_name="superseded_by")

    objects = IssuedPaperQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["subject", "-recorded_at"], name="paper_by_subject")]

    def __str__(self) -> str:
        return f"{self.number} {self.title}"


class Signature(Fact):
    """Who signed which content, in which capacity, and how."""

    paper = models.ForeignKey(IssuedPaper, models.PROTECT, related_name="signatures")
    person = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    name = models.TextField()
    capacity = models.TextField()
    content_hash = models.CharField(max_length=64)
    how = models.TextField(help_text="drawn, typed, on paper")

    ORDER: ClassVar = Fact.ORDER

    def __str__(self) -> str:
        return f"{self.name} on {self.paper_id}"
