"""People, the roles they hold, and the society they work for."""

from collections.abc import Iterable, Mapping
from typing import Any, ClassVar
from uuid import UUID

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.postgres.expressions import ArraySubquery
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models.functions import JSONObject, Lower
from django.utils.translation import gettext_lazy as _

from museum import clock
from museum.history.models import Fact, Record
from museum.people.permissions import ROLE_WORDS, Role
from museum.prepared import Prepared


class PersonManager(BaseUserManager["Person"]):
    def get_by_natural_key(self, username: str | None) -> "Person":
        """Sign-in ignores the case of the address."""
        return self.get(email__iexact=username or "")

    def with_roles(self) -> "models.QuerySet[Person]":
        """People whose `roles()` asks nothing more of the database."""
        facts = RoleFact.objects.filter(person=models.OuterRef("pk")).order_by("recorded_at", "id")
        row = JSONObject(role="role", given="given", until="until")
        return self.get_queryset().annotate(role_rows=ArraySubquery(facts.values(row=row)))


class Person(Record, AbstractBaseUser):
    """Somebody who signs in. Never deleted: a leaver is marked as left and keeps their acts."""

    name = models.TextField(_("name"))
    email = models.EmailField(_("e-mail"), max_length=254)
    language = models.CharField(_("language"), max_length=10, default="en")
    pin = models.CharField(max_length=128, blank=True, help_text="hashed; for changing person on a shared tablet")
    left_on = models.DateField(null=True, blank=True)
    mail_reminders = models.BooleanField(default=True)

    # Django would write this at each sign-in without an act.
    last_login = None

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    objects: ClassVar[PersonManager] = PersonManager()

    class Meta:
        verbose_name = _("person")
        verbose_name_plural = _("people")
        constraints = [models.UniqueConstraint(Lower("email"), name="person_email_once")]

    def __str__(self) -> str:
        return self.name

    @property
    def is_active(self) -> bool:  # type: ignore[override]
        """Whether the person may sign in."""
        return self.left_on is None or self.left_on > clock.today()

    def roles(self) -> frozenset[Role]:
        """The roles held today: per role the latest fact counts."""
        if (rows := getattr(self, "role_rows", None)) is not None:
            return in_force(rows)
        return in_force(RoleFact.objects.filter(person=self).order_by("recorded_at", "id").values("role", "given", "until"))


def in_force(rows: Iterable[Mapping[str, Any]]) -> frozenset[Role]:
    """The roles held today by these rows of one person's role facts, oldest first."""
    latest = {row["role"]: row for row in rows}
    today = clock.today().isoformat()
    return frozenset(Role(name) for name, row in latest.items() if row["given"] and (row["until"] is None or str(row["until"]) >= today))


class RoleFact(Fact):
    """A role given to a person, or ended. A reader's `kind` says on whose behalf they read."""

    class Reader(models.TextChoices):
        TRUSTEE = "trustee", _("trustee")
        INSURER = "insurer", _("insurer")
        AUDITOR = "auditor", _("auditor")
        BORROWER = "borrower", _("borrower")
        CONSERVATOR = "conservator", _("conservator")

    person = models.ForeignKey(Person, models.PROTECT, related_name="role_facts")
    role = models.TextField(choices=[(role.value, words) for role, words in ROLE_WORDS.items()])
    given = models.BooleanField(default=True)
    kind = models.TextField(choices=Reader.choices, blank=True)
    until = models.DateField(null=True, blank=True)

    class Meta:
        indexes = [models.Index(fields=["person", "role"], name="role_by_person")]

    def __str__(self) -> str:
        return f"{self.role} {'given' if self.given else 'ended'}"


class Qualification(Fact):
    """What a person is by training or licence, given with its evidence or ended: the latest fact of a kind counts."""

    class Kind(models.TextChoices):
        CONSERVATOR = "conservator", _("conservator")
        LICENSED_SPECIALIST = "licensed specialist", _("licensed specialist")

    person = models.ForeignKey(Person, models.PROTECT, related_name="qualifications")
    kind = models.TextField(choices=Kind.choices)
    given = models.BooleanField(default=True)
    evidence = models.TextField(blank=True, help_text="training, register, licence: what was seen; or why it ended")
    until = models.DateField(null=True, blank=True)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+", help_text="who put it on file")

    class Meta:
        indexes = [models.Index(fields=["person", "kind"], name="qualification_by_person")]
        constraints = [models.CheckConstraint(condition=~models.Q(by=models.F("person")), name="qualification_by_another")]

    def __str__(self) -> str:
        return f"{self.kind} {'given' if self.given else 'ended'}"


class CompetenceQuerySet(models.QuerySet["Competence"]):
    def with_marks(self) -> "CompetenceQuerySet":
        """Each with who signed it and when it was ended, and with the names of its people."""
        marks = CompetenceMark.objects.filter(competence=models.OuterRef("pk"))
        signed, ended = marks.filter(sort=CompetenceMark.Sort.SIGNED), marks.filter(sort=CompetenceMark.Sort.ENDED)
        return self.select_related("person", "shown_by").annotate(
            signer=models.Subquery(signed.values("by")[:1]),
            signer_name=models.Subquery(signed.values("by__name")[:1]),
            ended_on=models.Subquery(ended.values("happened_on")[:1]),
            ended_why=models.Subquery(ended.values("reason")[:1]),
        )


class Competence(Fact):
    """A person was shown one thing by another, or has long done it and another person signs for that.

    `step` is the code of a step of treatment or of a topic of the induction; it holds from the day it happened
    to `valid_to`, that day included.
    """

    person = models.ForeignKey(Person, models.PROTECT, related_name="competences")
    step = models.TextField()
    shown_by = models.ForeignKey(Person, models.PROTECT, null=True, blank=True, related_name="+")
    practice = models.TextField(blank=True, help_text="prior practice: what, how long, pictures")
    second_later = models.BooleanField(default=False, help_text="prior practice of the one curator, in force before the second signature")
    evidence = models.TextField(blank=True)
    valid_to = models.DateField()

    objects = CompetenceQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["person", "step"], name="competence_by_person"), models.Index(fields=["step", "valid_to"], name="competence_by_step")]
        constraints = [
            models.CheckConstraint(condition=models.Q(shown_by=None) | ~models.Q(shown_by=models.F("person")), name="competence_by_another"),
            models.CheckConstraint(condition=models.Q(shown_by__isnull=False) ^ ~models.Q(practice=""), name="competence_shown_or_practised"),
        ]

    def __str__(self) -> str:
        return f"{self.step} of {self.person_id}"


class CompetenceMark(Fact):
    """What happened to a competence later: another person signed for it, or it was ended."""

    class Sort(models.TextChoices):
        SIGNED = "signed", _("signed")
        ENDED = "ended", _("ended")

    competence = models.ForeignKey(Competence, models.PROTECT, related_name="marks")
    sort = models.TextField(choices=Sort.choices)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    reason = models.TextField(blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["competence", "sort"], name="competence_marked_once")]

    def __str__(self) -> str:
        return f"{self.sort} {self.competence_id}"


class InvitationQuerySet(models.QuerySet["Invitation"]):
    def in_force(self) -> "InvitationQuerySet":
        """Those that open something today: accepted, not ended, their last day not past."""
        return self.filter(person__isnull=False, ended_at=None, until__gte=clock.today())

    def opens_to(self, person_id: UUID) -> frozenset[UUID]:
        """The things that invitations open to a person today."""
        return frozenset(key for things in self.in_force().filter(person=person_id).values_list("things", flat=True) for key in things)


class Invitation(Record):
    """Asks a conservator from outside to certain things, until a day. It opens these things and no others, and is no role.

    Name and address stand here until it is accepted or ended, then only with the person.
    """

    name = models.TextField(blank=True)
    email = models.EmailField(max_length=254, blank=True)
    things = ArrayField(models.UUIDField(), help_text="keys of the objects that it opens")
    words = models.TextField(blank=True, help_text="what is asked, as it stands in the mail")
    evidence = models.TextField(help_text="how it is known that this is a conservator: training, register")
    until = models.DateField(help_text="last day, that day included")
    made_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    made_at = models.DateTimeField(default=clock.now)
    person = models.ForeignKey(Person, models.PROTECT, null=True, blank=True, related_name="invitations", help_text="who accepted it")
    accepted_at = models.DateTimeField(null=True, blank=True)
    qualification = models.ForeignKey(Qualification, models.PROTECT, null=True, blank=True, related_name="+", help_text="put on file with it")
    ended_at = models.DateTimeField(null=True, blank=True, help_text="taken back before its day")

    objects = InvitationQuerySet.as_manager()

    class Meta:
        constraints = [models.CheckConstraint(condition=~models.Q(person=models.F("made_by")), name="invitation_of_another")]
        indexes = [models.Index(fields=["person", "until"], name="invitation_by_person")]

    def __str__(self) -> str:
        return f"invitation until {self.until}"

    @property
    def is_open(self) -> bool:
        """Whether it stands: neither ended nor past its day."""
        return self.ended_at is None and self.until >= clock.today()

    @property
    def guest(self) -> str:
        """The name of who is invited."""
        return self.person.name if self.person else self.name


class Tablet(Record):
    """A browser that several people use, one after the other. Ended when it is lost or given away."""

    name = models.TextField(_("name"))
    ended_on = models.DateField(null=True, blank=True)

    def __str__(self) -> str:
        return self.name


class Society(Record):
    """The one society of this installation and what it has decided for itself."""

    #: there is one row; its key is fixed so that a second cannot be made
    KEY: ClassVar[str] = "00000000-0000-7000-8000-000000000001"

    name = models.TextField(_("name"))
    short_name = models.TextField(_("short name"), blank=True)
    address = models.TextField(_("address"), blank=True)
    email = models.EmailField(_("e-mail for questions"), blank=True)
    language = models.CharField(_("language"), max_length=10, default="en")
    currency = models.CharField(_("currency"), max_length=3, default="EUR")
    opening_days = models.JSONField(_("opening days"), default=list, help_text="ISO weekday numbers, 1 = Monday; empty = every day")
    settings = models.JSONField(default=dict, help_text="further choices by name")

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(id="00000000-0000-7000-8000-000000000001"), name="one_society")]

    def __str__(self) -> str:
        return self.name

    @classmethod
    def load(cls) -> "Society":
        """The society; an unsaved one with a working name before the first act."""
        return _SOCIETY.first() or cls(id=cls.KEY, name=str(_("Our society")))

    def choice(self, name: str, default: Any = None) -> Any:
        """A further choice by name."""
        return self.settings.get(name, default)


_SOCIETY = Prepared(lambda: Society.objects.filter(pk=Society.KEY)[:1])
