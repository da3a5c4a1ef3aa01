"""Promises that passed on with a sale."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from fleet.models import RoofFact
from fleet.models.base import record_constraints


class Transfer(RoofFact):
    """A roof's promise passed to a new holder. Who holds the coach is the ownership's
    to say; this keeps the notice, its deadline and both holders."""

    ledger_fields = (
        "former",
        "holder",
        "sold_on",
        "told_on",
        "deadline_on",
        "needs_inspection",
    )

    former = models.ForeignKey(
        "fleet.Owner",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="transfers_given",
    )
    holder = models.ForeignKey(
        "fleet.Owner", models.PROTECT, related_name="transfers_taken"
    )
    sold_on = models.DateField()
    told_on = models.DateField()
    # As the edition of that day set it; empty: it set none.
    deadline_on = models.DateField(null=True, blank=True)
    needs_inspection = models.BooleanField(default=False)

    class Meta:
        constraints = [
            *record_constraints("transfer"),
            models.CheckConstraint(
                name="transfer_between_two_holders",
                condition=Q(former__isnull=True) | ~Q(former=F("holder")),
            ),
            models.CheckConstraint(
                name="transfer_deadline_after_sale",
                condition=Q(deadline_on__isnull=True)
                | Q(deadline_on__gte=F("sold_on")),
            ),
        ]

    @property
    def is_late(self) -> bool:
        """Whether we were told after the deadline."""
        return self.deadline_on is not None and self.told_on > self.deadline_on
