"""Records of promises, standings and claims."""

from __future__ import annotations

from warranty.models.claim import Claim, ClaimReport, Document
from warranty.models.coverage import (
    Coverage,
    Registration,
    Standing,
    TermsAssignment,
    Waiver,
)
from warranty.models.decision import (
    ClaimMove,
    ClaimWait,
    Decision,
    DoubtAnswer,
    DoubtWord,
    Proposal,
    Remedy,
    WaitTurn,
)
from warranty.models.edition import Edition

__all__ = [
    "Claim",
    "ClaimMove",
    "ClaimReport",
    "ClaimWait",
    "Coverage",
    "Decision",
    "Document",
    "DoubtAnswer",
    "DoubtWord",
    "Edition",
    "Proposal",
    "Registration",
    "Remedy",
    "Standing",
    "TermsAssignment",
    "WaitTurn",
    "Waiver",
]
