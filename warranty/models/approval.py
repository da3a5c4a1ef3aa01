"""The office's word on inspections that another shop made."""

from __future__ import annotations

from django.db import models

from fleet.models import RoofFact
from fleet.models.base import record_constraints


class VisitApproval(RoofFact):
    """The office lets another shop's inspection count, and says why.

    Who and when are those of the record; struck, the visit counts no more."""

    ledger_fields = ("visit", "why")

    visit = models.ForeignKey("fleet.Visit", models.PROTECT, related_name="approvals")
    why = models.ForeignKey(
        "fleet.PrivateText", models.PROTECT, related_name="visit_approvals"
    )

    class Meta:
        constraints = record_constraints("visit_approval")
