"""Condition checks, the lasting findings they see, what they add up to, and what is due."""

from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils.functional import cached_property
from django.utils.translation import gettext_lazy as _

from collection.objects.models import Component, Object
from locations.places.models import Place
from museum import clock
from museum.history.models import Act, Fact, FactLine, Record
from museum.people.models import Person


class ConditionCheck(Fact):
    """One look at one object: quick, full or a follow-up. `looks` says zone by zone what was answered."""

    class Sort(models.TextChoices):
        QUICK = "quick", _("quick look")
        FULL = "full", _("full check")
        FOLLOW_UP = "follow_up", _("follow-up")

    class Purpose(models.TextChoices):
        ROUTINE = "routine", _("routine")
        EVENT = "event", _("after an event")
        LOAN = "loan", _("stage of a loan")
        ARRIVAL = "arrival", _("on arrival")
        CARD = "card", _("a card was read")

    object = models.ForeignKey(Object, models.PROTECT, related_name="condition_checks")
    sort = models.TextField(choices=Sort.choices)
    purpose = models.TextField(choices=Purpose.choices, default=Purpose.ROUTINE)
    stage = models.TextField(blank=True, help_text="of a loan line: outgoing, arrival, departure, return")
    author = models.ForeignKey(Person, models.PROTECT, related_name="+")
    looks = models.JSONField(default=dict, help_text="'component key/zone' to nothing, findings, not_visible, not_checked")
    result = models.TextField(blank=True, help_text="of a quick look: nothing_new or needs_full")
    no_treatment = models.BooleanField(default=False, help_text="the checker states that no treatment is needed")
    wet = models.BooleanField(default=False)
    unsecured_part = models.BooleanField(default=False)
    note = models.TextField(blank=True)
    limits = models.TextField(blank=True, help_text="what could not be looked at, and how it was looked at")
    suspect_clock = models.BooleanField(default=False)

    class Meta:
        indexes = [models.Index(fields=["object", "-happened_on"], name="condition_check_by_object")]

    def __str__(self) -> str:
        return f"{self.sort} of {self.object_id} on {self.happened_on}"

    @cached_property
    def seen(self) -> "list[Observation]":
        """What it saw, with the findings, in the order of the walk."""
        return list(self.observations.select_related("finding").order_by("position", "id"))


class Finding(FactLine):
    """The lasting trouble: at one zone of one component. What each check saw of it are its observations."""

    act = models.ForeignKey(Act, models.PROTECT, related_name="+")
    object = models.ForeignKey(Object, models.PROTECT, related_name="findings")
    component = models.ForeignKey(Component, models.PROTECT, related_name="findings")
    zone = models.TextField()
    side = models.TextField(blank=True, help_text="F B L R T U: wearer's side")
    hour = models.PositiveSmallIntegerField(null=True, help_text="clock hour seen from above, 12 at the front")
    view = models.TextField(blank=True, help_text="of the drawing")
    x = models.FloatField(null=True, help_text="in the 400 x 400 of the drawing's view")
    y = models.FloatField(null=True)
    recorded_at = models.DateTimeField(default=clock.now)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(hour=None) | Q(hour__range=(1, 12)), name="clock_hour_range")]
        indexes = [models.Index(fields=["object"], name="finding_by_object")]

    def __str__(self) -> str:
        return f"{self.zone} {self.pk}"


class Observation(FactLine):
    """What one check saw of one finding."""

    class Change(models.TextChoices):
        NEW = "new", _("new")
        GROWN = "grown", _("grown")
        SAME = "same", _("same")
        LESS = "less", _("less")
        TREATED = "treated", _("treated")
        GONE = "gone", _("gone")
        NOT_VISIBLE = "not_visible", _("not visible")
        NOT_CHECKED = "not_checked", _("not checked")

    act = models.ForeignKey(Act, models.PROTECT, related_name="+")
    of_check = models.ForeignKey(ConditionCheck, models.PROTECT, related_name="observations")
    finding = models.ForeignKey(Finding, models.PROTECT, related_name="observations")
    term = models.TextField()
    material = models.TextField(blank=True)
    percent = models.DecimalField(max_digits=5, decimal_places=2, null=True)
    severity = models.PositiveSmallIntegerField(null=True)
    activity = models.PositiveSmallIntegerField(null=True, help_text="0 to 3; 1 = not known")
    size_mm = models.DecimalField(max_digits=7, decimal_places=1, null=True)
    change = models.TextField(choices=Change.choices)
    note = models.TextField(blank=True)
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["of_check", "finding"], name="observed_once_a_check"),
            models.CheckConstraint(condition=Q(percent=None) | Q(percent__gt=0, percent__lte=100), name="percent_range"),
            models.CheckConstraint(condition=Q(severity=None) | Q(severity__range=(1, 4)), name="severity_range"),
            models.CheckConstraint(condition=Q(activity=None) | Q(activity__lte=3), name="activity_range"),
            models.CheckConstraint(
                condition=Q(change__in=["gone", "not_visible", "not_checked"]) | Q(percent__isnull=False, severity__isnull=False),
                name="seen_means_measured",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.term} {self.percent}"


class Judgement(Fact):
    """What the rules made of an object's observations; kept when it differs from the last."""

    object = models.ForeignKey(Object, models.PROTECT, related_name="judgements")
    of_check = models.ForeignKey(ConditionCheck, models.PROTECT, null=True, related_name="judgements")
    rules_version = models.TextField()
    inputs = models.JSONField()
    result = models.JSONField()
    reasons = models.JSONField(help_text="codes with their values; words are made when shown")
    grade = models.PositiveSmallIntegerField()
    activity = models.PositiveSmallIntegerField()
    urgency = models.PositiveSmallIntegerField()

    class Meta:
        indexes = [models.Index(fields=["object", "-recorded_at"], name="judgement_by_object")]

    def __str__(self) -> str:
        return f"grade {self.grade}, urgency {self.urgency}"


class Overrule(Fact):
    """A person's own grade or urgency beside the computed one, with the reason; holds until the next graded check."""

    judgement = models.ForeignKey(Judgement, models.PROTECT, related_name="overrules")
    what = models.TextField(choices=[("grade", _("grade")), ("urgency", _("urgency"))])
    value = models.PositiveSmallIntegerField()
    reason = models.TextField()
    author = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(value__lte=3), name="overrule_range")]

    def __str__(self) -> str:
        return f"{self.what} {self.value}"


class State(models.Model):
    """What is in force for an object: made from the facts, rebuilt at will."""

    object = models.OneToOneField(Object, models.CASCADE, primary_key=True, related_name="condition_state")
    judgement = models.ForeignKey(Judgement, models.CASCADE, null=True, related_name="+")
    grade = models.PositiveSmallIntegerField(null=True)
    activity = models.PositiveSmallIntegerField(null=True)
    urgency = models.PositiveSmallIntegerField(null=True)
    hold = models.BooleanField(default=False)
    last_full = models.DateField(null=True)
    last_any = models.DateField(null=True)
    rules_version = models.TextField(default="", help_text="of the rules by which it is dated")
    open_findings = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"grade {self.grade}"


class Call(Fact):
    """A look asked for: a follow-up, an alarm, an event, a card to read."""

    object = models.ForeignKey(Object, models.PROTECT, related_name="calls")
    why = models.TextField(help_text="code: follow_up, event, neighbour, quarantine, ...")
    sort = models.TextField(choices=ConditionCheck.Sort.choices)
    due_on = models.DateField()
    reason = models.TextField()
    zones = models.JSONField(default=list)
    source = models.UUIDField(null=True, help_text="the fact it follows from, by key")

    class Meta:
        indexes = [models.Index(fields=["object", "due_on"], name="call_by_object")]

    def __str__(self) -> str:
        return f"{self.why} due {self.due_on}"


class CallAnswer(FactLine):
    """Closes a call: by a check, or with a reason why not."""

    act = models.ForeignKey(Act, models.PROTECT, related_name="+")
    call = models.OneToOneField(Call, models.PROTECT, related_name="answer")
    of_check = models.ForeignKey(ConditionCheck, models.PROTECT, null=True, related_name="+")
    reason = models.TextField(blank=True)
    recorded_at = models.DateTimeField(default=clock.now)

    def __str__(self) -> str:
        return f"answers {self.call_id}"


class Due(models.Model):
    """What is due when: interval dates and open calls; made from the facts, rebuilt at will."""

    object = models.ForeignKey(Object, models.CASCADE, related_name="due")
    sort = models.TextField(choices=ConditionCheck.Sort.choices)
    why = models.TextField(help_text="interval, or the code of the call")
    on = models.DateField()
    call = models.OneToOneField(Call, models.CASCADE, null=True, related_name="due")
    urgency = models.PositiveSmallIntegerField(default=0)
    place = models.ForeignKey(Place, models.SET_NULL, null=True, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["object", "sort"], condition=Q(call=None), name="one_interval_date")]
        indexes = [
            models.Index(fields=["on", "object"], name="due_on"),
            models.Index(fields=["-urgency", "on", "id"], name="due_urgent_first"),
        ]

    def __str__(self) -> str:
        return f"{self.sort} due {self.on}"


class CardTest(Record):
    """A clean card laid under a thing or one of its zones, read after 28 days: what fell on it says whether it is active."""

    class Card(models.TextChoices):
        WHITE = "white", _("white card")
        BLACK = "black", _("black card, for white powder")

    class Reading(models.TextChoices):
        POWDER = "powder", _("powder or flakes on the card")
        PELLETS = "pellets", _("pellets, webbing or something moving")
        CLEAN = "clean", _("clean")
        SPOILED = "spoiled", _("card moved or lost: nothing can be said")

    #: what was read to the activity it settles; a spoiled card settles nothing
    ACTIVITY: ClassVar = {Reading.POWDER: 2, Reading.PELLETS: 2, Reading.CLEAN: 0}

    object = models.ForeignKey(Object, models.PROTECT, related_name="card_tests")
    zone = models.TextField(blank=True, help_text="'component key/zone'; empty = under the whole")
    finding = models.ForeignKey(Finding, models.PROTECT, null=True, related_name="card_tests")
    card = models.TextField(choices=Card.choices, default=Card.WHITE)
    started_on = models.DateField()
    started_by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    due_on = models.DateField()
    photograph = models.UUIDField(null=True, help_text="of the card as it was laid")
    note = models.TextField(blank=True)
    read_on = models.DateField(null=True)
    read_by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    reading = models.TextField(choices=Reading.choices, blank=True)
    read_note = models.TextField(blank=True)
    of_check = models.ForeignKey(ConditionCheck, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["object", "zone"], condition=Q(reading=""), name="one_card_at_a_spot"),
            models.CheckConstraint(condition=Q(reading="") ^ Q(read_on__isnull=False), name="card_read_on_a_day"),
        ]
        indexes = [models.Index(fields=["reading", "due_on"], name="card_test_due")]

    def __str__(self) -> str:
        return f"{self.card} card due {self.due_on}"


class Incident(Record):
    """An outbreak of mould or insects in a room: what is at risk, what was done, until it is over."""

    class Kind(models.TextChoices):
        MOULD = "mould", _("mould outbreak")
        INSECTS = "insects", _("insects")

    kind = models.TextField(choices=Kind.choices)
    place = models.ForeignKey(Place, models.PROTECT, related_name="incidents")
    opened_on = models.DateField()
    opened_by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    note = models.TextField(blank=True)
    square_metres = models.DecimalField(max_digits=6, decimal_places=2, null=True, help_text="of growth, where it is mould")
    source = models.TextField(blank=True, help_text="of the damp, or how the insects came in; empty = not found yet")
    job = models.UUIDField(null=True)
    listed_at = models.DateTimeField(null=True, help_text="when all that is at risk was listed")
    closed_on = models.DateField(null=True)
    closed_by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    highest_rh = models.DecimalField(max_digits=4, decimal_places=1, null=True, help_text="percent, of the climate record it was closed with")
    record_from = models.DateField(null=True)
    close_reason = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["place", "kind"], condition=Q(closed_on=None), name="one_open_incident_of_a_kind"),
            models.CheckConstraint(
                condition=Q(closed_on=None) | Q(highest_rh__isnull=False, record_from__isnull=False) | ~Q(close_reason=""), name="incident_closed_with_evidence"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.opened_on}"


class IncidentStep(Fact):
    """One thing done in an incident."""

    class Kind(models.TextChoices):
        PROTECTED = "protected", _("people protected, room closed off")
        ISOLATED = "isolated", _("things isolated")
        SOURCE = "source", _("source found")
        DRIED = "dried", _("room dried or cleaned")
        TRAPS = "traps", _("traps set or read")
        SPECIALIST = "specialist", _("specialist asked")
        OTHER = "other", _("something else")

    incident = models.ForeignKey(Incident, models.PROTECT, related_name="steps")
    kind = models.TextField(choices=Kind.choices)
    note = models.TextField(blank=True)
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    def __str__(self) -> str:
        return f"{self.kind} on {self.happened_on}"


class AtRisk(FactLine):
    """A thing that stood in the room when the incident was opened, and for which of its materials it is at risk."""

    act = models.ForeignKey(Act, models.PROTECT, related_name="+")
    incident = models.ForeignKey(Incident, models.PROTECT, related_name="at_risk")
    object = models.ForeignKey(Object, models.PROTECT, related_name="+")
    material = models.TextField(help_text="the one most at risk")
    place_text = models.TextField(blank=True)
    position = models.PositiveIntegerField(help_text="in walking order")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["incident", "object"], name="at_risk_once")]
        indexes = [models.Index(fields=["incident", "material", "position"], name="at_risk_by_material")]

    def __str__(self) -> str:
        return f"{self.material} {self.object_id}"


class Round(Record):
    """A walking list of what is due, shared by those who walk it."""

    name = models.TextField()
    place = models.ForeignKey(Place, models.PROTECT, null=True, related_name="rounds")
    due_by = models.DateField()
    made_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    created_at = models.DateTimeField(default=clock.now)
    closed_at = models.DateTimeField(null=True)
    walkers = models.ManyToManyField(Person, related_name="rounds")
    incident = models.ForeignKey(Incident, models.PROTECT, null=True, related_name="rounds")

    def __str__(self) -> str:
        return self.name


class Stop(Record):
    """One object on a round. Claimed for a while by whoever stands there, done by their check."""

    round = models.ForeignKey(Round, models.CASCADE, related_name="stops")
    object = models.ForeignKey(Object, models.PROTECT, related_name="stops")
    position = models.PositiveIntegerField()
    sort = models.TextField(choices=ConditionCheck.Sort.choices)
    why = models.TextField()
    claimed_by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    claimed_until = models.DateTimeField(null=True)
    done_by = models.ForeignKey(ConditionCheck, models.PROTECT, null=True, related_name="+")
    left_out = models.TextField(blank=True, help_text="why it was not looked at")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["round", "object"], name="stop_once")]
        indexes = [models.Index(fields=["object"], name="stop_by_object")]

    def __str__(self) -> str:
        return f"stop {self.position}"


class Draft(Record):
    """One person's unfinished check of one object, saved at every change; cleared when recorded."""

    person = models.ForeignKey(Person, models.CASCADE, related_name="check_drafts")
    object = models.ForeignKey(Object, models.CASCADE, related_name="check_drafts")
    sort = models.TextField(choices=ConditionCheck.Sort.choices)
    content = models.JSONField(default=dict)
    round_stop = models.ForeignKey(Stop, models.SET_NULL, null=True, related_name="+")
    saved_at = models.DateTimeField(default=clock.now)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person", "object"], name="one_draft_each")]

    def __str__(self) -> str:
        return f"draft of {self.person_id}"


class Reminder(models.Model):
    """One person's mail of one day: claimed before it is sent, so that it is never sent twice."""

    class State(models.TextChoices):
        CLAIMED = "claimed", _("sending not known")
        SENT = "sent", _("sent")
        FAILED = "failed", _("not sent")

    person = models.ForeignKey(Person, models.CASCADE, related_name="reminders")
    day = models.DateField()
    state = models.TextField(choices=State.choices, default=State.CLAIMED)
    claimed_at = models.DateTimeField(default=clock.now)
    error = models.TextField(blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person", "day"], name="one_reminder_a_day")]

    def __str__(self) -> str:
        return f"{self.day} {self.state}"


class AlarmMail(models.Model):
    """That a person was told of an alarm of the climate that it was raised, or is over: claimed before the mail is sent, so that it is never told twice.

    Several may be parts of one mail. One that failed counts as not told. An alarm that was told as over and goes on after all is told a second
    time, `times` counts.
    """

    class Says(models.TextChoices):
        RAISED = "raised", _("raised")
        OVER = "over", _("over")

    person = models.ForeignKey(Person, models.CASCADE, related_name="alarm_mails")
    thread = models.UUIDField(help_text="the alarm, by the key of its first fact")
    says = models.TextField(choices=Says.choices)
    times = models.PositiveSmallIntegerField(default=1)
    state = models.TextField(choices=Reminder.State.choices, default=Reminder.State.CLAIMED)
    claimed_at = models.DateTimeField(default=clock.now)
    error = models.TextField(blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person", "thread", "says", "times"], name="one_mail_an_alarm")]

    def __str__(self) -> str:
        return f"{self.says} {self.state}"


class Event(Fact):
    """Something that ignores the calendar: a leak, a fall, an insect, a damp room. It calls for looks."""

    kind = models.TextField(help_text="code of the event table of the rules")
    place = models.ForeignKey(Place, models.PROTECT, null=True, related_name="+")
    object = models.ForeignKey(Object, models.PROTECT, null=True, related_name="+")
    note = models.TextField(blank=True)
    author = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(place=None) ^ Q(object=None), name="event_of_place_or_object")]

    def __str__(self) -> str:
        return f"{self.kind} on {self.happened_on}"


class Mark(models.Model):
    """How far this part has read the history of what lower parts changed."""

    name = models.TextField(primary_key=True)
    n = models.BigIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.name} {self.n}"


class Unjudged(models.Model):
    """An object at which judging or dating broke off: what stands of it may be out of date until it succeeds."""

    object = models.OneToOneField(Object, models.CASCADE, primary_key=True, related_name="+")
    since = models.DateTimeField(default=clock.now)
    tried_at = models.DateTimeField(default=clock.now)

    def __str__(self) -> str:
        return f"{self.object_id} since {self.since:%Y-%m-%d}"
