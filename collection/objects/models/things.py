"""What a thing is: objects, their parts and numbers, what is planned with them."""

from typing import ClassVar

from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import DateRangeField, RangeOperators
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from collection.objects.models.words import Kind
from collection.objects.numbers import CANONICAL_SQL
from museum import clock
from museum.history.models import Record
from museum.people.actor import Actor
from museum.people.models import Person


class ObjectQuerySet(models.QuerySet["Object"]):
    """Who may see which objects stands here and nowhere else."""

    def in_care(self) -> "ObjectQuerySet":
        """All whose record was not taken back."""
        return self.filter(withdrawn="")

    def visible_to(self, actor: Actor) -> "ObjectQuerySet":
        """All that is not withdrawn for those who care for it; what is public for readers; what they are invited to for guests."""
        here = self.in_care()
        if actor.may("catalogue.see_all"):
            return here
        if actor.invited:
            return here.filter(pk__in=actor.invited)
        return here.filter(public=True) if actor.may("catalogue.see") else self.none()


class Object(Record):
    """A thing in care, whole. Its main component exists from birth."""

    kind = models.ForeignKey(Kind, models.PROTECT, related_name="things")
    outline_set = models.TextField(blank=True, help_text="where it departs from its kind")
    how_many = models.PositiveIntegerField(default=1)
    public = models.BooleanField(default=False)
    created_on = models.DateField(default=clock.today, help_text="day it came into care, as far as known here")
    withdrawn = models.TextField(blank=True, help_text="why this record was taken back, e.g. an undone import")

    objects = ObjectQuerySet.as_manager()

    def __str__(self) -> str:
        return str(self.pk)


class Component(Record):
    """A part of an object: main, fixed on it, loose beside it, kept after removal, or added later."""

    class Sort(models.TextChoices):
        MAIN = "main", _("the whole")
        FIXED = "fixed", _("fixed")
        LOOSE = "loose", _("loose")
        RETAINED = "retained", _("kept after removal")
        ADDED = "added", _("added later")

    object = models.ForeignKey(Object, models.PROTECT, related_name="components")
    sort = models.TextField(choices=Sort.choices)
    name = models.TextField(blank=True)
    letter = models.TextField(blank=True, help_text="never given twice within an object")
    fixed_to = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="+")
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["object"], condition=Q(sort="main"), name="one_main_component"),
            models.UniqueConstraint(fields=["object", "letter"], condition=~Q(letter=""), name="part_letter_once"),
            models.CheckConstraint(condition=Q(letter__regex=r"^[a-z]{0,2}$"), name="part_letter_form"),
            models.CheckConstraint(condition=Q(sort="main", letter__in=["", "a"]) | ~Q(sort="main") & ~Q(letter="a"), name="whole_is_a"),
            models.CheckConstraint(condition=~Q(sort="main") | Q(fixed_to=None), name="whole_is_fixed_to_nothing"),
        ]

    def __str__(self) -> str:
        return f"{self.letter} {self.name}".strip() or self.sort

    #: sorts of component that stand in a place of their own; the others go with what they are fixed to
    PLACED: ClassVar[tuple[str, ...]] = ("main", "loose", "retained")


class Number(Record):
    """A number of an object or a part. Issued numbers stay issued, even when void."""

    class Series(models.TextChoices):
        ACCESSION = "accession", _("accession number")
        ENTRY = "entry", _("entry number")
        TEMPORARY = "temporary", _("temporary number")
        LOAN_IN = "loan_in", _("loan-in number")
        AS_WRITTEN = "as_written", _("number as written")

    class State(models.TextChoices):
        CURRENT = "current", _("current")
        FORMER = "former", _("former")
        VOID = "void", _("void")
        WITHDRAWN = "withdrawn", _("withdrawn")

    OURS: ClassVar[tuple[str, ...]] = ("accession", "entry", "temporary", "loan_in")

    object = models.ForeignKey(Object, models.PROTECT, related_name="numbers")
    component = models.ForeignKey(Component, models.PROTECT, null=True, blank=True, related_name="numbers")
    series = models.TextField(choices=Series.choices)
    state = models.TextField(choices=State.choices, default=State.CURRENT)
    text = models.TextField(help_text="canonical in our series, else as written")
    sort_key = models.TextField()
    given_on = models.DateField(default=clock.today)
    ended_on = models.DateField(null=True, blank=True)
    reason = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["text"],
                condition=Q(series__in=["accession", "entry", "temporary", "loan_in"]) & ~Q(state="withdrawn"),
                name="our_number_once",
            ),
            models.UniqueConstraint(fields=["text"], condition=Q(series="as_written", state="current"), name="written_number_once"),
            models.UniqueConstraint(
                fields=["object"],
                condition=Q(series="accession", state="current", component=None),
                name="one_accession_number",
            ),
            models.CheckConstraint(condition=Q(series="as_written") | Q(text__regex=CANONICAL_SQL), name="our_number_form"),
        ]
        indexes = [
            models.Index(fields=["sort_key"], name="number_order"),
            models.Index(fields=["text"], name="number_text"),
            models.Index(fields=["object"], condition=Q(series="temporary", state="current", component=None), name="number_temporary"),
        ]

    def __str__(self) -> str:
        return self.text


class Counter(models.Model):
    """The last lot (or running number) of a series and year, counted under a lock."""

    series = models.TextField()
    year = models.PositiveSmallIntegerField()
    last = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["series", "year"], name="one_counter")]

    def __str__(self) -> str:
        return f"{self.series} {self.year}: {self.last}"


class Booking(Record):
    """A use that is coming, of one component (of the object = of its main one): both days included."""

    class Kind(models.TextChoices):
        LOAN = "loan", _("loan")
        DISPLAY = "display", _("display")
        MOVE = "move", _("move")
        WORK = "work", _("work on it")
        USE = "use", _("use or handling")

    class Standing(models.TextChoices):
        ASKED = "asked", _("asked for")
        FIRM = "firm", _("firm")
        CANCELLED = "cancelled", _("cancelled")

    object = models.ForeignKey(Object, models.PROTECT, related_name="bookings")
    component = models.ForeignKey(Component, models.PROTECT, related_name="bookings")
    kind = models.TextField(choices=Kind.choices)
    standing = models.TextField(choices=Standing.choices, default=Standing.ASKED)
    from_on = models.DateField()
    until_on = models.DateField()
    purpose = models.TextField(blank=True)
    booked_by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    booked_at = models.DateTimeField(default=clock.now)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(until_on__gte=models.F("from_on")), name="booking_ends_after_it_begins"),
            ExclusionConstraint(
                name="lent_once_at_a_time",
                expressions=[
                    ("component", RangeOperators.EQUAL),
                    (models.Func("from_on", "until_on", models.Value("[]"), function="daterange", output_field=DateRangeField()), RangeOperators.OVERLAPS),
                ],
                condition=Q(kind="loan", standing="firm"),
            ),
        ]
        indexes = [
            models.Index(fields=["object", "from_on"], name="booking_by_object"),
            models.Index(fields=["from_on"], name="booking_by_day", condition=~Q(standing="cancelled")),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.from_on} to {self.until_on}"
