"""Roofs, their installation, and their chain in the ledger."""

from __future__ import annotations

import uuid

from django.db import models
from django.db.models import F, Q

from fleet.models.base import RoofFact, record_constraints
from fleet.models.coach import Substrate


class Roof(models.Model):
    """One roof system on one coach, opened at the survey. System, substrate and dates
    are projections of its installation. A row is never deleted."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    coach = models.ForeignKey("fleet.Coach", models.PROTECT, related_name="roofs")
    roof_no = models.PositiveSmallIntegerField(default=1)
    system = models.ForeignKey(
        "fleet.System", models.PROTECT, null=True, blank=True, related_name="roofs"
    )
    substrate = models.CharField(max_length=16, choices=Substrate, blank=True)
    started_on = models.DateField(null=True, blank=True)
    completed_on = models.DateField(null=True, blank=True)
    opened_at = models.DateTimeField()
    version = models.PositiveIntegerField(default=1)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="roof_no_once_per_coach", fields=["coach", "roof_no"]
            ),
            models.CheckConstraint(
                name="roof_no_from_one", condition=Q(roof_no__gte=1)
            ),
        ]

    def __str__(self) -> str:
        return f"{self.coach.unit_no}/{self.roof_no}"


class Installation(RoofFact):
    """Which system was laid on which substrate, and when. Without a completion day
    the work is under way."""

    ledger_fields = ("system", "substrate", "started_on", "completed_on")

    system = models.ForeignKey(
        "fleet.System", models.PROTECT, related_name="installations"
    )
    substrate = models.CharField(max_length=16, choices=Substrate)
    started_on = models.DateField()
    completed_on = models.DateField(null=True, blank=True)

    class Meta:
        constraints = [
            *record_constraints("installation"),
            models.CheckConstraint(
                name="installation_substrate_known",
                condition=Q(substrate__in=Substrate.values),
            ),
            models.CheckConstraint(
                name="installation_completed_after_start",
                condition=Q(completed_on__isnull=True)
                | Q(completed_on__gte=F("started_on")),
            ),
        ]


class LedgerHead(models.Model):
    """The last entry of one roof's chain. The one row that an append updates."""

    roof = models.OneToOneField(
        Roof, models.PROTECT, primary_key=True, related_name="head"
    )
    seq = models.PositiveIntegerField(default=0)
    entry_sha256 = models.CharField(max_length=64, blank=True)


class LedgerEntry(models.Model):
    """One link of a roof's chain. Triggers refuse its update and deletion."""

    roof = models.ForeignKey(Roof, models.PROTECT, related_name="entries")
    seq = models.PositiveIntegerField()
    kind = models.CharField(max_length=40)
    payload = models.TextField()
    payload_sha256 = models.CharField(max_length=64)
    previous_sha256 = models.CharField(max_length=64, blank=True)
    entry_sha256 = models.CharField(max_length=64)
    recorded_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                name="ledger_entry_seq_once_per_roof", fields=["roof", "seq"]
            ),
            models.CheckConstraint(
                name="ledger_entry_seq_from_one", condition=Q(seq__gte=1)
            ),
        ]
