"""Work as it was done: sessions on one zone, their test spots and steps, how they ended, what came off and was kept."""

from datetime import datetime, timedelta

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from collection.objects.models import Component, Object
from conservation.checks.models import ConditionCheck, Finding
from museum.history.models import Fact
from museum.people.models import Person


class Work(Fact):
    """One session of one person on one zone, begun. Steps follow; it is over with its end."""

    object = models.ForeignKey(Object, models.PROTECT, related_name="works")
    component = models.ForeignKey(Component, models.PROTECT, related_name="+")
    zone = models.TextField()
    finding = models.ForeignKey(Finding, models.PROTECT, null=True, related_name="works")
    person = models.ForeignKey(Person, models.PROTECT, related_name="works")
    beside = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+", help_text="the competent person beside a learner")
    before = models.JSONField(default=list, help_text="keys of the photographs from before")

    class Meta:
        indexes = [models.Index(fields=["object", "-recorded_at"], name="work_by_object")]

    def __str__(self) -> str:
        return f"work on {self.zone} {self.happened_on}"

    @property
    def zone_key(self) -> str:
        """'component/zone', as checks write it."""
        return f"{self.component_id}/{self.zone}"


class TestSpot(Fact):
    """What a spot of ten millimetres showed before a step went on."""

    __test__ = False

    work = models.ForeignKey(Work, models.PROTECT, related_name="test_spots")
    deed = models.TextField()
    surface = models.TextField()
    unchanged = models.BooleanField(help_text="nothing changed: the step may go on")
    note = models.TextField(blank=True)

    def __str__(self) -> str:
        return f"{self.deed} {'unchanged' if self.unchanged else 'changed'}"


class Wait(Fact):
    """A waiting time of a step, begun when it happened; the last one of a step counts, on whatever device it was begun."""

    work = models.ForeignKey(Work, models.PROTECT, related_name="waits")
    step = models.TextField()
    minutes = models.PositiveIntegerField(help_text="as its sequence says that day")

    def __str__(self) -> str:
        return f"{self.step} waits {self.minutes} minutes"

    @property
    def over_at(self) -> datetime:
        """When it is over, by the clock of the house."""
        return (self.happened_at or self.recorded_at) + timedelta(minutes=self.minutes)


class WorkStep(Fact):
    """One step of a session: done, or stopped at a stop sign."""

    class Result(models.TextChoices):
        DONE = "done", _("done")
        STOPPED = "stopped", _("stopped")

    work = models.ForeignKey(Work, models.PROTECT, related_name="steps")
    step = models.TextField(blank=True)
    agents = models.JSONField(default=list)
    surface = models.TextField()
    result = models.TextField(choices=Result.choices)
    approval = models.UUIDField(null=True, help_text="the approval or standing approval it rests on, by key")
    rules_version = models.TextField()
    acknowledged = models.JSONField(default=list, help_text="codes of the cautions that were ticked")
    amounts = models.TextField(blank=True)
    batches = models.TextField(blank=True)
    minutes = models.PositiveIntegerField(null=True)
    climate = models.TextField(blank=True, help_text="of the room at the time, as somebody read it")
    reading = models.JSONField(null=True, blank=True, help_text="what the room's logger said: logger, place, at, t, rh; null = none spoke of late")
    note = models.TextField(blank=True)
    photographs = models.JSONField(default=list)

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(result="stopped") | ~Q(note=""), name="stopped_says_why")]

    def __str__(self) -> str:
        return f"{self.step} {self.result}"


class WorkEnd(Fact):
    """The session is over: photographs from the same views, when to look again."""

    work = models.OneToOneField(Work, models.PROTECT, related_name="end")
    after = models.JSONField(default=list, help_text="keys of the photographs from after")
    kinds = models.JSONField(default=list, help_text="kinds of work, for the days of the follow-ups")
    note = models.TextField(blank=True)

    def __str__(self) -> str:
        return f"end of {self.work_id}"


class FollowUp(Fact):
    """What was seen when somebody looked again at finished work: the finding closes, stays, or is open once more."""

    class Reading(models.TextChoices):
        GONE = "gone", _("the trouble has not come back")
        HOLDS = "holds", _("as it was after the work, nothing new")
        SOAP = "soap", _("soap has re-formed")
        POWDER = "powder", _("powder on the card or under it")
        WAX = "wax", _("the wax does not buff any more")
        WORSE = "worse", _("something else has changed for the worse")

    work = models.ForeignKey(Work, models.PROTECT, related_name="follow_ups")
    of_check = models.ForeignKey(ConditionCheck, models.PROTECT, related_name="+")
    reading = models.TextField(choices=Reading.choices)
    note = models.TextField(blank=True)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(reading="worse") | ~Q(note=""), name="worse_says_what")]

    def __str__(self) -> str:
        return f"{self.reading} after {self.work_id}"

    @property
    def reopens(self) -> bool:
        """Whether there is a reason for a new proposal."""
        return self.reading in REOPENING


#: readings after which something is to be proposed again (reference 4.5: nothing is re-treated by calendar)
REOPENING = frozenset({FollowUp.Reading.SOAP, FollowUp.Reading.POWDER, FollowUp.Reading.WAX, FollowUp.Reading.WORSE})


class Practice(Fact):
    """A step tried on a practice piece that belongs to no collection; the ten questions were answered of it first."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="practices")
    step = models.TextField()
    piece = models.TextField(help_text="what it was tried on")
    screen = models.JSONField(help_text="question number to no, of the piece")
    beside = models.ForeignKey(Person, models.PROTECT, null=True, blank=True, related_name="+", help_text="who showed it")
    went = models.TextField(blank=True, help_text="how it went")

    class Meta:
        indexes = [models.Index(fields=["person", "step"], name="practice_by_person")]
        constraints = [models.CheckConstraint(condition=Q(beside=None) | ~Q(beside=models.F("person")), name="practice_beside_another")]

    def __str__(self) -> str:
        return f"{self.step} on {self.piece}"


class Kept(Fact):
    """What came off and was kept: removed from where, by whom, because of what, in which bag."""

    work = models.ForeignKey(Work, models.PROTECT, related_name="kept")
    component = models.OneToOneField(Component, models.PROTECT, related_name="kept")
    because = models.TextField()
    bag = models.TextField(blank=True)

    def __str__(self) -> str:
        return f"kept {self.component_id}"
