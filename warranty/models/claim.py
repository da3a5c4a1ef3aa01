"""Reported losses."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import F, Q

from fleet.models import Owner, Roof, RoofFact
from fleet.models.base import record_constraints
from warranty.rules.claim import ClaimStatus


class Claim(models.Model):
    """A reported loss on one roof. Status and dates are projections of its report and
    its moves. Never deleted."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    ref = models.CharField(max_length=40, unique=True)
    roof = models.ForeignKey(Roof, models.PROTECT, related_name="claims")
    # Who held the coach when the loss was noticed: after a sale it stays theirs.
    holder = models.ForeignKey(
        Owner, models.PROTECT, null=True, blank=True, related_name="claims"
    )
    status = models.CharField(
        max_length=12,
        choices=[(status.value, status.value) for status in ClaimStatus],
        default=ClaimStatus.REPORTED.value,
    )
    noticed_on = models.DateField()
    reported_on = models.DateField()
    # The last day to answer; empty once it is decided, and while we wait for the owner.
    answer_due_on = models.DateField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        indexes = [
            models.Index(name="claim_by_answer", fields=["status", "answer_due_on"])
        ]
        constraints = [
            models.CheckConstraint(
                name="claim_status_known",
                condition=Q(status__in=[status.value for status in ClaimStatus]),
            ),
            models.CheckConstraint(
                name="claim_noticed_before_reported",
                condition=Q(noticed_on__lte=F("reported_on")),
            ),
        ]

    def __str__(self) -> str:
        return self.ref


class ClaimReport(RoofFact):
    """What was reported: when the loss was noticed, when it was told, and of what."""

    ledger_fields = (
        "claim",
        "noticed_on",
        "reported_on",
        "description",
        "estimate_cents",
        "currency",
        "penetration_label",
        "x_m",
        "y_m",
    )

    claim = models.ForeignKey(Claim, models.PROTECT, related_name="reports")
    noticed_on = models.DateField()
    reported_on = models.DateField()
    description = models.ForeignKey(
        "fleet.PrivateText", models.PROTECT, related_name="claim_reports"
    )
    estimate_cents = models.BigIntegerField(null=True, blank=True)
    currency = models.CharField(max_length=3, default="USD")
    penetration_label = models.CharField(max_length=80, blank=True)
    x_m = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)
    y_m = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)

    class Meta:
        constraints = [
            *record_constraints("claim_report"),
            models.CheckConstraint(
                name="claim_report_noticed_before_reported",
                condition=Q(noticed_on__lte=F("reported_on")),
            ),
            models.CheckConstraint(
                name="claim_report_estimate_not_negative",
                condition=Q(estimate_cents__isnull=True) | Q(estimate_cents__gte=0),
            ),
        ]


class DocumentKind(models.TextChoices):
    CLAIM_PACKET = "CLAIM_PACKET", "claim packet"
    CERTIFICATE = "CERTIFICATE", "certificate"
    INSPECTION_REPORT = "INSPECTION_REPORT", "inspection report"


class Document(models.Model):
    """One rendered document. Its bytes are kept by hash and never rewritten."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    kind = models.CharField(
        max_length=20, choices=DocumentKind, default=DocumentKind.CLAIM_PACKET
    )
    # What it is about: exactly one of the three, by its kind.
    claim = models.ForeignKey(
        Claim, models.PROTECT, null=True, blank=True, related_name="documents"
    )
    certificate = models.OneToOneField(
        "warranty.Certificate",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="document",
    )
    visit = models.ForeignKey(
        "fleet.Visit",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="documents",
    )
    sha256 = models.CharField(max_length=64)
    size_bytes = models.PositiveIntegerField()
    # What the document knew: facts recorded later are not in it.
    known_at = models.DateTimeField()
    rendered_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="document_kind_known", condition=Q(kind__in=DocumentKind.values)
            ),
            models.CheckConstraint(
                name="document_about_what_its_kind_says",
                condition=Q(
                    kind=DocumentKind.CLAIM_PACKET,
                    claim__isnull=False,
                    certificate__isnull=True,
                    visit__isnull=True,
                )
                | Q(
                    kind=DocumentKind.CERTIFICATE,
                    claim__isnull=True,
                    certificate__isnull=False,
                    visit__isnull=True,
                )
                | Q(
                    kind=DocumentKind.INSPECTION_REPORT,
                    claim__isnull=True,
                    certificate__isnull=True,
                    visit__isnull=False,
                ),
            ),
            models.CheckConstraint(
                name="document_has_bytes", condition=Q(size_bytes__gt=0)
            ),
        ]
