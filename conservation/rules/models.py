"""The rule tables as they were shipped and as the society changed them: one row a version, added and never changed."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from museum import clock
from museum.history.models import Act, AppendOnly
from museum.people.models import Person


class RuleVersion(AppendOnly):
    """One version of one row of a rule table."""

    n = models.BigAutoField(primary_key=True)
    act = models.ForeignKey(Act, models.PROTECT, related_name="+")
    table = models.TextField()
    code = models.TextField()
    version = models.PositiveIntegerField(help_text="counts within its row, from 1")
    content = models.JSONField(null=True)
    recorded_at = models.DateTimeField(default=clock.now)

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return f"{self.table} {self.code} {self.version}"


class ShippedRow(RuleVersion):
    """As a release of the program brought it; without content it is shipped no more."""

    class Meta:
        constraints = [models.UniqueConstraint(fields=["table", "code", "version"], name="shipped_row_version")]


class RuleChange(RuleVersion):
    """As the society wants it, with the reason, or taken back so that the shipped row counts again.

    `over` is the shipped version beside which it was made: where a later one is shipped, the change stays and the
    page says that the shipped row has moved.
    """

    over = models.PositiveIntegerField(default=0)
    withdrawn = models.BooleanField(default=False)
    source = models.TextField(blank=True)
    reason = models.TextField()
    author = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+", verbose_name=_("by"))

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["table", "code", "version"], name="rule_change_version"),
            models.CheckConstraint(condition=~Q(reason=""), name="rule_change_has_reason"),
            models.CheckConstraint(condition=Q(withdrawn=True) ^ Q(content__isnull=False), name="rule_change_has_content"),
        ]
