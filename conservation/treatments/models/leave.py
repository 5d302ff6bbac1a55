"""What gives leave for work: proposals, what was decided, approvals and how they end, deposits, the owner's leave."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from collection.objects.models import Component, Object
from conservation.checks.models import Finding
from museum import clock
from museum.history.models import Fact, Record
from museum.people.models import Person


class Proposal(Record):
    """What somebody would like to do on one zone of one object, and why. Returned with a remark, sent again, or withdrawn."""

    class State(models.TextChoices):
        WAITING = "waiting", _("waits for the curator")
        RETURNED = "returned", _("returned with a remark")
        APPROVED = "approved", _("approved")
        WITHDRAWN = "withdrawn", _("withdrawn")

    object = models.ForeignKey(Object, models.PROTECT, related_name="proposals")
    component = models.ForeignKey(Component, models.PROTECT, related_name="+")
    zone = models.TextField()
    surface = models.TextField(help_text="material of the layer that is touched")
    finding = models.ForeignKey(Finding, models.PROTECT, null=True, related_name="proposals")
    state = models.TextField(choices=State.choices, default=State.WAITING)
    aim = models.TextField(help_text="what is to be reached, in one sentence")
    steps = models.JSONField(default=list, help_text="in order: step, agents, words, unknown, earlier (why the lesser steps are not enough)")
    written = models.TextField(blank=True, help_text="the conservator's written proposal: its title, day and where it is filed")
    proposed_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    sent_at = models.DateTimeField(default=clock.now)

    class Meta:
        indexes = [
            models.Index(fields=["state", "sent_at"], name="proposal_waiting"),
            models.Index(fields=["object", "zone"], name="proposal_by_zone"),
        ]

    def __str__(self) -> str:
        return f"{self.zone} {self.state}"

    @property
    def zone_key(self) -> str:
        """'component/zone', as checks write it."""
        return f"{self.component_id}/{self.zone}"


class Decision(Fact):
    """What a curator decided on a proposal as it then stood, or what a conservator said to it."""

    class What(models.TextChoices):
        RETURNED = "returned", _("returned")
        ENDORSED = "endorsed", _("agreed to by a conservator")
        APPROVED = "approved", _("approved")

    proposal = models.ForeignKey(Proposal, models.PROTECT, related_name="decisions")
    of_version = models.PositiveIntegerField()
    what = models.TextField(choices=What.choices)
    remark = models.TextField(blank=True)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return self.what


class Approval(Fact):
    """Leave for one deed on one zone as it was that day. Whether it is in force is computed, never stored."""

    decision = models.ForeignKey(Decision, models.PROTECT, related_name="approvals")
    object = models.ForeignKey(Object, models.PROTECT, related_name="approvals")
    component = models.ForeignKey(Component, models.PROTECT, related_name="+")
    zone = models.TextField()
    surface = models.TextField()
    deed = models.TextField(help_text="code of the step, or its agents joined by +")
    agents = models.JSONField(default=list)
    proposed_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    approved_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    until = models.DateField()
    zone_grade = models.PositiveSmallIntegerField()
    zone_activity = models.PositiveSmallIntegerField()
    written = models.TextField(blank=True, help_text="the conservator's written proposal, as on the proposal")
    reason = models.TextField(blank=True)
    second_later = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(second_later=True) | ~Q(proposed_by=models.F("approved_by")), name="approved_by_another"),
            models.UniqueConstraint(fields=["decision", "deed", "surface"], name="deed_approved_once"),
        ]
        indexes = [models.Index(fields=["object", "zone"], name="approval_by_zone")]

    def __str__(self) -> str:
        return f"{self.deed} on {self.zone} until {self.until}"

    @property
    def zone_key(self) -> str:
        """'component/zone', as checks write it."""
        return f"{self.component_id}/{self.zone}"


class Lapse(Fact):
    """An approval ended before its day: the zone or a rule changed, or it was taken back."""

    approval = models.OneToOneField(Approval, models.PROTECT, related_name="lapse")
    why = models.TextField(help_text="zone_changed, rule_changed or taken_back")
    words = models.TextField(blank=True)

    def __str__(self) -> str:
        return self.why


class Countersign(Fact):
    """The second person's signature under an approval that had only one."""

    approval = models.OneToOneField(Approval, models.PROTECT, related_name="countersign")
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"countersigns {self.approval_id}"


class StandingApproval(Fact):
    """Leave for one person, one gentle step, one material, on any zone that is well enough."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="standing_approvals")
    step = models.TextField()
    material = models.TextField()
    given_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    giver_role = models.TextField()
    until = models.DateField()
    reason = models.TextField(blank=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=~Q(person=models.F("given_by")), name="standing_given_by_another")]
        indexes = [models.Index(fields=["person", "step"], name="standing_by_person")]

    def __str__(self) -> str:
        return f"{self.step} on {self.material} until {self.until}"


class StandingEnd(Fact):
    """A standing approval taken back."""

    standing = models.OneToOneField(StandingApproval, models.PROTECT, related_name="end")
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    reason = models.TextField(blank=True)

    def __str__(self) -> str:
        return f"ends {self.standing_id}"


class DepositDecision(Fact):
    """What a deposit is, and what a curator decided to become of it; the last one counts, each is shown for ever."""

    class What(models.TextChoices):
        KEEP = "keep", _("keep")
        KEEP_LOOSE_DUST = "keep_loose_dust", _("keep but remove loose dust")
        SAMPLE_REMOVE = "sample_remove", _("sample and remove")
        REMOVE = "remove", _("remove")

    finding = models.ForeignKey(Finding, models.PROTECT, related_name="deposit_decisions")
    kind = models.TextField()
    decision = models.TextField(choices=What.choices, blank=True, help_text="empty = only its kind is told")
    reason = models.TextField(blank=True)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(decision="") | ~Q(reason=""), name="deposit_decided_with_reason")]

    def __str__(self) -> str:
        return f"{self.kind}: {self.decision or 'undecided'}"


class DepositDefault(Fact):
    """What becomes of a kind of deposit where nobody decided on the object; the last one of a kind counts, no decision = none."""

    kind = models.TextField()
    decision = models.TextField(choices=DepositDecision.What.choices, blank=True)
    reason = models.TextField()
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.kind}: {self.decision or 'none'}"


class OwnerLeave(Fact):
    """The owner of something that is not ours gave leave in writing, for the whole object."""

    object = models.ForeignKey(Object, models.PROTECT, related_name="owner_leaves")
    letter = models.TextField(help_text="who wrote, when, and where the letter is filed")
    until = models.DateField(null=True)
    by = models.ForeignKey(Person, models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return self.letter
