"""From proposal to approval to work; each table in the module that is named for what it is about."""

from conservation.treatments.models.leave import (
    Approval,
    Countersign,
    Decision,
    DepositDecision,
    DepositDefault,
    Lapse,
    OwnerLeave,
    Proposal,
    StandingApproval,
    StandingEnd,
)
from conservation.treatments.models.stock import Batch, BatchMark, BatchTest, BatchUse, SafetySheet
from conservation.treatments.models.work import REOPENING, FollowUp, Kept, Practice, TestSpot, Wait, Work, WorkEnd, WorkStep

__all__ = [
    "REOPENING",
    "Approval",
    "Batch",
    "BatchMark",
    "BatchTest",
    "BatchUse",
    "Countersign",
    "Decision",
    "DepositDecision",
    "DepositDefault",
    "FollowUp",
    "Kept",
    "Lapse",
    "OwnerLeave",
    "Practice",
    "Proposal",
    "SafetySheet",
    "StandingApproval",
    "StandingEnd",
    "TestSpot",
    "Wait",
    "Work",
    "WorkEnd",
    "WorkStep",
]
