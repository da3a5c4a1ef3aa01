"""Records of promises, standings and claims."""

from __future__ import annotations

from warranty.models.certificate import Certificate
from warranty.models.claim import Claim, ClaimReport, Document, DocumentKind
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
from warranty.models.transfer import Transfer

__all__ = [
    "Certificate",
    "Claim",
    "ClaimMove",
    "ClaimReport",
    "ClaimWait",
    "Coverage",
    "Decision",
    "Document",
    "DocumentKind",
    "DoubtAnswer",
    "DoubtWord",
    "Edition",
    "Proposal",
    "Registration",
    "Remedy",
    "Standing",
    "TermsAssignment",
    "Transfer",
    "WaitTurn",
    "Waiver",
]
