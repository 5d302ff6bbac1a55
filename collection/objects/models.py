"""The catalogue: objects, their numbers, components and zones, and whatever is said of them."""

from typing import ClassVar

from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import DateRangeField, RangeOperators
from django.contrib.postgres.indexes import GinIndex, OpClass
from django.contrib.postgres.search import SearchVectorField
from django.db import models
from django.db.models import Q
from django.db.models.functions import Upper
from django.utils.translation import gettext_lazy as _

from collection.objects.numbers import CANONICAL_SQL
from museum import clock
from museum.history.models import Act, Fact, FactLine, Record, Word
from museum.papers.models import StoredFile
from museum.people.actor import Actor
from museum.people.models import Person


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


class ObjectQuerySet(models.QuerySet["Object"]):
    """Who may see which objects stands here and nowhere else."""

    def visible_to(self, actor: Actor) -> "ObjectQuerySet":
        """All that is not withdrawn for those who care for it; what is public for readers; nothing for others."""
        here = self.filter(withdrawn="")
        if actor.may("catalogue.see_all"):
            return here
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
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    def __str__(self) -> str:
        return f"screen of {self.object_id}"


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


class CardQuerySet(models.QuerySet["Card"]):
    """The same rule as that of objects, told by the card alone."""

    def visible_to(self, actor: Actor) -> "CardQuerySet":
        """The cards of the objects that this person may see."""
        here = self.filter(withdrawn=False)
        if actor.may("catalogue.see_all"):
            return here
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
            GinIndex(fields=["named"], name="card_named"),
            GinIndex(fields=["search"], name="card_search"),
            GinIndex(fields=["words"], name="card_words", opclasses=["gin_trgm_ops"]),
            # In capitals, as a search without regard to them compares.
            GinIndex(OpClass(Upper("place_text"), "gin_trgm_ops"), name="card_place_words"),
            GinIndex(OpClass(Upper("building_text"), "gin_trgm_ops"), name="card_building_words"),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.name}"
