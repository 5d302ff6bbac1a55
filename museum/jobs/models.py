"""Background work as a person sees it; its rows are also the outbox from which it is sent."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from museum import clock
from museum.history.models import Record
from museum.people.actor import Actor
from museum.people.models import Person


class JobQuerySet(models.QuerySet["Job"]):
    """Whose jobs may be seen by whom."""

    def owned_by(self, actor: Actor) -> "JobQuerySet":
        """Their own. On a shared tablet only what was asked there: the rest is for their own device."""
        own = self.filter(owner=actor.person) if actor.person is not None else self.none()
        return own.filter(tablet=True) if actor.tablet else own


class Job(Record):
    """One piece of slow work: whose it is, how far it is, what came of it. Cleared when expired."""

    class State(models.TextChoices):
        WAITING = "waiting", _("waiting")
        RUNNING = "running", _("at work")
        DONE = "done", _("done")
        FAILED = "failed", _("failed")

    kind = models.TextField(help_text="name of a registered job kind")
    title = models.TextField()
    owner = models.ForeignKey(Person, models.PROTECT, null=True, related_name="jobs")
    tablet = models.BooleanField(default=False, help_text="asked on a shared tablet: its rights count")
    arguments = models.JSONField(default=dict, help_text="keys and plain values only")
    state = models.TextField(choices=State.choices, default=State.WAITING)
    done = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(null=True)
    says = models.TextField(blank=True, help_text="what it is doing, in words")
    error = models.TextField(blank=True, help_text="what went wrong and what to do, in words")
    result = models.JSONField(null=True, help_text="{'address', 'name'} or {'file', 'name', 'media_type', 'size'}")
    attempts = models.PositiveSmallIntegerField(default=0)
    offered_at = models.DateTimeField(null=True, help_text="last sent to the broker")
    created_at = models.DateTimeField(default=clock.now)
    started_at = models.DateTimeField(null=True)
    heard_at = models.DateTimeField(null=True, help_text="last sign of life of its worker")
    ended_at = models.DateTimeField(null=True)
    expires_at = models.DateTimeField(null=True)

    objects = JobQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["state", "created_at"], name="job_waiting", condition=Q(state__in=["waiting", "running"])),
            models.Index(fields=["owner", "-created_at"], name="job_by_owner"),
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def over(self) -> bool:
        """Whether nothing more will happen by itself."""
        return self.state in {self.State.DONE, self.State.FAILED}

    @property
    def percent(self) -> int | None:
        """How much of it is done, where that is known."""
        if self.state == self.State.DONE:
            return 100
        return min(100, 100 * self.done // self.total) if self.total else None
