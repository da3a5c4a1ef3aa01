"""What was invoiced for a roof, and what was paid for an inspection of it."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from fleet.models import RoofFact
from fleet.models.base import record_constraints


class Receipt(RoofFact):
    """An invoice noted on a coverage, or the fee paid noted on a visit."""

    ledger_fields = ("visit", "happened_on", "invoice_no", "paid_cents", "currency")

    # None: the invoice is the installation's.
    visit = models.ForeignKey(
        "fleet.Visit", models.PROTECT, null=True, blank=True, related_name="receipts"
    )
    happened_on = models.DateField()
    invoice_no = models.CharField(max_length=40, blank=True)
    paid_cents = models.BigIntegerField(null=True, blank=True)
    currency = models.CharField(max_length=3, default="USD")

    class Meta:
        constraints = [
            *record_constraints("receipt"),
            models.CheckConstraint(
                name="receipt_says_something",
                condition=~Q(invoice_no="") | Q(paid_cents__isnull=False),
            ),
            models.CheckConstraint(
                name="receipt_paid_not_negative",
                condition=Q(paid_cents__isnull=True) | Q(paid_cents__gte=0),
            ),
        ]
