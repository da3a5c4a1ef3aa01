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
from warranty.models.edition import Edition

__all__ = [
    "Claim",
    "ClaimReport",
    "Coverage",
    "Document",
    "Edition",
    "Registration",
    "Standing",
    "TermsAssignment",
    "Waiver",
]
