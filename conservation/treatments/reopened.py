"""Finished work that a follow-up opened once more, and for which nobody has proposed anything since."""

from django.db.models import Exists, OuterRef, QuerySet

from conservation.treatments.models import REOPENING, FollowUp, Proposal


def reopened() -> "QuerySet[FollowUp]":
    """The follow-ups that ask for a new proposal, the oldest first: no later one of the same work, no proposal for the zone since."""
    later = FollowUp.objects.filter(work=OuterRef("work"), recorded_at__gt=OuterRef("recorded_at"), corrected_by=None, withdraws=False)
    answered = Proposal.objects.filter(
        object=OuterRef("work__object"), component=OuterRef("work__component"), zone=OuterRef("work__zone"), sent_at__gt=OuterRef("recorded_at")
    )  # fmt: skip
    rows = FollowUp.objects.filter(reading__in=REOPENING, corrected_by=None, withdraws=False).filter(~Exists(later), ~Exists(answered))
    return rows.select_related("work__object__card").order_by("recorded_at")
