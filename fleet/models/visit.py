"""Visits, what was found at them, and what cured it."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import Q

from fleet.models.base import RoofFact, record_constraints


class VisitKind(models.TextChoices):
    SURVEY = "SURVEY", "survey"
    INSTALLATION = "INSTALLATION", "installation"
    INSPECTION = "INSPECTION", "inspection"
    LEAK_CALL = "LEAK_CALL", "leak call"
    REPAIR = "REPAIR", "repair"
    REINSTATEMENT = "REINSTATEMENT", "reinstatement"


class VisitResult(models.TextChoices):
    PASS = "PASS", "pass"
    FAIL = "FAIL", "fail"
    NONE = "NONE", "no result"


class Severity(models.TextChoices):
    NOTE = "NOTE", "note"
    MINOR = "MINOR", "minor"
    SERIOUS = "SERIOUS", "serious"


class Technician(models.Model):
    """A person who works on roofs, by the name the office writes. Never deleted."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    name = models.CharField(max_length=120, unique=True)
    user = models.OneToOneField(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="technician",
    )

    class Meta:
        constraints = [
            models.CheckConstraint(name="technician_name_given", condition=~Q(name=""))
        ]

    def __str__(self) -> str:
        return self.name


class Visit(RoofFact):
    """One attendance at a coach, about one roof."""

    event_kind = "VISIT"

    ledger_fields = ("ref", "kind", "happened_on", "technician", "result", "note")

    ref = models.CharField(max_length=40)
    kind = models.CharField(max_length=16, choices=VisitKind)
    happened_on = models.DateField()
    technician = models.ForeignKey(
        Technician, models.PROTECT, null=True, blank=True, related_name="visits"
    )
    result = models.CharField(
        max_length=4, choices=VisitResult, default=VisitResult.NONE
    )
    note = models.ForeignKey(
        "fleet.PrivateText",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="visits",
    )

    class Meta:
        constraints = [
            *record_constraints("visit"),
            models.CheckConstraint(
                name="visit_kind_known", condition=Q(kind__in=VisitKind.values)
            ),
            models.CheckConstraint(
                name="visit_result_known", condition=Q(result__in=VisitResult.values)
            ),
            # A correction keeps the reference; only first records must differ.
            models.UniqueConstraint(
                name="visit_ref_once",
                fields=["ref"],
                condition=Q(supersedes__isnull=True),
            ),
        ]
        indexes = [models.Index(name="visit_by_day", fields=["roof", "happened_on"])]

    def __str__(self) -> str:
        return self.ref

    def event_subject(self) -> uuid.UUID:
        """Return the visit's own id."""
        return self.uuid


class Finding(RoofFact):
    """Something seen at a place on the roof, on one visit or reported by an owner."""

    ledger_fields = (
        "visit",
        "happened_on",
        "severity",
        "cause",
        "penetration_label",
        "x_m",
        "y_m",
        "note",
    )

    visit = models.ForeignKey(
        Visit, models.PROTECT, null=True, blank=True, related_name="findings"
    )
    happened_on = models.DateField()
    severity = models.CharField(max_length=8, choices=Severity)
    cause = models.CharField(max_length=24, blank=True)
    penetration_label = models.CharField(max_length=80, blank=True)
    x_m = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)
    y_m = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)
    note = models.ForeignKey(
        "fleet.PrivateText",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="findings",
    )

    class Meta:
        constraints = [
            *record_constraints("finding"),
            models.CheckConstraint(
                name="finding_severity_known",
                condition=Q(severity__in=Severity.values),
            ),
            models.CheckConstraint(
                name="finding_place_both_or_neither",
                condition=Q(x_m__isnull=True, y_m__isnull=True)
                | Q(x_m__isnull=False, y_m__isnull=False),
            ),
        ]


class Cure(RoofFact):
    """A repair cured a finding: names both."""

    ledger_fields = ("finding", "visit", "happened_on")

    finding = models.ForeignKey(Finding, models.PROTECT, related_name="cures")
    visit = models.ForeignKey(Visit, models.PROTECT, related_name="cures")
    happened_on = models.DateField()

    class Meta:
        constraints = record_constraints("cure")
